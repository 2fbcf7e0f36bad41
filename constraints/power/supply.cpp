// The laws of the power system.

#include "constraints/power/supply.h"

#include <cmath>

namespace cairn {

namespace {

double pick(const Bounded& value, Bound bound) {
  return bound == Bound::Low ? value.low : bound == Bound::High ? value.high : value.nominal;
}

double decay(const IsotopeSource& source, double seconds) { return std::exp2(-seconds / source.half_life); }

}  // namespace

double source_power(const PowerSystem& power, Instant time, Bound bound) {
  double sum = 0;
  for (const IsotopeSource& source : power.sources) {
    const double seconds = (time - source.reference).seconds();
    // Low power goes with fast ageing, and the other way round; before the reference date it is reversed.
    const Bound ageing = bound == Bound::Nominal                    ? Bound::Nominal
                         : (bound == Bound::Low) == (seconds >= 0) ? Bound::High
                                                                    : Bound::Low;
    sum += pick(source.power, bound) * decay(source, seconds) *
           std::pow(1 - pick(source.ageing_per_year, ageing), seconds / seconds_per_year);
  }
  return sum;
}

double source_heat(const IsotopeSource& source, Instant time, Bound bound) {
  return pick(source.heat, bound) * decay(source, (time - source.reference).seconds());
}

double source_draw(const PowerSystem& power, double bus_load, Bound efficiency) {
  return bus_load / pick(power.converter_efficiency, efficiency);
}

}  // namespace cairn
