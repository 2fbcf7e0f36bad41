// What the other rooms predict, as evidence for rules: signals, spells and events with the bounds of their
// times.
//
// Commands are displaced by half a tick against one another. What comes from outside (windows, marks of the
// sky) also by the clock's deviation: `outside` gives such a mark its bounds.

#pragma once

#include "constraints/heat/heat.h"
#include "constraints/power/power.h"
#include "constraints/rules/evaluate.h"
#include "constraints/rules/rule.h"
#include "constraints/sky/sky.h"
#include "constraints/table/table.h"
#include "constraints/timeline/timeline.h"

namespace cairn {

// What is missing may be left out; only rules that ask for it then have no answer.
struct Predictions {
  const Station* station = nullptr;
  const StartState* start = nullptr;
  const Timeline* timeline = nullptr;
  const PowerResult* power = nullptr;
  const HeatResult* heat = nullptr;
  const TableResult* table = nullptr;
  const Sky* sky = nullptr;
};

// Entry by entry what the book's tables name. `station` and `timeline` are there.
RuleEvidence gather(const RuleBook& book, const Predictions& predictions);

// A mark among the station's own events: at exactly this time of its clock.
EventTime inside(Instant time);
// A mark that the outside sets: a window's edge, the Sun's passing of a height, a time of the day.
EventTime outside(const StationClock& clock, Instant time);

}  // namespace cairn
