// The laws of the power system.

#include "constraints/power/supply.h"

#include <algorithm>
#include <cmath>

namespace cairn {

namespace {

double decay(const IsotopeSource& source, double seconds) { return std::exp2(-seconds / source.half_life); }

// Low power goes with fast ageing, and the other way round; before the reference date it is reversed.
Bound ageing_for(Bound bound, double seconds) {
  if (bound == Bound::Nominal) return bound;
  return (bound == Bound::Low) == (seconds >= 0) ? Bound::High : Bound::Low;
}

}  // namespace

double source_power(const PowerSystem& power, Instant time, Bound bound) {
  double sum = 0;
  for (const IsotopeSource& source : power.sources) {
    const double seconds = (time - source.reference).seconds();
    const Bound ageing = ageing_for(bound, seconds);
    sum += pick(source.power, bound) * decay(source, seconds) *
           std::pow(1 - pick(source.ageing_per_year, ageing), seconds / seconds_per_year);
  }
  return sum;
}

double source_heat(const IsotopeSource& source, Instant time, Bound bound) {
  return pick(source.heat, bound) * decay(source, (time - source.reference).seconds());
}

double efficiency_at(const std::vector<EfficiencyPoint>& points, double at, Bound bound) {
  const auto after = std::find_if(points.begin(), points.end(),
                                  [&](const EfficiencyPoint& point) { return point.at >= at; });
  if (after == points.begin()) return pick(points.front().efficiency, bound);
  if (after == points.end()) return pick(points.back().efficiency, bound);
  const EfficiencyPoint& before = *(after - 1);
  const double part = (at - before.at) / (after->at - before.at);
  return (1 - part) * pick(before.efficiency, bound) + part * pick(after->efficiency, bound);
}

double extreme_efficiency(const std::vector<EfficiencyPoint>& points, double low, double high, Bound bound) {
  double extreme = efficiency_at(points, low, bound);
  const auto look = [&](double value) {
    extreme = bound == Bound::Low ? std::min(extreme, value) : std::max(extreme, value);
  };
  look(efficiency_at(points, high, bound));
  for (const EfficiencyPoint& point : points) {
    if (point.at > low && point.at < high) look(pick(point.efficiency, bound));
  }
  return extreme;
}

double converter_efficiency(const PowerSystem& power, double bus_load, Bound bound) {
  return power.converter_points.empty() ? pick(power.converter_efficiency, bound)
                                        : efficiency_at(power.converter_points, bus_load, bound);
}

double array_gain(const SolarArray& array, Instant time, Bound bound) {
  const double seconds = (time - array.reference).seconds();
  return pick(array.area, bound) *
         std::pow(1 - pick(array.ageing_per_year, ageing_for(bound, seconds)), seconds / seconds_per_year);
}

double source_draw(const PowerSystem& power, double bus_load, Bound efficiency) {
  return bus_load / converter_efficiency(power, bus_load, efficiency);
}

Bounded draw_range(const PowerSystem& power, double low, double high) {
  return {source_draw(power, 0.5 * (low + high), Bound::Nominal), source_draw(power, low, Bound::High),
          source_draw(power, high, Bound::Low)};
}

Bounded loss_range(const PowerSystem& power, double low, double high) {
  const auto loss = [&](double load, Bound bound) { return source_draw(power, load, bound) - load; };
  Bounded range{loss(0.5 * (low + high), Bound::Nominal), loss(low, Bound::High), loss(high, Bound::Low)};
  // By a law of the load the loss may be greatest, or least, in between: at a point, or where its slope is
  // zero. Between two points the efficiency is a + b load, and the slope of load / (a + b load) - load is
  // zero where (a + b load)^2 = a.
  const auto look = [&](double load) {
    if (!(load >= low && load <= high)) return;
    range.low = std::min(range.low, loss(load, Bound::High));
    range.high = std::max(range.high, loss(load, Bound::Low));
  };
  const std::vector<EfficiencyPoint>& points = power.converter_points;
  for (std::size_t i = 0; i < points.size(); ++i) {
    look(points[i].at);
    if (i + 1 == points.size()) break;
    for (const Bound bound : {Bound::Low, Bound::High}) {
      const double first = pick(points[i].efficiency, bound);
      const double slope =
          (pick(points[i + 1].efficiency, bound) - first) / (points[i + 1].at - points[i].at);
      const double offset = first - slope * points[i].at;
      if (slope == 0 || offset <= 0) continue;
      const double turn = (std::sqrt(offset) - offset) / slope;
      if (turn > points[i].at && turn < points[i + 1].at) look(turn);
    }
  }
  if (!points.empty()) {
    look(low);
    look(high);
  }
  return range;
}

double most_taken_in(const PowerSystem& power) {
  return power.storage ? power.storage->charge_limit.high : 0;
}

double self_discharge_rate(const Storage& storage, Bound bound) {
  constexpr double seconds_per_day = 86400;
  return -std::log1p(-pick(storage.self_discharge, bound)) / seconds_per_day;
}

double most_storage_loss(const PowerSystem& power, double spare, double draw) {
  if (!power.storage) return 0;
  const Storage& storage = *power.storage;
  // What arrays give is not known here.
  const double taken = power.arrays.empty() ? std::min(storage.charge_limit.high, std::max(0.0, spare))
                                            : storage.charge_limit.high;
  const double given = std::min(storage.discharge_limit.high, std::max(0.0, draw));
  return std::max(taken * (1 - storage.charge_efficiency.low),
                  given * (1 / storage.discharge_efficiency.low - 1)) +
         self_discharge_rate(storage, Bound::High) * storage.capacity.high;
}

bool is_exact(const PowerSystem& power) {
  bool exact = power.converter_points.empty() ? power.converter_efficiency.is_exact() : true;
  for (const EfficiencyPoint& point : power.converter_points) exact &= point.efficiency.is_exact();
  for (const IsotopeSource& source : power.sources) {
    exact &= source.power.is_exact() && source.heat.is_exact() && source.ageing_per_year.is_exact();
  }
  // When it is full, and so what the dump load gets, is known nominally alone.
  if (power.storage) exact &= power.storage->heat.empty() && power.dump_heat.empty();
  return exact;
}

}  // namespace cairn
