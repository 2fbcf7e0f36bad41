// The check itself over the time before, the sky standing still.

#include "constraints/heat/balance.h"

#include <algorithm>
#include <cmath>

#include "constraints/heat/flows.h"
#include "constraints/heat/sparse_factors.h"

namespace cairn {

namespace {

class StillSky final : public Sky {
 public:
  StillSky(const Sky& sky, Instant time)
      : sun_(sky.sun(time)), earth_(sky.earth(time)), flux_(sky.solar_flux(time)) {}
  [[nodiscard]] SkyPoint sun(Instant) const override { return sun_; }
  [[nodiscard]] SkyPoint earth(Instant) const override { return earth_; }
  [[nodiscard]] double solar_flux(Instant) const override { return flux_; }

 private:
  SkyPoint sun_;
  SkyPoint earth_;
  double flux_;
};

// s, of the mode that takes longest from the temperatures on.
double slowest_of(const Station& station, const std::vector<double>& temperatures) {
  const Network network = numbers_of(station.thermal);
  Flows<double> flows(network, {}, network.capacities.size());
  flows.linearise(temperatures, 0);
  return longest_time_constant(network, flows.conductances());
}

}  // namespace

StartState in_balance(const Station& station, const StartState& start, const Sky& sky, Instant time) {
  StartState found = start;
  found.in_balance = false;
  if (station.thermal.nodes.size() == 0) return found;
  constexpr double time_constants = 14;      // what is left of a difference of 300 K is 0.3 mK
  constexpr double longest = 30 * 86'400.0;  // s
  constexpr double least_share = 1e-4;
  // Balance hangs on no capacity: a slower network is made faster, all of it alike.
  Station faster = station;
  const double slowest = slowest_of(station, start.temperatures);
  const double share = std::isfinite(slowest) ? std::clamp(longest / slowest, least_share, 1.0) : least_share;
  for (ThermalNode& node : faster.thermal.nodes) {
    for (double* value : {&node.capacity.nominal, &node.capacity.low, &node.capacity.high}) *value *= share;
  }
  const double length = time_constants * std::min(slowest, longest);
  const Instant begin = time - duration_from_seconds(std::max(length, 3'600.0)).value_or(Duration{});
  const StillSky still(sky, time);
  const Timeline before = predict(faster, found, begin, time, {});
  HeatOptions options;
  options.traces = false;
  const HeatResult result = check_heat(faster, found, before, still, options);
  found.temperatures = result.end_temperatures;
  found.heaters_on = result.end_heaters_on;
  found.lowest_temperatures = result.envelope.end_low;
  found.highest_temperatures = result.envelope.end_high;
  found.heaters_unsure.clear();
  for (std::size_t i = 0; i < result.envelope.end_may_be_on.size(); ++i) {
    found.heaters_unsure.push_back(result.envelope.end_may_be_on[i] && result.envelope.end_may_be_off[i]);
  }
  return found;
}

}  // namespace cairn
