// Each part's row cut at every time at which one of its events may happen; pulses one by one.

#include "constraints/power/bound_draws.h"

#include <algorithm>
#include <map>

namespace cairn {

namespace {

bool same(const EventTime& a, const EventTime& b) {
  return a.nominal == b.nominal && a.earliest == b.earliest && a.latest == b.latest;
}

// Heat of the node that gets most (or least) from one of the draws, as shares of `load`.
std::vector<HeatShare> mixed_heat(const std::vector<const Draw*>& draws, Bound bound, double load) {
  std::map<NodeId, std::vector<double>> watts;
  for (const Draw* draw : draws) {
    std::map<NodeId, double> own;
    for (const HeatShare& share : draw->heat) {
      if (share.node.is_valid()) own[share.node] += share.share * pick(draw->load, bound);
    }
    for (const auto& [node, heat] : own) watts[node].push_back(heat);
  }
  std::vector<HeatShare> shares;
  for (auto& [node, list] : watts) {
    if (list.size() < draws.size()) list.push_back(0);
    const auto [least, greatest] = std::minmax_element(list.begin(), list.end());
    shares.push_back({node, (bound == Bound::High ? *greatest : *least) / load});
  }
  return shares;
}

}  // namespace

BoundDraws::BoundDraws(const Timeline& timeline, Bound bound) : begin_(timeline.begin), end_(timeline.end) {
  draws_.reserve(timeline.draws.size());
  std::map<PartId, std::vector<const Draw*>> parts;
  for (const Draw& draw : timeline.draws) {
    if (draw.part.is_valid()) {
      parts[draw.part].push_back(&draw);
    } else if (bound == Bound::High) {
      add(draw.begin.earliest, draw.end.latest, draw.load.high, draw.heat, draw.unit);
    } else {
      add(draw.begin.latest, draw.end.earliest, draw.load.low, draw.heat, draw.unit);
    }
  }
  for (const auto& [part, draws] : parts) add_part(draws, bound);
  const auto begins_before = [](const BoundDraw& a, const BoundDraw& b) { return a.begin < b.begin; };
  if (!std::is_sorted(draws_.begin(), draws_.end(), begins_before)) {
    std::stable_sort(draws_.begin(), draws_.end(), begins_before);
  }
  by_end_.resize(draws_.size());
  for (std::size_t i = 0; i < by_end_.size(); ++i) by_end_[i] = i;
  const auto ends_before = [&](std::size_t a, std::size_t b) { return draws_[a].end < draws_[b].end; };
  if (!std::is_sorted(by_end_.begin(), by_end_.end(), ends_before)) {
    std::stable_sort(by_end_.begin(), by_end_.end(), ends_before);
  }
}

void BoundDraws::add(Instant begin, Instant end, double load, const std::vector<HeatShare>& heat,
                     UnitId unit) {
  begin = std::max(begin, begin_);
  end = std::min(end, end_);
  if (begin < end && load > 0) draws_.push_back({begin, end, load, &heat, unit});
}

void BoundDraws::add_part(const std::vector<const Draw*>& draws, Bound bound) {
  std::vector<Instant> cuts;
  cuts.reserve(draws.size() * 4);
  for (const Draw* draw : draws) {
    for (const Instant time :
         {draw->begin.earliest, draw->begin.latest, draw->end.earliest, draw->end.latest}) {
      cuts.push_back(time);
    }
  }
  std::sort(cuts.begin(), cuts.end());
  cuts.erase(std::unique(cuts.begin(), cuts.end()), cuts.end());
  std::size_t first = 0;  // draws before it are over for good
  std::vector<const Draw*> possible;
  for (std::size_t c = 0; c + 1 < cuts.size(); ++c) {
    const Instant from = cuts[c];
    const Instant to = cuts[c + 1];
    while (first < draws.size() && draws[first]->end.latest <= from) ++first;
    possible.clear();
    for (std::size_t i = first; i < draws.size(); ++i) {
      if (draws[i]->begin.earliest >= to) break;
      if (draws[i]->end.latest > from) possible.push_back(draws[i]);
    }
    if (possible.empty()) continue;
    if (bound == Bound::Low) {
      // Only where the part surely is in one of them: each gives way to the next without a gap.
      bool sure = possible.front()->begin.latest <= from && possible.back()->end.earliest >= to;
      for (std::size_t i = 0; i + 1 < possible.size(); ++i)
        sure &= same(possible[i]->end, possible[i + 1]->begin);
      if (!sure) continue;
    }
    if (possible.size() == 1) {
      add(from, to, pick(possible.front()->load, bound), possible.front()->heat, possible.front()->unit);
      continue;
    }
    double load = pick(possible.front()->load, bound);
    for (const Draw* draw : possible) {
      load = bound == Bound::High ? std::max(load, pick(draw->load, bound))
                                  : std::min(load, pick(draw->load, bound));
    }
    if (load <= 0) continue;
    mixed_.push_back(mixed_heat(possible, bound, load));
    add(from, to, load, mixed_.back(), possible.front()->unit);
  }
}

}  // namespace cairn
