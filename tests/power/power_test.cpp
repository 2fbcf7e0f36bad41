// Source decay against the published half-life, and the reserve against an independent sampling.

#include "constraints/power/power.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <random>

namespace cairn {
namespace {

// Pu-238, half-life 87.7 years (nuclear-data evaluations): fraction that remains.
TEST(Power, IsotopeDecayFollowsThePublishedHalfLife) {
  PowerSystem power;
  IsotopeSource source;
  source.power = Bounded::exactly(1);
  source.half_life = 87.7 * seconds_per_year;
  source.ageing_per_year = Bounded::exactly(0);
  power.sources.push_back(source);
  const struct {
    int years;
    double fraction;
  } rows[] = {{1, 0.992128},  {5, 0.961253},  {10, 0.924007}, {14, 0.895251},
              {17, 0.874274}, {30, 0.788906}, {50, 0.673558}};
  for (const auto& row : rows) {
    const Instant time{static_cast<std::int64_t>(row.years) * 31'557'600 * nanoseconds_per_second};
    EXPECT_NEAR(source_power(power, time, Bound::Nominal), row.fraction, 1e-6);
  }
  // With 0.8 % of ageing a year the loss is about 1.6 % a year (computed).
  power.sources[0].ageing_per_year = Bounded::exactly(0.008);
  const Instant year{31'557'600 * nanoseconds_per_second};
  EXPECT_NEAR(1 - source_power(power, year, Bound::Nominal), 0.0158, 1e-4);
  EXPECT_LE(source_power(power, year, Bound::Low), source_power(power, year, Bound::High));
}

// A second way to the least reserve: sample every second and add up what draws then.
TEST(Power, LeastReserveAgreesWithSampling) {
  std::mt19937 random(11);
  for (int round = 0; round < 40; ++round) {
    Station station;
    const UnitId unit = station.units.add({"box", "", {}, no_origin});
    IsotopeSource source;
    source.power = Bounded::exactly(40);
    source.half_life = 87.7 * seconds_per_year;
    station.power.sources.push_back(source);
    station.power.converter_efficiency = Bounded::exactly(0.9);
    station.power.reserve_floor = 4;
    Timeline timeline;
    timeline.end = {1000 * nanoseconds_per_second};
    for (int i = 0; i < 12; ++i) {
      const auto at = [](std::int64_t s) {
        const Instant time{s * nanoseconds_per_second};
        return EventTime{time, time, time};
      };
      const std::int64_t begin = static_cast<std::int64_t>(random() % 900);
      const std::int64_t end = begin + 1 + static_cast<std::int64_t>(random() % 99);
      timeline.draws.push_back(
          {at(begin), at(end), Bounded::exactly(static_cast<double>(random() % 90) / 10), {}, unit, {}, {}});
    }
    const PowerResult result = check_power(station, timeline, {});
    double least = 1e9;
    for (std::int64_t s = 0; s <= 1000; ++s) {
      double load = 0;
      for (const Draw& draw : timeline.draws) {
        if (draw.begin.nominal.tai_nanoseconds <= s * nanoseconds_per_second &&
            s * nanoseconds_per_second < draw.end.nominal.tai_nanoseconds) {
          load += draw.load.nominal;
        }
      }
      least = std::min(
          least, source_power(station.power, {s * nanoseconds_per_second}, Bound::Nominal) - load / 0.9);
    }
    EXPECT_NEAR(result.finding.value, least, 1e-6);
    EXPECT_EQ(result.finding.verdict == Verdict::Fails, least < 4);
    EXPECT_EQ(result.shed.empty(), least >= 0);
  }
}

// The order of shedding a second way: walk over every second, and take units off the bus for good while it
// sags.
TEST(Power, SheddingAgreesWithWalkingOverEverySecond) {
  std::mt19937 random(5);
  std::size_t shed_in_all = 0;
  for (int round = 0; round < 200; ++round) {
    Station station;
    for (int u = 0; u < 4; ++u) {
      station.power.shed_order.push_back(station.units.add({"unit " + std::to_string(u), "", {}, no_origin}));
    }
    IsotopeSource source;
    source.power = Bounded::exactly(30);
    source.half_life = 87.7 * seconds_per_year;
    station.power.sources.push_back(source);
    station.power.converter_efficiency = Bounded::exactly(0.9);
    Timeline timeline;
    timeline.end = {1000 * nanoseconds_per_second};
    const auto at = [](std::int64_t s) {
      const Instant time{s * nanoseconds_per_second};
      return EventTime{time, time, time};
    };
    for (int i = 0; i < 30; ++i) {
      const std::int64_t begin = static_cast<std::int64_t>(random() % 900);
      const std::int64_t end = begin + 1 + static_cast<std::int64_t>(random() % 99);
      const UnitId unit = station.units.id_at(random() % 4);
      timeline.draws.push_back(
          {at(begin), at(end), Bounded::exactly(static_cast<double>(random() % 130) / 10), {}, unit, {}, {}});
    }
    std::sort(timeline.draws.begin(), timeline.draws.end(),
              [](const Draw& a, const Draw& b) { return a.begin.nominal < b.begin.nominal; });
    std::vector<UnitId> expected;
    for (std::int64_t s = 0; s < 1000; ++s) {
      // Draws change at whole seconds only; the second's end is where its reserve is least.
      const double power = source_power(station.power, {(s + 1) * nanoseconds_per_second}, Bound::Nominal);
      const auto load = [&](UnitId unit) {
        double sum = 0;
        for (const Draw& draw : timeline.draws) {
          const Instant now{s * nanoseconds_per_second};
          if (draw.unit == unit && draw.begin.nominal <= now && now < draw.end.nominal)
            sum += draw.load.nominal;
        }
        return sum;
      };
      const auto reserve = [&] {
        double sum = 0;
        for (UnitId unit : station.power.shed_order) {
          if (std::find(expected.begin(), expected.end(), unit) == expected.end()) sum += load(unit);
        }
        return power - sum / 0.9;
      };
      for (UnitId unit : station.power.shed_order) {
        if (reserve() >= 0) break;
        if (load(unit) > 0 && std::find(expected.begin(), expected.end(), unit) == expected.end()) {
          expected.push_back(unit);
        }
      }
    }
    const PowerResult result = check_power(station, timeline, {});
    std::vector<UnitId> found;
    for (const ShedStep& step : result.shed) found.push_back(step.unit);
    EXPECT_EQ(found, expected) << "round " << round;
    shed_in_all += found.size();
  }
  EXPECT_GT(shed_in_all, 100U);
}

// The sources fall below the floor within one long step: the time is located inside it, by the decay law.
TEST(Power, FloorCrossedByDecayAloneIsLocated) {
  Station station;
  IsotopeSource source;
  source.power = Bounded::exactly(80);
  source.half_life = 1000;
  station.power.sources.push_back(source);
  station.power.reserve_floor = 10;
  Timeline timeline;
  timeline.end = {5000 * nanoseconds_per_second};
  const PowerResult result = check_power(station, timeline, {});
  EXPECT_EQ(result.finding.verdict, Verdict::Fails);
  EXPECT_NEAR(result.finding.value, 2.5, 1e-9);
  EXPECT_NEAR(result.finding.margin, -7.5, 1e-9);
  EXPECT_NEAR((result.finding.interval_begin - Instant{}).seconds(), 3000, 1e-6);
  EXPECT_EQ(result.finding.interval_end, timeline.end);
}

}  // namespace
}  // namespace cairn
