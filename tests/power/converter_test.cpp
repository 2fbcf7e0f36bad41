// The converter whose efficiency goes by the load: values by hand, and its bounds against laws drawn at
// random between the lowest and the highest.

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "constraints/power/power.h"

namespace cairn {
namespace {

PowerSystem by_hand() {
  PowerSystem power;
  power.converter_points = {{5, {0.80, 0.78, 0.82}}, {40, {0.92, 0.91, 0.93}}, {60, {0.88, 0.86, 0.90}}};
  return power;
}

TEST(Converter, IsLinearBetweenPointsAndLevelBeyond) {
  const PowerSystem power = by_hand();
  EXPECT_DOUBLE_EQ(converter_efficiency(power, 0, Bound::Nominal), 0.80);
  EXPECT_DOUBLE_EQ(converter_efficiency(power, 5, Bound::Nominal), 0.80);
  EXPECT_DOUBLE_EQ(converter_efficiency(power, 22.5, Bound::Nominal), 0.86);
  EXPECT_DOUBLE_EQ(converter_efficiency(power, 22.5, Bound::Low), 0.845);
  EXPECT_DOUBLE_EQ(converter_efficiency(power, 40, Bound::High), 0.93);
  EXPECT_DOUBLE_EQ(converter_efficiency(power, 50, Bound::Nominal), 0.90);
  EXPECT_DOUBLE_EQ(converter_efficiency(power, 200, Bound::Nominal), 0.88);
  EXPECT_DOUBLE_EQ(source_draw(power, 22.5, Bound::Nominal), 22.5 / 0.86);
  EXPECT_EQ(source_draw(power, 0, Bound::Nominal), 0);
}

// An efficiency that rises with the load can lose most in between: of 0.2 + 0.02 p from 0 to 40 W the loss
// p / (0.2 + 0.02 p) - p turns where (0.2 + 0.02 p)^2 = 0.2, at p = 12.360680 W, and is 15.278640 W there.
TEST(Converter, LosesMostWhereTheSlopeOfTheLossTurns) {
  PowerSystem power;
  power.converter_points = {{0, Bounded::exactly(0.2)}, {40, Bounded::exactly(1.0)}};
  const Bounded loss = loss_range(power, 0, 40);
  EXPECT_NEAR(loss.high, 15.278640450004204, 1e-9);
  EXPECT_NEAR(loss.low, 0, 1e-12);
  EXPECT_NEAR(loss_range(power, 20, 30).high, 20 / 0.6 - 20, 1e-12);
  EXPECT_NEAR(loss_range(power, 20, 30).low, 30 / 0.8 - 30, 1e-12);
}

// Random laws between the bounds, random loads between theirs: neither draw nor loss leaves its range, and a
// dense walk over the two extreme laws comes close to its ends.
TEST(Converter, NoLawInsideTheBoundsLeavesTheRanges) {
  std::mt19937 random(3);
  const auto uniform = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  std::size_t inside = 0;
  for (int round = 0; round < 300; ++round) {
    PowerSystem power;
    double load = uniform(0, 5);
    Bounded last{0, 0, 0};
    const std::size_t count = 2 + random() % 4;
    while (power.converter_points.size() < count) {
      const double nominal = uniform(0.3, 0.95);
      const Bounded efficiency{nominal, nominal - uniform(0, 0.1), nominal + uniform(0, 0.05)};
      if (!power.converter_points.empty()) {
        const double before = power.converter_points.back().at;
        const auto falls = [&](double a, double b) { return load * a < before * b; };
        if (falls(last.low, efficiency.low) || falls(last.nominal, efficiency.nominal) ||
            falls(last.high, efficiency.high)) {
          load += 1;
          continue;
        }
      }
      power.converter_points.push_back({load, efficiency});
      last = efficiency;
      load += uniform(1, 20);
    }
    const double low = uniform(0, load);
    const double high = low + uniform(0, load);
    const Bounded draw = draw_range(power, low, high);
    const Bounded loss = loss_range(power, low, high);
    double least = 1e9;
    double most = -1e9;
    for (int look = 0; look <= 400; ++look) {
      const double at = low + (high - low) * look / 400;
      // Any efficiency between the two curves is one a law could have there.
      const double efficiency =
          uniform(converter_efficiency(power, at, Bound::Low), converter_efficiency(power, at, Bound::High));
      ASSERT_GE(at / efficiency, draw.low - 1e-9);
      ASSERT_LE(at / efficiency, draw.high + 1e-9);
      ASSERT_GE(at / efficiency - at, loss.low - 1e-9);
      ASSERT_LE(at / efficiency - at, loss.high + 1e-9);
      least = std::min(least, at / converter_efficiency(power, at, Bound::High) - at);
      most = std::max(most, at / converter_efficiency(power, at, Bound::Low) - at);
      ++inside;
    }
    EXPECT_NEAR(loss.low, least, 0.02 + 0.02 * least);
    EXPECT_NEAR(loss.high, most, 0.02 + 0.02 * most);
    EXPECT_LE(draw.low, draw.nominal);
    EXPECT_LE(draw.nominal, draw.high);
  }
  EXPECT_EQ(inside, 300U * 401);
}

// The reserve a second way: the law evaluated at each second's load.
TEST(Converter, TheReserveFollowsTheLaw) {
  Station station;
  const UnitId unit = station.units.add({"box", "", {}, no_origin});
  IsotopeSource source;
  source.power = {60, 59, 61};
  source.half_life = 87.7 * seconds_per_year;
  station.power = by_hand();
  station.power.sources.push_back(source);
  station.power.reserve_floor = 2;
  const auto at = [](std::int64_t s) {
    const Instant time{s * nanoseconds_per_second};
    return EventTime{time, time, time};
  };
  Timeline timeline;
  timeline.end = at(1000).nominal;
  timeline.draws.push_back({at(0), at(1000), Bounded::exactly(4), {}, unit, {}, {}});
  timeline.draws.push_back({at(200), at(400), Bounded::exactly(18.5), {}, unit, {}, {}});
  timeline.draws.push_back({at(300), at(400), Bounded::exactly(27.5), {}, unit, {}, {}});
  const std::vector<HeaterInterval> none;
  const PowerResult result = check_power(station, timeline, none, &none);
  EXPECT_NEAR(result.finding.value, 60 - 50 / 0.90, 1e-4);
  EXPECT_NEAR(result.finding.guaranteed_value, 59 - 50 / 0.885, 1e-4);
  EXPECT_EQ(result.finding.verdict, Verdict::Holds);
  for (const PowerPoint& point : result.points) {
    const double efficiency = point.load == 22.5 ? 0.86 : point.load == 4 ? 0.80 : 0.90;
    EXPECT_NEAR(point.reserve, 60 - point.load / efficiency, 1e-3);
  }
}

}  // namespace
}  // namespace cairn
