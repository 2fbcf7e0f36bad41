// Random stiff networks with switched loads, for tests and measurements.

#pragma once

#include <cstdint>
#include <random>
#include <vector>

#include "constraints/heat/heat.h"
#include "constraints/heat/network.h"

namespace cairn {

// The Sun stays below the horizon.
class NoSun final : public Sky {
 public:
  [[nodiscard]] SkyPoint sun(Instant) const override { return {-0.5, 0, astronomical_unit}; }
  [[nodiscard]] SkyPoint earth(Instant) const override { return {0.5, 0, 384.4e6}; }
  [[nodiscard]] double solar_flux(Instant) const override { return solar_irradiance_1au; }
};

struct RandomCase {
  Station station;
  Timeline timeline;
  Network network;            // the same network as bare numbers
  std::vector<Drive> drives;  // constant between the times
  std::vector<double> times;  // s, one more than drives
};

// `nodes` nodes in a chain with some cross links, capacities over three decades, sinks in space and fixed;
// `steps` times at which every node's heat is drawn anew, over `length` seconds.
enum class Layout { Even, Bursts };

// Bursts: the steps come fifty at a time, two seconds apart, with hours between.
inline RandomCase random_case(std::uint32_t seed, std::size_t nodes, std::size_t steps, double length,
                              Layout layout = Layout::Even) {
  std::mt19937 random(seed);
  const auto uniform = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  RandomCase made;
  ThermalNetwork& thermal = made.station.thermal;
  const SinkId space = thermal.sinks.add(
      {"space", SinkKind::Space, Bounded::exactly(3), Bounded::exactly(0), Bounded::exactly(1)});
  const SinkId body = thermal.sinks.add(
      {"body", SinkKind::Fixed, Bounded::exactly(270), Bounded::exactly(0), Bounded::exactly(1)});
  for (std::size_t i = 0; i < nodes; ++i) {
    const double capacity = std::pow(10.0, uniform(1.5, 4.7));
    thermal.nodes.add({"node " + std::to_string(i),
                       Bounded::exactly(capacity),
                       Bounded::exactly(uniform(250, 300)),
                       {{LimitKind::Survival, 150, 500, 0, {}, no_origin}},
                       no_origin});
    made.network.capacities.push_back(capacity);
  }
  const auto link = [&](std::size_t a, std::size_t b, bool radiative, double value) {
    thermal.links.push_back({{thermal.nodes.id_at(a), {}},
                             {thermal.nodes.id_at(b), {}},
                             radiative,
                             Bounded::exactly(value),
                             no_origin});
    made.network.links.push_back({a, b, false, radiative, value});
  };
  const auto sink = [&](std::size_t a, SinkId to, bool radiative, double value) {
    thermal.links.push_back(
        {{thermal.nodes.id_at(a), {}}, {{}, to}, radiative, Bounded::exactly(value), no_origin});
    made.network.links.push_back({a, to.value, true, radiative, value});
  };
  for (std::size_t i = 1; i < nodes; ++i) link(i - 1, i, false, uniform(0.2, 2));
  for (std::size_t i = 0; i < nodes / 2; ++i) {
    const std::size_t a = random() % nodes;
    const std::size_t b = random() % nodes;
    if (a != b) link(a, b, true, uniform(0.005, 0.05));
  }
  for (std::size_t i = 0; i < nodes; i += 3) sink(i, space, true, uniform(0.02, 0.1));
  sink(nodes / 2, body, false, uniform(0.2, 1));

  // Whole milliseconds, so that both sides have exactly the same times.
  made.times.push_back(0);
  constexpr std::size_t burst = 50;
  for (std::size_t k = 1; k < steps && layout == Layout::Bursts; ++k) {
    const double begin = length * static_cast<double>(k / burst) / (static_cast<double>(steps) / burst);
    const double spacing = std::min(2.0, 0.5 * length / static_cast<double>(steps));
    made.times.push_back(
        std::round(1e3 * (begin + spacing * static_cast<double>(k % burst)) + uniform(0, 400)) * 1e-3);
  }
  for (std::size_t k = 1; k < steps && layout == Layout::Even; ++k) {
    const double time =
        std::round(1e3 * length * (static_cast<double>(k) + uniform(-0.4, 0.4)) / static_cast<double>(steps));
    made.times.push_back(time * 1e-3);
  }
  made.times.push_back(length);
  const auto at = [](double seconds) {
    const Instant time = Instant{} + *duration_from_seconds(seconds);
    return EventTime{time, time, time};
  };
  made.timeline.end = at(length).nominal;
  const UnitId unit = made.station.units.add({"box", "", {}, no_origin});
  for (std::size_t k = 0; k + 1 < made.times.size(); ++k) {
    Drive drive{std::vector<double>(nodes, 0.0), {3, 270}};
    // Two draws change in a step, each heating a few nodes.
    for (int d = 0; d < 2; ++d) {
      const double watts = uniform(0, 30);
      Draw draw{at(made.times[k]), at(made.times[k + 1]), Bounded::exactly(watts), {}, unit, {}, {}};
      for (int s = 0; s < 3; ++s) {
        const std::size_t node = random() % nodes;
        draw.heat.push_back({thermal.nodes.id_at(node), 0.3});
        drive.heat[node] += watts * 0.3;
      }
      made.timeline.draws.push_back(std::move(draw));
    }
    made.drives.push_back(std::move(drive));
  }
  return made;
}

}  // namespace cairn
