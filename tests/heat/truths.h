// Stations and timelines without bounds, each somewhere within those of an uncertain one: what may be in
// truth. For tests and measurements of the envelope over whole loads.

#pragma once

#include <map>
#include <utility>

#include "tests/heat/uncertain.h"

namespace cairn {

inline Station truth_of(const Station& bounds, Chance& chance) {
  Station truth = bounds;
  each_bounded(truth, [&](Bounded& value) { value = Bounded::exactly(chance.pick(value)); });
  return truth;
}

// Loads and times of draws. Where a part leaves one state it enters the next: that is one event.
inline Timeline truth_of(const Timeline& bounds, Chance& chance) {
  Timeline truth = bounds;
  std::map<std::pair<std::uint32_t, std::int64_t>, Instant> events;
  const auto chosen = [&](const EventTime& time) {
    const double early = (time.earliest - time.nominal).seconds();
    const double late = (time.latest - time.nominal).seconds();
    return early < late ? time.nominal + *duration_from_seconds(chance.pick({0, early, late})) : time.nominal;
  };
  const auto fix_time = [&](EventTime& time, PartId part) {
    Instant at;
    if (part.is_valid()) {
      const auto key = std::make_pair(part.value, (time.nominal - bounds.begin).nanoseconds);
      const auto known = events.find(key);
      at = known != events.end() ? known->second : events.emplace(key, chosen(time)).first->second;
    } else {
      at = chosen(time);
    }
    time = {at, at, at};
  };
  for (Draw& draw : truth.draws) {
    draw.load = Bounded::exactly(chance.pick(draw.load));
    fix_time(draw.begin, draw.part);
    fix_time(draw.end, draw.part);
  }
  std::stable_sort(truth.draws.begin(), truth.draws.end(),
                   [](const Draw& a, const Draw& b) { return a.begin.nominal < b.begin.nominal; });
  return truth;
}

}  // namespace cairn
