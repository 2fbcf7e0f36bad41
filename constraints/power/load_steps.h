// The load on the bus as it may be, in steps: what draws at most (or at least), heaters included.

#pragma once

#include <vector>

#include "constraints/power/power.h"

namespace cairn {

struct LoadStep {
  Instant begin;
  Instant end;
  double load = 0;  // W
};

// Without gaps over the timeline; cut at `cuts` too (any order, those outside are left out). `heaters`: while
// they may be on for High, while they surely are for Low.
std::vector<LoadStep> load_steps(const Station& station, const Timeline& timeline,
                                 const std::vector<HeaterInterval>& heaters, Bound bound,
                                 const std::vector<Instant>& cuts);

// Where sources change their course: ends of solar spans, and once a day where a storage is to be integrated.
std::vector<Instant> supply_cuts(const Station& station, const Timeline& timeline, const SolarCourse& solar);

}  // namespace cairn
