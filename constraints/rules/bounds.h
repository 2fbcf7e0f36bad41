// Signals with bounds whose points lie at other times than the nominal ones.

#pragma once

#include <vector>

#include "constraints/rules/predictions.h"

namespace cairn {

// Linear between its times, a jump where two are equal; as at its ends beyond them.
struct Polyline {
  std::vector<Instant> times;  // not falling
  std::vector<double> values;
  void add(Instant time, double value) {
    times.push_back(time);
    values.push_back(value);
  }
};

// The three as one signal. Where the nominal line, drawn between its points, leaves the bounds, these give
// way.
Signal with_bounds(const Polyline& nominal, const Polyline& lower, const Polyline& upper);

// The contrary of PowerResult::guaranteed: sources at their highest, every load at its lowest, only those
// heaters on that surely are.
std::vector<ReservePoint> best_power(const Station& station, const Timeline& timeline,
                                     const std::vector<HeaterInterval>& surely_on, const SolarCourse& solar);

// And of PowerResult::least_charge: what the storage holds at most, from `begin`, J, on.
std::vector<ChargePoint> most_charge(const Station& station, const Timeline& timeline,
                                     const std::vector<HeaterInterval>& surely_on, const SolarCourse& solar,
                                     double begin);

}  // namespace cairn
