// When a quantity of the sky crosses a value: bracketed by hourly samples, located by bisection.

#include <algorithm>
#include <cmath>
#include <numbers>

#include "constraints/sky/sky.h"

namespace cairn {

namespace {

constexpr Duration scan_step = seconds_to_duration(1800);
constexpr Duration resolution{1'000'000};  // 1 ms

double value_at(const Sky& sky, SkyQuantity quantity, Instant time) {
  switch (quantity) {
    case SkyQuantity::SunElevation:
      return sky.sun(time).elevation;
    case SkyQuantity::SunAzimuth:
      return sky.sun(time).azimuth;
    case SkyQuantity::EarthElevation:
      return sky.earth(time).elevation;
  }
  return 0;
}

// Difference from the sought value; an azimuth's by the short way round, so that north is no jump there.
double difference(const Sky& sky, SkyQuantity quantity, double value, Instant time) {
  const double found = value_at(sky, quantity, time) - value;
  if (quantity != SkyQuantity::SunAzimuth) return found;
  return std::remainder(found, 2 * std::numbers::pi);
}

}  // namespace

std::vector<Crossing> crossings(const Sky& sky, SkyQuantity quantity, double value, Instant begin, Instant end) {
  std::vector<Crossing> found;
  if (end <= begin) return found;
  Instant left = begin;
  double at_left = difference(sky, quantity, value, left);
  while (left < end) {
    const Instant right = std::min(left + scan_step, end);
    const double at_right = difference(sky, quantity, value, right);
    // The far side of an azimuth's circle changes sign too, by a jump: no crossing.
    const bool jump = std::abs(at_right - at_left) > std::numbers::pi;
    if (!jump && (at_left < 0) != (at_right < 0)) {
      Instant low = left;
      Instant high = right;
      while (high - low > resolution) {
        const Instant middle = low + Duration{(high - low).nanoseconds / 2};
        ((difference(sky, quantity, value, middle) < 0) == (at_left < 0) ? low : high) = middle;
      }
      found.push_back({high, at_left < 0});
    }
    left = right;
    at_left = at_right;
  }
  return found;
}

Range range_of(const Sky& sky, SkyQuantity quantity, Instant begin, Instant end) {
  Range range{value_at(sky, quantity, begin), value_at(sky, quantity, begin)};
  for (Instant time = begin; time < end; time = time + scan_step) {
    const double value = value_at(sky, quantity, time);
    range = {std::min(range.low, value), std::max(range.high, value)};
  }
  const double last = value_at(sky, quantity, end);
  return {std::min(range.low, last), std::max(range.high, last)};
}

}  // namespace cairn
