// The power system's laws: what the sources give at a time, and what a bus load costs them.

#pragma once

#include "constraints/station/station.h"

namespace cairn {

inline constexpr double seconds_per_year = 365.25 * 86400.0;  // Julian year

enum class Bound : std::uint8_t { Low, Nominal, High };

constexpr double pick(const Bounded& value, Bound bound) {
  return bound == Bound::Low ? value.low : bound == Bound::High ? value.high : value.nominal;
}

// Of what counts the other way round.
constexpr Bound against(Bound bound) {
  return bound == Bound::Low ? Bound::High : bound == Bound::High ? Bound::Low : Bound::Nominal;
}

// W of electrical power from all isotope sources at `time`: decay by half-life times ageing of the converter
// elements.
double source_power(const PowerSystem& power, Instant time, Bound bound);

// W of heat a source gives at `time` (decay by half-life alone).
double source_heat(const IsotopeSource& source, Instant time, Bound bound);

// A law of efficiency at one place: straight lines between points, level beyond them. And between which
// values it lies over [low, high].
double efficiency_at(const std::vector<EfficiencyPoint>& points, double at, Bound bound);
double extreme_efficiency(const std::vector<EfficiencyPoint>& points, double low, double high, Bound bound);

// Bus power out over source power in, at a bus load.
double converter_efficiency(const PowerSystem& power, double bus_load, Bound bound);

// W of an array for each W/m2 of sunlight along its normal, at an efficiency of 1.
double array_gain(const SolarArray& array, Instant time, Bound bound);

// W drawn from the sources by a bus load (load / efficiency at that load).
double source_draw(const PowerSystem& power, double bus_load, Bound efficiency);

// What a bus load between `low` and `high` may draw from the sources, and what of it may be lost in the
// converter, W.
Bounded draw_range(const PowerSystem& power, double low, double high);
Bounded loss_range(const PowerSystem& power, double low, double high);

// 1/s: share of what it holds that a storage loses by itself.
double self_discharge_rate(const Storage& storage, Bound bound);

// W that the storage may take in, and that it may lose as heat where it has `spare` to take in at most and
// `draw` to give at most; 0 where there is none.
double most_taken_in(const PowerSystem& power);
double most_storage_loss(const PowerSystem& power, double spare, double draw);

// Whether nothing of the power system that bears on temperatures is uncertain.
bool is_exact(const PowerSystem& power);

}  // namespace cairn
