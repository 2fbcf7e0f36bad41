// One sorted list of changes, summed.

#include "constraints/power/load_steps.h"

#include <algorithm>

#include "constraints/power/bound_draws.h"

namespace cairn {

std::vector<LoadStep> load_steps(const Station& station, const Timeline& timeline,
                                 const std::vector<HeaterInterval>& heaters, Bound bound,
                                 const std::vector<Instant>& cuts) {
  struct Change {
    Instant time;
    double watts = 0;
    int count = 0;
  };
  std::vector<Change> changes;
  const auto add = [&](Instant begin, Instant end, double watts) {
    begin = std::max(begin, timeline.begin);
    end = std::min(end, timeline.end);
    if (begin >= end) return;
    changes.push_back({begin, watts, 1});
    changes.push_back({end, -watts, -1});
  };
  const BoundDraws draws(timeline, bound);
  for (const BoundDraw& draw : draws.draws()) add(draw.begin, draw.end, draw.load);
  for (const HeaterInterval& interval : heaters) {
    add(interval.begin, interval.end, pick(station.thermal.heaters[interval.heater].power, bound));
  }
  for (const Instant cut : cuts) {
    if (cut > timeline.begin && cut < timeline.end) changes.push_back({cut, 0, 0});
  }
  std::stable_sort(changes.begin(), changes.end(),
                   [](const Change& a, const Change& b) { return a.time < b.time; });
  std::vector<LoadStep> steps;
  double load = 0;
  int on = 0;
  for (std::size_t i = 0; i <= changes.size();) {
    const Instant begin = i == 0 ? timeline.begin : changes[i - 1].time;
    const Instant end = i == changes.size() ? timeline.end : changes[i].time;
    if (begin < end) steps.push_back({begin, end, std::max(load, 0.0)});
    if (i == changes.size()) break;
    for (; i < changes.size() && changes[i].time == end; ++i) {
      load += changes[i].watts;
      on += changes[i].count;
    }
    if (on == 0) load = 0;  // no rounding left over from the sums
  }
  return steps;
}

std::vector<Instant> supply_cuts(const Station& station, const Timeline& timeline, const SolarCourse& solar) {
  std::vector<Instant> cuts;
  for (const SolarSpan& span : solar) cuts.push_back(span.begin);
  if (!station.power.storage) return cuts;
  // Within a day the decay of an isotope leaves its chord by less than 1e-9 of it.
  const Duration day = seconds_to_duration(86'400);
  for (Instant time = timeline.begin + day; time < timeline.end; time = time + day) cuts.push_back(time);
  return cuts;
}

}  // namespace cairn
