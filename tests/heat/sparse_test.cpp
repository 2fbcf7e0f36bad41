// What sparse algebra rests on: the numbers of the collocation against the conditions they must meet, the
// factors against the matrix, and a large network against a handbook's closed form.

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <numeric>
#include <random>

#include "constraints/heat/collocation.h"
#include "constraints/heat/heat.h"
#include "constraints/heat/modes.h"
#include "constraints/heat/solver.h"
#include "constraints/heat/sparse_factors.h"
#include "tests/heat/random_network.h"

namespace cairn {
namespace {

constexpr std::size_t stages = Collocation::stages;
constexpr std::size_t points = Collocation::points;

// Simplifying assumption C(5) of Butcher (Hairer and Wanner, "Solving Ordinary Differential
// Equations II", section IV.5, from memory): powers up to the fourth are integrated without error.
TEST(Collocation, IntegratesPowersToEveryStage) {
  const Collocation& numbers = collocation();
  EXPECT_EQ(numbers.parts.front(), 0);
  EXPECT_EQ(numbers.parts[Collocation::end], 1);
  for (std::size_t i = 0; i < stages; ++i) {
    for (int power = 0; power < 5; ++power) {
      double sum = 0;
      for (std::size_t j = 0; j < stages; ++j) {
        sum += numbers.integrals[i][j] * std::pow(numbers.parts[j + 1], power);
      }
      EXPECT_NEAR(sum, std::pow(numbers.parts[i + 1], power + 1) / (power + 1), 1e-13);
    }
  }
  for (int power = 0; power < 5; ++power) {
    double whole = 0;
    double beyond = 0;
    for (std::size_t j = 0; j <= Collocation::end; ++j) {
      whole += numbers.whole[j] * std::pow(numbers.parts[j], power);
      beyond += numbers.beyond[j] * std::pow(numbers.parts[j], power);
    }
    EXPECT_NEAR(whole, 1.0 / (power + 1), 1e-13);
    EXPECT_NEAR(beyond, std::pow(numbers.parts.back(), power), 1e-12);
  }
}

// What makes it cheap: one eigenvalue for all stages.
TEST(Collocation, HasOneEigenvalueAlone) {
  const Collocation& numbers = collocation();
  for (std::size_t i = 0; i < stages; ++i) {
    for (std::size_t j = 0; j < stages; ++j) {
      double inverse = 0;
      double entry = 0;
      for (std::size_t k = 0; k < stages; ++k) {
        inverse += numbers.from_stages[i][k] * numbers.to_stages[k][j];
        for (std::size_t l = 0; l < stages; ++l) {
          entry += numbers.from_stages[i][k] * numbers.integrals[k][l] * numbers.to_stages[l][j];
        }
      }
      EXPECT_NEAR(inverse, i == j ? 1 : 0, 1e-13);
      EXPECT_NEAR(entry, i == j ? numbers.gamma : i == j + 1 ? -numbers.gamma : 0, 1e-13) << i << ", " << j;
    }
  }
}

// y' = -x y over one step never grows, and what is infinitely stiff is gone at once; the error is of order 6,
// its constant by Taylor's series of exp(-x) (1 + gamma x)^5.
TEST(Collocation, IsStableHoweverStiffANodeIs) {
  for (double x = 1e-3; x < 1e12; x *= 1.5) {
    const Network lump{{1}, {{0, 0, true, false, x}}};
    NetworkSolver solver(lump, 1, {}, 0);
    std::vector<double> result;
    static_cast<void>(solver.try_step([](double, Drive& out) { out = {{0}, {100}}; }, 0, 1, {200}, result));
    const double left = (result[0] - 100) / 100;
    EXPECT_LE(left, 1) << x;
    EXPECT_GE(left, -0.42) << x;
    EXPECT_LE(std::abs(left - std::exp(-x)), 6e-5 * std::pow(x, 6) + 1e-9) << x;
    if (x > 1e6) {
      EXPECT_NEAR(left, 0, 1e-4) << x;
    }
  }
}

TEST(Collocation, APolynomialStaysWithinItsControls) {
  const Collocation& numbers = collocation();
  std::mt19937 random(5);
  std::uniform_real_distribution<double> uniform(-1, 1);
  for (int n = 0; n < 200; ++n) {
    Collocation::ByPoint values{};
    for (double& value : values) value = uniform(random);
    const auto at = [&](const Collocation::ByPoint& weights) {
      return std::inner_product(weights.begin(), weights.end(), values.begin(), 0.0);
    };
    double least = 1e9;
    double greatest = -1e9;
    for (const auto& control : numbers.controls) {
      least = std::min(least, at(control));
      greatest = std::max(greatest, at(control));
    }
    for (std::size_t j = 0; j < points; ++j) {
      EXPECT_NEAR(at(numbers.value_at(numbers.parts[j])), values[j], 1e-12);
    }
    for (int k = 0; k <= 100; ++k) {
      const double part = k / 100.0;
      EXPECT_GE(at(numbers.value_at(part)), least - 1e-12);
      EXPECT_LE(at(numbers.value_at(part)), greatest + 1e-12);
      const double slope = (at(numbers.value_at(part + 1e-5)) - at(numbers.value_at(part - 1e-5))) / 2e-5;
      EXPECT_NEAR(at(numbers.slope_at(part)), slope, 1e-4 * (1 + std::abs(slope)));
    }
  }
}

// Conductances as the network has them at 280 K.
std::vector<double> conductances_of(const Network& network) {
  std::vector<double> found;
  for (const NetworkLink& link : network.links) {
    found.push_back(link.radiative ? 4 * 5.670374419e-8 * link.value * 280 * 280 * 280 : link.value);
  }
  return found;
}

TEST(SparseFactors, SolveWhatTheyHaveFactored) {
  for (std::uint32_t seed = 1; seed <= 20; ++seed) {
    const std::size_t nodes = 1 + 37 * (seed % 7);
    const Network network = random_case(seed, std::max<std::size_t>(nodes, 2), 2, 100).network;
    const std::vector<double> conductances = conductances_of(network);
    SparseFactors factors(network);
    for (const double seconds : {0.0, 1.0, 1e5}) {
      ASSERT_TRUE(factors.factor(conductances, seconds));
      std::vector<double> kelvin(network.capacities.size());
      for (std::size_t i = 0; i < kelvin.size(); ++i) kelvin[i] = std::sin(static_cast<double>(i + seed));
      std::vector<double> joules(kelvin.size());
      for (std::size_t i = 0; i < kelvin.size(); ++i) joules[i] = network.capacities[i] * kelvin[i];
      for (std::size_t k = 0; k < network.links.size(); ++k) {
        const NetworkLink& link = network.links[k];
        const double flow =
            seconds * conductances[k] * (kelvin[link.node] - (link.to_sink ? 0 : kelvin[link.other]));
        joules[link.node] += flow;
        if (!link.to_sink) joules[link.other] -= flow;
      }
      factors.solve(joules);
      for (std::size_t i = 0; i < kelvin.size(); ++i) {
        EXPECT_NEAR(joules[i], kelvin[i], 1e-9) << "seed " << seed << " seconds " << seconds;
      }
    }
  }
}

TEST(SparseFactors, FindTheSlowestMode) {
  for (std::uint32_t seed = 1; seed <= 20; ++seed) {
    const std::size_t nodes = 2 + seed;
    const Network network = random_case(seed, nodes, 2, 100).network;
    const std::vector<double> conductances = conductances_of(network);
    Modes<double> modes(nodes);
    modes.find(network, conductances);
    const double least =
        *std::min_element(modes.rates().begin(), modes.rates().begin() + static_cast<std::ptrdiff_t>(nodes));
    EXPECT_NEAR(longest_time_constant(network, conductances) * least, 1, 0.05) << "seed " << seed;
  }
  // Nothing ends what no sink takes.
  const Network closed{{10, 20}, {{0, 1, false, false, 3}}};
  EXPECT_EQ(longest_time_constant(closed, {3}), std::numeric_limits<double>::infinity());
}

// A plane wall, warm all through, whose one face is cooled and whose other lets nothing pass: the series of
// Incropera and DeWitt, "Fundamentals of Heat and Mass Transfer", section 5.5.1 (eigenvalues zeta tan zeta =
// Bi), from memory. Cut into a thousand slices it is a network of a thousand nodes.
TEST(Sparse, AThousandSlicesAreAPlaneWall) {
  constexpr std::size_t slices = 1000;
  constexpr double biot = 2;
  constexpr double capacity = 3e5;     // J/K of the whole wall
  constexpr double conductance = 1.5;  // W/K through the whole wall
  constexpr double warm = 350;
  constexpr double cold = 250;
  Station station;
  ThermalNetwork& thermal = station.thermal;
  const SinkId body = thermal.sinks.add(
      {"body", SinkKind::Fixed, Bounded::exactly(cold), Bounded::exactly(0), Bounded::exactly(1)});
  for (std::size_t i = 0; i < slices; ++i) {
    thermal.nodes.add({"slice " + std::to_string(i),
                       Bounded::exactly(capacity / slices),
                       Bounded::exactly(warm),
                       {},
                       no_origin});
  }
  for (std::size_t i = 0; i + 1 < slices; ++i) {
    thermal.links.push_back({{thermal.nodes.id_at(i), {}},
                             {thermal.nodes.id_at(i + 1), {}},
                             false,
                             Bounded::exactly(conductance * slices),
                             no_origin});
  }
  // Half a slice lies between the middle of the last one and its face.
  const double face = 1 / (1 / (biot * conductance) + 0.5 / (conductance * slices));
  thermal.links.push_back(
      {{thermal.nodes.id_at(slices - 1), {}}, {{}, body}, false, Bounded::exactly(face), no_origin});
  Timeline timeline;
  const double length = capacity / conductance;  // s, Fourier number 1
  timeline.end = Instant{} + *duration_from_seconds(length);
  HeatOptions options;
  options.envelope = false;
  const HeatResult result = check_heat(station, initial_state(station), timeline, NoSun(), options);
  const auto series = [&](double place, double fourier) {
    double sum = 0;
    for (int n = 0; n < 60; ++n) {
      // zeta tan zeta grows from 0 without end on each of these.
      double low = n * std::numbers::pi;
      double high = low + std::numbers::pi / 2;
      for (int turn = 0; turn < 60; ++turn) {
        const double middle = 0.5 * (low + high);
        (middle * std::tan(middle) < biot ? low : high) = middle;
      }
      const double zeta = 0.5 * (low + high);
      const double share = 4 * std::sin(zeta) / (2 * zeta + std::sin(2 * zeta));
      sum += share * std::exp(-zeta * zeta * fourier) * std::cos(zeta * place);
    }
    return cold + (warm - cold) * sum;
  };
  std::size_t compared = 0;
  for (const std::size_t i : {0U, 250U, 500U, 750U, 999U}) {
    const double place = (static_cast<double>(i) + 0.5) / slices;
    for (const TemperaturePoint& point : result.traces[i]) {
      const double fourier = (point.time - timeline.begin).seconds() / length;
      if (fourier < 0.01) continue;
      EXPECT_NEAR(point.temperature, series(place, fourier), 0.01) << "slice " << i << " at " << fourier;
      ++compared;
    }
  }
  EXPECT_GT(compared, 50U);
}

// The numbering of the nodes is ours, not nature's.
TEST(Sparse, TheOrderOfNodesDoesNotMatter) {
  constexpr std::size_t nodes = 360;
  static_assert(nodes > most_modal_nodes);
  RandomCase made = random_case(77, nodes, 20, 40'000);
  HeatOptions options;
  options.envelope = false;
  const HeatResult result =
      check_heat(made.station, initial_state(made.station), made.timeline, NoSun(), options);
  const auto turned = [](NodeId id) {
    return NodeId{static_cast<std::uint32_t>((id.value * 7 + 13) % nodes)};
  };
  Station other = made.station;
  for (std::size_t i = 0; i < nodes; ++i) {
    const NodeId id = made.station.thermal.nodes.id_at(i);
    other.thermal.nodes[turned(id)] = made.station.thermal.nodes[id];
  }
  for (ThermalLink& link : other.thermal.links) {
    if (link.from.node.is_valid()) link.from.node = turned(link.from.node);
    if (link.to.node.is_valid()) link.to.node = turned(link.to.node);
  }
  Timeline timeline = made.timeline;
  for (Draw& draw : timeline.draws) {
    for (HeatShare& share : draw.heat) share.node = turned(share.node);
  }
  const HeatResult again = check_heat(other, initial_state(other), timeline, NoSun(), options);
  options.modal_up_to = nodes;
  const HeatResult modal =
      check_heat(made.station, initial_state(made.station), made.timeline, NoSun(), options);
  EXPECT_NE(modal.steps, result.steps) << "the same method twice shows nothing";
  for (std::size_t i = 0; i < nodes; ++i) {
    const NodeId id = made.station.thermal.nodes.id_at(i);
    EXPECT_NEAR(result.end_temperatures[i], again.end_temperatures[turned(id).value], 1e-6);
    EXPECT_NEAR(result.end_temperatures[i], modal.end_temperatures[i], 0.01);
  }
}

}  // namespace
}  // namespace cairn
