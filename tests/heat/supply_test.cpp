// What the power system does to temperatures: losses by their laws, against sums by hand and against samples
// of stations whose power systems are uncertain.

#include <gtest/gtest.h>

#include "constraints/heat/envelope.h"
#include "tests/heat/uncertain.h"

namespace cairn {
namespace {

// A node without links warms by all that is lost: its capacity times its rise is the energy.
TEST(SupplyHeat, ConverterLossByLoadWarmsItsNode) {
  Station station;
  const NodeId box =
      station.thermal.nodes.add({"box", Bounded::exactly(1000), Bounded::exactly(280), {}, no_origin});
  const UnitId unit = station.units.add({"unit", "", {}, no_origin});
  station.power.converter_points = {{5, Bounded::exactly(0.80)}, {40, Bounded::exactly(0.92)}};
  station.power.converter_heat = {{box, 0.5}};
  Timeline timeline;
  timeline.end = at_second(1000);
  const auto at = [](double s) { return EventTime{at_second(s), at_second(s), at_second(s)}; };
  timeline.draws.push_back({at(0), at(1000), Bounded::exactly(4), {}, unit, {}, {}});
  timeline.draws.push_back({at(100), at(400), Bounded::exactly(18.5), {}, unit, {}, {}});
  const HeatResult result = check_heat(station, initial_state(station), timeline, EvenSky(1e9, 1e-6), {});
  const double lost = 700 * (4 / 0.80 - 4) + 300 * (22.5 / 0.86 - 22.5);
  ASSERT_EQ(result.end_temperatures.size(), 1U);
  EXPECT_NEAR((result.end_temperatures[0] - 280) * 1000, 0.5 * lost, 0.01);
}

// Samples of the converter's law: each point anywhere in its bounds.
TEST(SupplyHeat, NoSampleOfTheConverterLeavesTheEnvelope) {
  for (std::uint32_t seed = 61; seed <= 64; ++seed) {
    UncertainOptions options;
    options.nodes = 4;
    options.cold = seed % 2 == 0;
    UncertainCase made = uncertain_case(seed, options);
    Chance chance(seed);
    made.station.power.converter_points = {{2, chance.around(0.5, 0.1)},
                                           {15, chance.around(0.8, 0.05)},
                                           {40, chance.around(0.93, 0.03)},
                                           {70, chance.around(0.85, 0.05)}};
    const EvenSky sky(12'000, 2e-5);
    const HeatResult bounds = check_heat(made.station, made.start, made.timeline, sky, {});
    double worst = -1e9;
    for (int n = 0; n < 300; ++n) {
      UncertainCase sample = sample_of(made, chance);
      for (EfficiencyPoint& point : sample.station.power.converter_points)
        point.efficiency = Bounded::exactly(chance.pick(point.efficiency));
      const HeatResult result = check_heat(sample.station, sample.start, sample.timeline, sky,
                                           {.tolerance = 1e-3, .envelope = false});
      for (std::size_t i = 0; i < result.traces.size(); ++i) {
        worst = std::max(worst, leaves(bounds.envelope.bands[i], result.traces[i]));
      }
    }
    EXPECT_LE(worst, 0) << "seed " << seed;
  }
}

// A node that gets all that is dumped or lost, and nothing else, warms by what the sources give less what is
// drawn and what is held in the end.
TEST(SupplyHeat, WhatTheStorageHoldsIsNotDumped) {
  Station station;
  const NodeId box =
      station.thermal.nodes.add({"box", Bounded::exactly(1000), Bounded::exactly(280), {}, no_origin});
  const UnitId unit = station.units.add({"unit", "", {}, no_origin});
  IsotopeSource source;
  source.power = Bounded::exactly(20);
  source.half_life = 1e6 * seconds_per_year;
  station.power.sources.push_back(source);
  station.power.dump_heat = {{box, 1}};
  Storage& storage = station.power.storage.emplace();
  storage.capacity = Bounded::exactly(5000);
  storage.initial = Bounded::exactly(4000);
  storage.charge_efficiency = Bounded::exactly(0.9);
  storage.discharge_efficiency = Bounded::exactly(0.8);
  storage.charge_limit = Bounded::exactly(6);
  storage.discharge_limit = Bounded::exactly(30);
  storage.heat = {{box, 1}};
  Timeline timeline;
  timeline.end = at_second(2000);
  const auto at = [](double s) { return EventTime{at_second(s), at_second(s), at_second(s)}; };
  timeline.draws.push_back({at(0), at(2000), Bounded::exactly(4), {}, unit, {}, {}});
  timeline.draws.push_back({at(100), at(200), Bounded::exactly(30), {}, unit, {}, {}});
  const HeatResult result = check_heat(station, initial_state(station), timeline, EvenSky(1e9, 1e-6), {});
  const PowerResult power = check_power(station, timeline, {});
  // Full after 185 s, since 1000 J come in at 5.4 W; not before the peak, which takes 100 s of 17.5 W from
  // within.
  const double held = power.end_charge->nominal - 4000;
  EXPECT_NEAR(held, 1000, 1e-6);
  const double spare = 2000 * (20.0 - 4) - 100 * 30;
  EXPECT_NEAR((result.end_temperatures[0] - 280) * 1000, spare - held, 1);
  EXPECT_LE(leaves(result.envelope.bands[0], result.traces[0]), 0);
}

TEST(SupplyHeat, NoSampleOfTheStorageLeavesTheEnvelope) {
  double narrowest = 1e9;
  for (std::uint32_t seed = 71; seed <= 74; ++seed) {
    UncertainOptions options;
    options.nodes = 4;
    options.cold = seed % 2 == 0;
    UncertainCase made = uncertain_case(seed, options);
    Chance chance(seed);
    Storage& storage = made.station.power.storage.emplace();
    storage.capacity = chance.around(200'000, 0.1);
    storage.initial = chance.around(chance.between(20'000, 180'000), 0.1);
    storage.charge_efficiency = chance.around(0.9, 0.05);
    storage.discharge_efficiency = chance.around(0.85, 0.05);
    storage.charge_limit = chance.around(10, 0.1);
    storage.discharge_limit = chance.around(30, 0.1);
    storage.heat = {{made.station.thermal.nodes.id_at(0), 0.6}, {made.station.thermal.nodes.id_at(3), 0.4}};
    const EvenSky sky(12'000, 2e-5);
    made.start = initial_state(made.station);
    const HeatResult bounds = check_heat(made.station, made.start, made.timeline, sky, {});
    double worst = -1e9;
    for (int n = 0; n < 300; ++n) {
      UncertainCase sample = sample_of(made, chance);
      Storage& one = *sample.station.power.storage;
      for (Bounded* value : {&one.capacity, &one.initial, &one.charge_efficiency, &one.discharge_efficiency,
                             &one.charge_limit, &one.discharge_limit}) {
        *value = Bounded::exactly(chance.pick(*value));
      }
      sample.start = initial_state(sample.station);
      const HeatResult result = check_heat(sample.station, sample.start, sample.timeline, sky,
                                           {.tolerance = 1e-3, .envelope = false});
      for (std::size_t i = 0; i < result.traces.size(); ++i) {
        worst = std::max(worst, leaves(bounds.envelope.bands[i], result.traces[i]));
      }
    }
    EXPECT_LE(worst, 0) << "seed " << seed;
    narrowest = std::min(narrowest, -worst);
  }
  EXPECT_LT(narrowest, 5) << "bounds so wide that they say nothing";
}

}  // namespace
}  // namespace cairn
