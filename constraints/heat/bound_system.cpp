// Numbers from the station, and the account of the integration's own error.

#include "constraints/heat/bound_system.h"

#include <utility>

namespace cairn {

const Network& BoundSystem::with_numbers(const ThermalNetwork& thermal, double rate_error,
                                         const std::vector<MayBe>& heaters) {
  for (const ThermalNode& node : thermal.nodes) {
    // The rate is net heat over capacity, and by the station's clock a little more or less.
    const double most = (1 + rate_error) / node.capacity.low;
    const double least = (1 - rate_error) / node.capacity.high;
    network.capacities.push_back(2 / (most + least));
    spread.capacities.push_back((most - least) / (most + least));
  }
  for (const ThermalLink& link : thermal.links) {
    const bool from_node = link.from.node.is_valid();
    const LinkEnd& near = from_node ? link.from : link.to;
    const LinkEnd& far = from_node ? link.to : link.from;
    if (!near.node.is_valid()) continue;
    const bool to_sink = !far.node.is_valid();
    network.links.push_back({near.node.value, to_sink ? far.sink.value : far.node.value, to_sink,
                             link.radiative, 0.5 * (link.value.low + link.value.high)});
    spread.links.push_back(0.5 * (link.value.high - link.value.low));
  }
  // A thermostat on its own node holds the bound on its threshold by a link of its own (off until it does).
  for (std::size_t i = 0; i < heaters.size(); ++i) {
    holds.push_back(network.links.size());
    if (!heaters[i].own_sensor()) continue;
    network.links.push_back({heaters[i].heater().node.value, thermal.sinks.size() + i, true, false, 0});
    spread.links.push_back(0);
  }
  return network;
}

void BoundSystem::foresee_displacement() {
  solver.displace(displacement, displacement_then);
  for (std::size_t i = 0; i < off_in_step.size(); ++i) {
    Pair& then = displacement_then.off[i];
    then = greater_of(then, Pair{});
    // Within the step it is no more than at the worse end.
    off_in_step[i] = greater_of(displacement.off[i], then);
  }
}

double BoundSystem::accept_displacement() {
  std::swap(displacement, displacement_then);
  Pair most{};
  for (const Pair off : displacement.off) most = greater_of(most, off);
  return greatest(most);
}

}  // namespace cairn
