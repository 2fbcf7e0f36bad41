// The power system's laws: what the sources give at a time, and what a bus load costs them.

#pragma once

#include "constraints/station/station.h"

namespace cairn {

inline constexpr double seconds_per_year = 365.25 * 86400.0;  // Julian year

enum class Bound : std::uint8_t { Low, Nominal, High };

constexpr double pick(const Bounded& value, Bound bound) {
  return bound == Bound::Low ? value.low : bound == Bound::High ? value.high : value.nominal;
}

// W of electrical power from all sources at `time`: decay by half-life times ageing of the converter
// elements.
double source_power(const PowerSystem& power, Instant time, Bound bound);

// W of heat a source gives at `time` (decay by half-life alone).
double source_heat(const IsotopeSource& source, Instant time, Bound bound);

// W drawn from the sources by a bus load (load / efficiency), and the part that is lost in the converter.
double source_draw(const PowerSystem& power, double bus_load, Bound efficiency);

// What a bus load between `low` and `high` may draw from the sources, and what of it may be lost in the
// converter, W.
Bounded draw_range(const PowerSystem& power, double low, double high);
Bounded loss_range(const PowerSystem& power, double low, double high);

}  // namespace cairn
