// Every bounded quantity in turn.

#include "constraints/heat/exact.h"

#include <algorithm>
#include <cstddef>

#include "constraints/power/supply.h"

namespace cairn {

bool is_exact(const Station& station, const StartState& start, const Timeline& timeline) {
  const auto sure = [](const EventTime& time) { return time.earliest == time.latest; };
  const ThermalNetwork& thermal = station.thermal;
  bool exact = station.clock.rate_error == 0 && is_exact(station.power);
  for (const Draw& draw : timeline.draws) exact &= draw.load.is_exact() && sure(draw.begin) && sure(draw.end);
  for (const ThermalNode& node : thermal.nodes) exact &= node.capacity.is_exact();
  for (const Sink& sink : thermal.sinks) {
    exact &= sink.temperature.is_exact() && sink.albedo.is_exact() && sink.emissivity.is_exact();
  }
  for (const ThermalLink& link : thermal.links) exact &= link.value.is_exact();
  for (const SunlitFace& face : thermal.faces) exact &= face.area.is_exact();
  for (const Heater& heater : thermal.heaters) {
    exact &= heater.power.is_exact() && heater.on_below.is_exact() && heater.off_above.is_exact();
  }
  for (std::size_t i = 0; i < start.temperatures.size(); ++i) {
    exact &= i >= start.lowest_temperatures.size() || start.lowest_temperatures[i] >= start.temperatures[i];
    exact &= i >= start.highest_temperatures.size() || start.highest_temperatures[i] <= start.temperatures[i];
  }
  return exact && std::find(start.heaters_unsure.begin(), start.heaters_unsure.end(), true) ==
                      start.heaters_unsure.end();
}

}  // namespace cairn
