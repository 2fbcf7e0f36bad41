// All thermal solvers, the check's two and the plain one, against handbook examples and closed forms; sources
// beside each.

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "constraints/heat/heat.h"
#include "constraints/heat/solver.h"
#include "tests/heat/rosenbrock.h"

namespace cairn {
namespace {

// The check's for large networks.
class SparseSolver : public NetworkSolver {
 public:
  SparseSolver(const Network& network, double tolerance) : NetworkSolver(network, tolerance, {}, 0) {}
};

template <class Solver>
class SolverTest : public testing::Test {};
using Solvers = testing::Types<NetworkSolver, SparseSolver, RosenbrockSolver>;
TYPED_TEST_SUITE(SolverTest, Solvers, );

// Adaptive integration to `end`, as the check does it.
template <class Solver>
std::vector<double> integrate(const Network& network, const Drive& drive, std::vector<double> temperatures,
                              double end, double tolerance = 1e-5) {
  Solver solver(network, tolerance);
  const DriveAt at = [&](double, Drive& out) { out = drive; };
  double h = end / 1000;
  std::vector<double> next;
  for (double t = 0; t < end;) {
    const double step = std::min(h, end - t);
    const double error = solver.try_step(at, t, step, temperatures, next);
    if (error <= 1) {
      t = step == end - t ? end : t + step;
      temperatures = next;
    }
    h = step * std::clamp(0.9 * std::pow(std::max(error, 1e-10), -1.0 / 3), 0.2, 5.0);
  }
  return temperatures;
}

// Closed form of a lump that radiates to 0 K: T(t) = (T0^-3 + 3 e s A t / C)^(-1/3).
TYPED_TEST(SolverTest, LumpRadiatingToSpace) {
  const Network network{{9000}, {{0, 0, true, true, 0.4}}};
  EXPECT_NEAR(integrate<TypeParam>(network, {{0}, {0}}, {300}, 3600)[0], 249.669062666, 2e-3);
  EXPECT_NEAR(integrate<TypeParam>(network, {{0}, {0}}, {300}, 11634.544272979)[0], 200, 2e-3);
}

// Closed form of warming by constant heat: 150 K to 240 K in 14213.98 s.
TYPED_TEST(SolverTest, LumpWarmedByConstantHeat) {
  const Network network{{9000}, {{0, 0, true, true, 0.4}}};
  EXPECT_NEAR(integrate<TypeParam>(network, {{100}, {0}}, {150}, 14213.982252396)[0], 240, 2e-3);
  EXPECT_NEAR(integrate<TypeParam>(network, {{100}, {0}}, {150}, 1e6)[0], 257.680804676, 2e-3);
}

// Linear network by matrix exponential (scipy 1.10.1).
TYPED_TEST(SolverTest, TwoNodesLinear) {
  const Network network{{1000, 500}, {{0, 1, false, false, 2}, {1, 0, true, false, 1}}};
  const Drive drive{{10, 0}, {280}};
  const auto at_100 = integrate<TypeParam>(network, drive, {300, 300}, 100);
  EXPECT_NEAR(at_100[0], 300.606136612, 2e-3);
  EXPECT_NEAR(at_100[1], 297.109430530, 2e-3);
  const auto at_1000 = integrate<TypeParam>(network, drive, {300, 300}, 1000);
  EXPECT_NEAR(at_1000[0], 298.995554330, 2e-3);
  EXPECT_NEAR(at_1000[1], 292.928583349, 2e-3);
  const auto steady = integrate<TypeParam>(network, drive, {300, 300}, 1e5);
  EXPECT_NEAR(steady[0], 295, 2e-3);
  EXPECT_NEAR(steady[1], 290, 2e-3);
}

// Two radiating nodes, DOP853 against Radau at 1e-12 (scipy 1.10.1).
TYPED_TEST(SolverTest, TwoNodesRadiating) {
  const Network network{{20000, 5000},
                        {{0, 1, false, false, 0.5}, {0, 0, true, true, 0.02}, {1, 0, true, true, 0.3}}};
  const Drive drive{{60, 20}, {0}};
  const auto hour = integrate<TypeParam>(network, drive, {290, 250}, 3600);
  EXPECT_NEAR(hour[0], 294.881326894, 2e-3);
  EXPECT_NEAR(hour[1], 239.045030965, 2e-3);
  const auto ten_hours = integrate<TypeParam>(network, drive, {290, 250}, 36000);
  EXPECT_NEAR(ten_hours[0], 318.576945705, 3e-3);
  EXPECT_NEAR(ten_hours[1], 241.340187975, 3e-3);
  const auto steady = integrate<TypeParam>(network, drive, {290, 250}, 1e6);
  EXPECT_NEAR(steady[0], 338.797332158, 3e-3);
  EXPECT_NEAR(steady[1], 248.680845505, 3e-3);
}

// Holman, Heat Transfer, example 4-1 (inputs from a textbook companion, printed answer 5819 s from memory):
// steel ball of 5 cm, 450 to 150 degC in air of 100 degC; exact 5818.271346 s.
TYPED_TEST(SolverTest, HandbookSteelBall) {
  const double radius = 0.025;
  const double volume = 4.0 / 3.0 * M_PI * radius * radius * radius;
  const double area = 4 * M_PI * radius * radius;
  const Network network{{7800 * 460 * volume}, {{0, 0, true, false, 10 * area}}};
  EXPECT_NEAR(integrate<TypeParam>(network, {{0}, {373.15}}, {723.15}, 5818.271346)[0], 423.15, 2e-3);
}

// Radiation shield between plates of 750 K and 550 K (worked solution 12-100 of a textbook chapter on
// radiation): the shield settles at 671.3 K.
TYPED_TEST(SolverTest, RadiationShield) {
  const double left = 1 / (1 / 0.8 + 1 / 0.12 - 1);
  const double right = 1 / (1 / 0.9 + 1 / 0.12 - 1);
  const Network network{{500}, {{0, 0, true, true, left}, {0, 1, true, true, right}}};
  EXPECT_NEAR(integrate<TypeParam>(network, {{0}, {750, 550}}, {600}, 1e6)[0], 671.266367, 5e-3);
}

// Radiative equilibrium of a black plate under 1361 W/m2 (IAU 2015 B3): 393.60590 K.
TYPED_TEST(SolverTest, RadiativeEquilibriumUnderTheSolarConstant) {
  const Network network{{1000}, {{0, 0, true, true, 1}}};
  EXPECT_NEAR(integrate<TypeParam>(network, {{1361}, {0}}, {300}, 1e6)[0], 393.60590, 2e-3);
}

// The same step halved gives an eighth of the error: the method is of order 3.
TYPED_TEST(SolverTest, OrderThree) {
  const Network network{{9000}, {{0, 0, true, true, 0.4}}};
  const auto error = [&](int steps) {
    TypeParam solver(network, 1e-9);  // so that no pass is left out
    const DriveAt drive = [](double, Drive& out) { out = {{0}, {0}}; };
    std::vector<double> temperatures{300};
    std::vector<double> next;
    for (int i = 0; i < steps; ++i) {
      static_cast<void>(solver.try_step(drive, 3600.0 * i / steps, 3600.0 / steps, temperatures, next));
      temperatures = next;
    }
    const double exact = std::pow(std::pow(300.0, -3) + 3 * stefan_boltzmann * 0.4 * 3600 / 9000, -1.0 / 3);
    return std::abs(temperatures[0] - exact);
  };
  const double order = std::log2(error(20) / error(40));
  EXPECT_GT(order, 2.7);
}

class StillSky final : public Sky {
 public:
  [[nodiscard]] SkyPoint sun(Instant) const override { return {-0.5, 0, astronomical_unit}; }
  [[nodiscard]] SkyPoint earth(Instant) const override { return {0.5, 0, 384.4e6}; }
  [[nodiscard]] double solar_flux(Instant) const override { return solar_irradiance_1au; }
};

// Thermostat on a linear lump: on for tau ln((T_on - T_low)/(T_on - T_high)), off for
// tau ln((T_high - T_env)/(T_low - T_env)), closed form.
TEST(Heat, ThermostatPeriodsAndEnergyAccount) {
  Station station;
  const NodeId node = station.thermal.nodes.add({"box",
                                                 Bounded::exactly(1000),
                                                 Bounded::exactly(265),
                                                 {{LimitKind::Survival, 262, 300, 0, {}, no_origin}},
                                                 no_origin});
  const SinkId sink = station.thermal.sinks.add(
      {"ground", SinkKind::Fixed, Bounded::exactly(250), Bounded::exactly(0), Bounded::exactly(1)});
  station.thermal.links.push_back({{node, {}}, {{}, sink}, false, Bounded::exactly(0.5), no_origin});
  station.thermal.heaters.add({"survival",
                               node,
                               node,
                               Bounded::exactly(20),
                               Bounded::exactly(263),
                               Bounded::exactly(268),
                               {},
                               false,
                               no_origin});
  const Timeline timeline =
      predict(station, initial_state(station), {}, {200'000 * nanoseconds_per_second}, {});
  const HeatResult result = check_heat(station, initial_state(station), timeline, StillSky(), {});
  ASSERT_GT(result.heaters.size(), 10U);
  const double tau = 2000;
  const double on = tau * std::log((290.0 - 263) / (290.0 - 268));
  const double off = tau * std::log((268.0 - 250) / (263.0 - 250));
  for (std::size_t i = 1; i + 1 < result.heaters.size(); ++i) {
    EXPECT_NEAR((result.heaters[i].end - result.heaters[i].begin).seconds(), on, 0.2);
    EXPECT_NEAR((result.heaters[i + 1].begin - result.heaters[i].end).seconds(), off, 0.2);
  }
  ASSERT_EQ(result.findings.size(), 1U);
  EXPECT_EQ(result.findings[0].verdict, Verdict::Holds);
  EXPECT_NEAR(result.findings[0].margin, 1, 1e-3);
  EXPECT_NEAR(result.energy_in - result.energy_out - result.energy_stored, 0, 1e-4 * result.energy_in);
}

// A limit is crossed between two steps of the load: the finding says when, by the closed form of cooling.
TEST(Heat, LimitCrossingIsLocated) {
  Station station;
  const NodeId node = station.thermal.nodes.add({"box",
                                                 Bounded::exactly(9000),
                                                 Bounded::exactly(300),
                                                 {{LimitKind::Survival, 200, 320, 0, {}, no_origin}},
                                                 no_origin});
  const SinkId sink = station.thermal.sinks.add(
      {"space", SinkKind::Space, Bounded::exactly(0), Bounded::exactly(0), Bounded::exactly(1)});
  station.thermal.links.push_back({{node, {}}, {{}, sink}, true, Bounded::exactly(0.4), no_origin});
  const Timeline timeline =
      predict(station, initial_state(station), {}, {20'000 * nanoseconds_per_second}, {});
  const HeatResult result = check_heat(station, initial_state(station), timeline, StillSky(), {});
  ASSERT_EQ(result.findings.size(), 1U);
  EXPECT_EQ(result.findings[0].verdict, Verdict::Fails);
  EXPECT_NEAR((result.findings[0].interval_begin - Instant{}).seconds(), 11634.544, 1);
}

}  // namespace
}  // namespace cairn
