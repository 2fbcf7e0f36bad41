// The sweep over draws: one sorted list of beginnings and ends.

#include "constraints/power/sweep.h"

#include <algorithm>
#include <tuple>

namespace cairn {

DrawSweep::DrawSweep(const Timeline& timeline) {
  changes_.reserve(timeline.draws.size() * 2);
  for (std::uint32_t i = 0; i < timeline.draws.size(); ++i) {
    const Draw& draw = timeline.draws[i];
    const Instant begin = std::max(draw.begin.nominal, timeline.begin);
    const Instant end = std::min(draw.end.nominal, timeline.end);
    if (end <= begin) continue;
    changes_.push_back({begin, true, i});
    changes_.push_back({end, false, i});
  }
  // Ends before beginnings at the same time: a part that changes state never counts twice.
  std::sort(changes_.begin(), changes_.end(), [](const Change& a, const Change& b) {
    return std::tie(a.time, a.begins, a.draw) < std::tie(b.time, b.begins, b.draw);
  });
}

std::vector<Instant> DrawSweep::times() const {
  std::vector<Instant> result;
  result.reserve(changes_.size());
  for (const Change& change : changes_) {
    if (result.empty() || result.back() != change.time) result.push_back(change.time);
  }
  return result;
}

bool DrawSweep::advance(Instant time) {
  const std::size_t first = next_;
  for (; next_ < changes_.size() && changes_[next_].time <= time; ++next_) {
    const Change& change = changes_[next_];
    if (change.begins) {
      active_.push_back(change.draw);
    } else {
      active_.erase(std::find(active_.begin(), active_.end(), change.draw));
    }
  }
  return next_ != first;
}

}  // namespace cairn
