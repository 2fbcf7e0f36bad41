// Worked examples of heat-transfer books and closed forms, run through the whole check; sources beside each.

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "constraints/heat/heat.h"

namespace cairn {
namespace {

// The Sun stands still.
class FixedSun final : public Sky {
 public:
  explicit FixedSun(double elevation) : elevation_(elevation) {}
  [[nodiscard]] SkyPoint sun(Instant) const override { return {elevation_, 0, astronomical_unit}; }
  [[nodiscard]] SkyPoint earth(Instant) const override { return {0.5, 0, 384.4e6}; }
  [[nodiscard]] double solar_flux(Instant) const override { return solar_irradiance_1au; }

 private:
  double elevation_;
};

struct Bench {
  Station station;
  double sun = -0.5;  // rad

  NodeId node(double capacity, double initial) {
    return station.thermal.nodes.add(
        {"node", Bounded::exactly(capacity), Bounded::exactly(initial), {}, no_origin});
  }
  SinkId sink(double temperature) {
    return station.thermal.sinks.add(
        {"sink", SinkKind::Fixed, Bounded::exactly(temperature), Bounded::exactly(0), Bounded::exactly(1)});
  }
  void link(NodeId a, SinkId b, bool radiative, double value) {
    station.thermal.links.push_back({{a, {}}, {{}, b}, radiative, Bounded::exactly(value), no_origin});
  }
  HeatResult run(double seconds) const {
    const StartState start = initial_state(station);
    const Timeline timeline = predict(station, start, {}, Instant{} + *duration_from_seconds(seconds), {});
    return check_heat(station, start, timeline, FixedSun(sun), {.tolerance = 1e-5, .keep_every = {}});
  }
};

constexpr double pi = std::numbers::pi;
double sphere_area(double diameter) { return pi * diameter * diameter; }
double sphere_volume(double diameter) { return pi * diameter * diameter * diameter / 6; }

// Example 4.1 of a textbook companion (Cengel, Heat and Mass Transfer: book from memory): thermocouple bead
// of 1 mm, rho 8500, c 320, h 210; 99 % of the way after 10 s as printed, 9.941319767 s exactly.
TEST(Handbook, ThermocoupleBead) {
  Bench bench;
  const NodeId bead = bench.node(8500 * 320 * sphere_volume(1e-3), 273.15);
  bench.link(bead, bench.sink(373.15), false, 210 * sphere_area(1e-3));
  EXPECT_NEAR(bench.run(9.941319767).end_temperatures[0], 372.15, 1e-3);
}

// Lienhard and Lienhard, A Heat Transfer Textbook, example 1.4: bead of 1 mm, c 180 J/kg/K, gas of 200 degC
// from 20 degC (rho 9300 and h 250 from memory): time constant 1.116 s.
TEST(Handbook, BeadWithATimeConstantOfAboutASecond) {
  for (const double seconds : {0.5, 1.116, 5.0}) {
    Bench bench;
    const NodeId bead = bench.node(9300 * 180 * sphere_volume(1e-3), 293.15);
    bench.link(bead, bench.sink(473.15), false, 250 * sphere_area(1e-3));
    EXPECT_NEAR(bench.run(seconds).end_temperatures[0], 473.15 - 180 * std::exp(-seconds / 1.116), 2e-3);
  }
}

// Incropera et al., Fundamentals of Heat and Mass Transfer, example 5.1 (from memory): junction of 0.706 mm,
// h 400, c 400, rho 8500; 25 to 199 degC in gas of 200 degC in 5.2 s as printed, 5.164785974 s exactly.
TEST(Handbook, ThermocoupleJunction) {
  Bench bench;
  const double diameter = 0.705882353e-3;
  const NodeId junction = bench.node(8500 * 400 * sphere_volume(diameter), 298.15);
  bench.link(junction, bench.sink(473.15), false, 400 * sphere_area(diameter));
  EXPECT_NEAR(bench.run(5.164785974).end_temperatures[0], 472.15, 1e-3);
}

// The same junction with duct walls of 400 degC, emissivity 0.9 (statement in the book; 218.7 degC as
// printed): steady at 218.726897 degC, within 1 K of it after 4.993965 s (DOP853 at 1e-12, scipy 1.10.1),
// with the book's diameter of 0.706 mm and its sigma of 5.67e-8.
TEST(Handbook, ThermocoupleJunctionInADuctThatRadiates) {
  Bench bench;
  const double diameter = 0.706e-3;
  const double area = sphere_area(diameter);
  const NodeId junction = bench.node(8500 * 400 * sphere_volume(diameter), 298.15);
  bench.link(junction, bench.sink(473.15), false, 400 * area);
  bench.link(junction, bench.sink(673.15), true, 0.9 * area * 5.67e-8 / stefan_boltzmann);
  EXPECT_NEAR(bench.run(200).end_temperatures[0], 273.15 + 218.726897, 2e-3);
  EXPECT_NEAR(bench.run(4.993965).end_temperatures[0], 273.15 + 217.726897, 2e-3);
}

// Radiator for 200 W at 293.15 K, emissivity 0.85 (closed form): 0.561875045 m2 towards 3 K.
TEST(Handbook, RadiatorArea) {
  Bench bench;
  const NodeId radiator = bench.node(2000, 250);
  const SinkId space = bench.station.thermal.sinks.add(
      {"space", SinkKind::Space, Bounded::exactly(3), Bounded::exactly(0), Bounded::exactly(1)});
  bench.link(radiator, space, true, 0.85 * 0.561875045);
  IsotopeSource source;
  source.half_life = 1e18;
  source.heat = Bounded::exactly(200);
  source.heat_node = radiator;
  bench.station.power.sources.push_back(source);
  EXPECT_NEAR(bench.run(1e6).end_temperatures[0], 293.15, 1e-3);
}

// A black plate under the Sun, towards space at 0 K: 393.60590 K (IAU 2015 B3 irradiance, CODATA 2018 sigma).
TEST(Handbook, BlackPlateUnderTheSun) {
  Bench bench;
  bench.sun = pi / 2;
  const NodeId plate = bench.node(1000, 300);
  bench.station.thermal.faces.push_back({plate, Bounded::exactly(1), pi / 2, 0, no_origin});
  bench.link(plate, bench.sink(0), true, 1);
  EXPECT_NEAR(bench.run(1e6).end_temperatures[0], 393.60590, 2e-3);
}

// The ground by day in radiative equilibrium, seen by a node that only exchanges with it. Albedo 0.12 and
// 0.07 and emissivity 0.95 after Hayne et al. 2017 (JGR Planets 122): 386.14584, 391.51773 and, 20 degrees
// from the zenith, 380.18749 K.
TEST(Handbook, GroundUnderTheSun) {
  const struct {
    double albedo;
    double from_zenith;
    double kelvin;
  } rows[] = {{0.12, 0, 386.14584}, {0.07, 0, 391.51773}, {0.12, 20, 380.18749}};
  for (const auto& row : rows) {
    Bench bench;
    bench.sun = (90 - row.from_zenith) * pi / 180;
    const NodeId plate = bench.node(1000, 300);
    const SinkId ground =
        bench.station.thermal.sinks.add({"ground", SinkKind::Ground, Bounded::exactly(0),
                                         Bounded::exactly(row.albedo), Bounded::exactly(0.95)});
    bench.link(plate, ground, true, 1);
    EXPECT_NEAR(bench.run(1e6).end_temperatures[0], row.kelvin, 2e-3);
  }
}

// Closed form of a lump that settles towards a radiating sink: t = C/(4 e s A Ts^3) [ln((T+Ts)/(T-Ts)) + 2
// atan(T/Ts)] taken from T0 to T.
TEST(Handbook, LumpTowardsARadiatingSink) {
  const double capacity = 5000;
  const double conductance = 0.3;
  const double sink = 200;
  const auto integral = [&](double t) { return std::log((t + sink) / (t - sink)) + 2 * std::atan(t / sink); };
  const double seconds =
      capacity / (4 * conductance * stefan_boltzmann * sink * sink * sink) * (integral(230) - integral(320));
  Bench bench;
  const NodeId lump = bench.node(capacity, 320);
  bench.link(lump, bench.sink(sink), true, conductance);
  EXPECT_NEAR(bench.run(seconds).end_temperatures[0], 230, 2e-3);
}

}  // namespace
}  // namespace cairn
