// A begin in balance: against closed forms, against temperatures that stay where they are, and against
// samples of what is uncertain.

#include "constraints/heat/balance.h"

#include <gtest/gtest.h>

#include <cmath>

#include "tests/heat/uncertain.h"

namespace cairn {
namespace {

const EvenSky& sky() {
  static const EvenSky even(12'000, 2e-5);
  return even;
}

// Closed form: sigma R T^4 = Q at 0 K around; and of a second node behind a conductance.
TEST(Balance, IsWhereHeatInIsHeatOut) {
  Station station;
  ThermalNetwork& thermal = station.thermal;
  const SinkId space = thermal.sinks.add(
      {"space", SinkKind::Space, Bounded::exactly(0), Bounded::exactly(0), Bounded::exactly(1)});
  const NodeId radiator =
      thermal.nodes.add({"radiator", Bounded::exactly(5000), Bounded::exactly(250), {}, no_origin});
  const NodeId box = thermal.nodes.add({"box", Bounded::exactly(900), Bounded::exactly(300), {}, no_origin});
  thermal.links.push_back({{radiator, {}}, {{}, space}, true, Bounded::exactly(0.3), no_origin});
  thermal.links.push_back({{radiator, {}}, {box, {}}, false, Bounded::exactly(0.5), no_origin});
  IsotopeSource source;
  source.power = Bounded::exactly(10);
  source.half_life = 1e15;
  source.heat = Bounded::exactly(40);
  source.heat_node = box;
  station.power.sources.push_back(source);
  StartState start = initial_state(station);
  start.in_balance = true;
  const StartState found = in_balance(station, start, sky(), at_second(0));
  const double cold = std::pow(40 / (5.670374419e-8 * 0.3), 0.25);
  ASSERT_EQ(found.temperatures.size(), 2U);
  EXPECT_NEAR(found.temperatures[0], cold, 2e-3);
  EXPECT_NEAR(found.temperatures[1], cold + 80, 2e-3);
  EXPECT_FALSE(found.in_balance);
  // A network a million times as slow comes to rest at the same temperatures.
  for (ThermalNode& node : thermal.nodes) node.capacity = Bounded::exactly(node.capacity.nominal * 1e6);
  const StartState slow = in_balance(station, start, sky(), at_second(0));
  EXPECT_NEAR(slow.temperatures[0], cold, 2e-2);
}

// From there on, nothing moves under the same Sun and the same loads.
TEST(Balance, StaysWhereItIs) {
  for (std::uint32_t seed = 1; seed <= 5; ++seed) {
    UncertainOptions options;
    options.own_thermostats = options.other_thermostats = false;
    options.draws = 0;
    const UncertainCase made = uncertain_case(seed, options);
    const EvenSky dark(1e9, 1e-6);
    const StartState found = in_balance(made.station, made.start, dark, at_second(0));
    const HeatResult result = check_heat(made.station, found, made.timeline, dark, {});
    for (std::size_t i = 0; i < options.nodes; ++i) {
      EXPECT_NEAR(result.end_temperatures[i], found.temperatures[i], 0.05) << "seed " << seed;
      EXPECT_LE(found.lowest_temperatures[i], found.temperatures[i]);
      EXPECT_GE(found.highest_temperatures[i], found.temperatures[i]);
      EXPECT_GT(found.highest_temperatures[i] - found.lowest_temperatures[i], 0.1);
    }
  }
}

// The balance of each sample lies within the bounds of the uncertain station's.
TEST(Balance, HoldsTheBalanceOfEverySample) {
  for (std::uint32_t seed = 21; seed <= 24; ++seed) {
    UncertainOptions options;
    options.nodes = 4;
    options.draws = 0;
    options.cold = seed % 2 == 0;
    options.other_thermostats = false;
    options.own_thermostats = seed > 22;
    const UncertainCase made = uncertain_case(seed, options);
    const StartState bounds = in_balance(made.station, made.start, sky(), at_second(20'000));
    Chance chance(seed);
    for (int n = 0; n < 40; ++n) {
      const UncertainCase sample = sample_of(made, chance);
      const StartState found = in_balance(sample.station, sample.start, sky(), at_second(20'000));
      for (std::size_t i = 0; i < options.nodes; ++i) {
        EXPECT_LE(bounds.lowest_temperatures[i], found.temperatures[i]) << "seed " << seed;
        EXPECT_GE(bounds.highest_temperatures[i], found.temperatures[i]) << "seed " << seed;
      }
    }
  }
}

}  // namespace
}  // namespace cairn
