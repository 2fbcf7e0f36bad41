// The laws of the power system.

#include "constraints/power/supply.h"

#include <cmath>

namespace cairn {

namespace {

double decay(const IsotopeSource& source, double seconds) { return std::exp2(-seconds / source.half_life); }

}  // namespace

double source_power(const PowerSystem& power, Instant time, Bound bound) {
  double sum = 0;
  for (const IsotopeSource& source : power.sources) {
    const double seconds = (time - source.reference).seconds();
    // Low power goes with fast ageing, and the other way round; before the reference date it is reversed.
    const Bound ageing = bound == Bound::Nominal                   ? Bound::Nominal
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

Bounded draw_range(const PowerSystem& power, double low, double high) {
  return {source_draw(power, 0.5 * (low + high), Bound::Nominal), source_draw(power, low, Bound::High),
          source_draw(power, high, Bound::Low)};
}

// The share lost does not depend on the load, so more load loses more.
Bounded loss_range(const PowerSystem& power, double low, double high) {
  const Bounded draw = draw_range(power, low, high);
  return {draw.nominal - 0.5 * (low + high), draw.low - low, draw.high - high};
}

}  // namespace cairn
