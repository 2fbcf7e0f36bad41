// Networks of many nodes, stepped in their modes and by sparse algebra: processor time and how far the two
// are apart, side by side in one run. usage: network_bench [most nodes in modes]
//
// Panels of ten by ten nodes, each linked to its neighbours, one panel to the next along an edge; capacities
// over three decades, a third of the nodes radiating to space; 2,000 times in 30 days at which heat changes.

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <random>

#include "constraints/heat/heat.h"
#include "tests/bench/spread.h"
#include "tests/heat/random_network.h"

namespace cairn {
namespace {

constexpr std::size_t side = 10;

RandomCase panels(std::size_t nodes) {
  RandomCase made = random_case(11, nodes, 2'000, 30 * 86'400.0);
  ThermalNetwork& thermal = made.station.thermal;
  std::mt19937 random(12);
  const auto uniform = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  std::vector<ThermalLink> links;
  for (const ThermalLink& link : thermal.links) {
    if (!link.from.node.is_valid() || !link.to.node.is_valid()) links.push_back(link);
  }
  const auto link = [&](std::size_t a, std::size_t b) {
    if (b >= nodes) return;
    const bool radiative = random() % 8 == 0;
    links.push_back({{thermal.nodes.id_at(a), {}},
                     {thermal.nodes.id_at(b), {}},
                     radiative,
                     Bounded::exactly(radiative ? uniform(0.005, 0.05) : uniform(0.2, 2)),
                     no_origin});
  };
  for (std::size_t i = 0; i < nodes; ++i) {
    if (i % side + 1 < side) link(i, i + 1);
    link(i, i + side);
  }
  thermal.links = std::move(links);
  return made;
}

void widen(Bounded& value) {
  value.low = value.nominal * 0.98;
  value.high = value.nominal * 1.02;
}

struct Run {
  double seconds = 0;
  HeatResult result;
};
Run run(const RandomCase& made, std::size_t modal_up_to, bool envelope) {
  HeatOptions options;
  options.modal_up_to = modal_up_to;
  options.envelope = envelope;
  options.traces = false;
  Run done;
  const double begin = processor_seconds();
  done.result = check_heat(made.station, initial_state(made.station), made.timeline, NoSun(), options);
  done.seconds = processor_seconds() - begin;
  return done;
}

}  // namespace
}  // namespace cairn

int main(int count, char** arguments) {
  using namespace cairn;
  const std::size_t most_modal = count > 1 ? std::strtoul(arguments[1], nullptr, 10) : 400;
  fmt::print("{:>6} {:>10} {:>10} {:>8} {:>12} {:>14} {:>12}\n", "nodes", "modes, s", "sparse, s", "ratio",
             "apart, K", "envelope, s", "steps");
  for (const std::size_t nodes : {30U, 100U, 200U, 300U, 400U, 1'000U, 3'000U}) {
    const RandomCase made = panels(nodes);
    const Run sparse = run(made, 0, false);
    RandomCase bounded = made;
    for (ThermalNode& node : bounded.station.thermal.nodes) widen(node.capacity);
    for (ThermalLink& link : bounded.station.thermal.links) widen(link.value);
    const Run bounds = run(bounded, 0, true);
    std::string modes = "-";
    std::string ratio = "-";
    std::string apart = "-";
    if (nodes <= most_modal) {
      const Run modal = run(made, nodes, false);
      double most = 0;
      for (std::size_t i = 0; i < nodes; ++i) {
        most = std::max(most, std::abs(modal.result.end_temperatures[i] - sparse.result.end_temperatures[i]));
      }
      modes = fmt::format("{:.2f}", modal.seconds);
      ratio = fmt::format("{:.2f}", modal.seconds / sparse.seconds);
      apart = fmt::format("{:.4f}", most);
    }
    fmt::print("{:>6} {:>10} {:>10.2f} {:>8} {:>12} {:>14.2f} {:>12}\n", nodes, modes, sparse.seconds, ratio,
               apart, bounds.seconds - sparse.seconds, sparse.result.steps);
    std::fflush(stdout);
  }
  return 0;
}
