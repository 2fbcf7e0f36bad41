// What draws at most and at least, and the guaranteed reserve, against a slow obvious second way: every draw
// placed at random inside its bounds, the sum never outside.

#include <gtest/gtest.h>

#include <algorithm>
#include <random>

#include "constraints/power/bound_draws.h"
#include "constraints/power/power.h"

namespace cairn {
namespace {

Instant at(double seconds) { return Instant{} + *duration_from_seconds(seconds); }
EventTime around(double seconds, double slack) {
  return {at(seconds), at(seconds - slack), at(seconds + slack)};
}

double sum_at(const BoundDraws& draws, Instant time) {
  double sum = 0;
  for (const BoundDraw& draw : draws.draws()) {
    if (draw.begin <= time && time < draw.end) sum += draw.load;
  }
  return sum;
}

double heat_at(const BoundDraws& draws, Instant time, NodeId node) {
  double sum = 0;
  for (const BoundDraw& draw : draws.draws()) {
    if (!(draw.begin <= time && time < draw.end)) continue;
    for (const HeatShare& share : *draw.heat) {
      if (share.node == node) sum += share.share * draw.load;
    }
  }
  return sum;
}

// A part that goes from one state to the next is in one of them: the greater counts, not both.
TEST(BoundDraws, TheStatesOfAPartAreNeverAddedUp) {
  Timeline timeline;
  timeline.end = at(1000);
  const PartId part{0};
  const NodeId node{0};
  timeline.draws.push_back({around(0, 0), around(500, 2), {10, 9, 11}, {{node, 1}}, UnitId{0}, part, {}});
  timeline.draws.push_back({around(500, 2), around(900, 3), {6, 5, 7}, {{node, 0.5}}, UnitId{0}, part, {}});
  const BoundDraws high(timeline, Bound::High);
  const BoundDraws low(timeline, Bound::Low);
  EXPECT_EQ(sum_at(high, at(100)), 11);
  EXPECT_EQ(sum_at(low, at(100)), 9);
  EXPECT_EQ(sum_at(high, at(499)), 11);
  EXPECT_EQ(sum_at(low, at(499)), 5);
  EXPECT_DOUBLE_EQ(heat_at(high, at(499), node), 11);
  EXPECT_DOUBLE_EQ(heat_at(low, at(499), node), 2.5);
  EXPECT_EQ(sum_at(high, at(503)), 7);
  EXPECT_EQ(sum_at(low, at(503)), 5);
  EXPECT_EQ(sum_at(high, at(899)), 7);
  EXPECT_EQ(sum_at(low, at(899)), 0) << "it may be over";
  EXPECT_EQ(sum_at(high, at(904)), 0);
}

TEST(BoundDraws, APulseMayBeLonger) {
  Timeline timeline;
  timeline.end = at(1000);
  timeline.draws.push_back({around(100, 1), around(110, 2), {4, 3, 5}, {}, UnitId{0}, {}, {}});
  const BoundDraws high(timeline, Bound::High);
  const BoundDraws low(timeline, Bound::Low);
  EXPECT_EQ(sum_at(high, at(99.5)), 5);
  EXPECT_EQ(sum_at(high, at(111.5)), 5);
  EXPECT_EQ(sum_at(low, at(100.5)), 0);
  EXPECT_EQ(sum_at(low, at(105)), 3);
  EXPECT_EQ(sum_at(low, at(109)), 0);
}

// Rows of states with uncertain changes, sampled.
TEST(BoundDraws, NoSampleLeavesThem) {
  std::mt19937 random(5);
  const auto uniform = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  for (int round = 0; round < 60; ++round) {
    Timeline timeline;
    timeline.end = at(1000);
    const auto parts = static_cast<std::uint32_t>(1 + random() % 4);
    std::vector<std::vector<Draw>> rows(parts);
    for (std::uint32_t p = 0; p < parts; ++p) {
      double time = 0;
      double slack = 0;
      while (time < 1000) {
        double next = time + uniform(20, 300);
        if (next > 970) next = 1000;
        const double next_slack = next >= 1000 ? 0 : uniform(0, 9);
        const double watts = uniform(0, 20);
        rows[p].push_back({around(time, slack),
                           around(next, next_slack),
                           {watts, watts * 0.9, watts * 1.1},
                           {},
                           UnitId{p},
                           PartId{p},
                           {}});
        // Some states draw nothing and are no draws.
        if (random() % 4 != 0)
          timeline.draws.push_back(rows[p].back());
        else
          rows[p].back().load = {};
        time = next;
        slack = next_slack;
      }
    }
    std::stable_sort(timeline.draws.begin(), timeline.draws.end(),
                     [](const Draw& a, const Draw& b) { return a.begin.nominal < b.begin.nominal; });
    const BoundDraws high(timeline, Bound::High);
    const BoundDraws low(timeline, Bound::Low);
    for (int sample = 0; sample < 50; ++sample) {
      // When each row's changes happen: any instant of their bounds, shared by the states on both sides.
      std::vector<std::vector<double>> changes(parts);
      std::vector<std::vector<double>> loads(parts);
      for (std::uint32_t p = 0; p < parts; ++p) {
        for (const Draw& draw : rows[p]) {
          changes[p].push_back(uniform((draw.end.earliest - Instant{}).seconds(),
                                       (draw.end.latest - Instant{}).seconds() + 1e-9));
          loads[p].push_back(uniform(draw.load.low, draw.load.high + 1e-12));
        }
      }
      for (int look = 0; look < 40; ++look) {
        const double time = uniform(0, 999.9);
        double sum = 0;
        for (std::uint32_t p = 0; p < parts; ++p) {
          std::size_t i = 0;
          while (i + 1 < changes[p].size() && changes[p][i] <= time) ++i;
          sum += loads[p][i];
        }
        ASSERT_LE(sum, sum_at(high, at(time)) + 1e-9);
        ASSERT_GE(sum, sum_at(low, at(time)) - 1e-9);
      }
    }
  }
}

Station small_station() {
  Station station;
  IsotopeSource source;
  source.power = {50, 49, 51};
  source.half_life = 87.7 * seconds_per_year;
  source.ageing_per_year = Bounded::exactly(0);
  station.power.sources.push_back(source);
  station.power.converter_efficiency = {0.9, 0.8, 0.95};
  station.power.reserve_floor = 4;
  station.units.add({"box", "", {}, no_origin});
  return station;
}

TEST(GuaranteedReserve, CountsEveryBoundAgainstIt) {
  const Station station = small_station();
  Timeline timeline;
  timeline.end = at(1000);
  timeline.draws.push_back({around(100, 1), around(200, 1), {27, 26, 30}, {}, UnitId{0}, {}, {}});
  const std::vector<HeaterInterval> none;
  const PowerResult result = check_power(station, timeline, none, &none);
  EXPECT_EQ(result.finding.assurance, Assurance::Guaranteed);
  EXPECT_EQ(result.finding.verdict, Verdict::Holds);
  ASSERT_TRUE(result.finding.has_guaranteed);
  EXPECT_NEAR(result.finding.margin, 50 - 27 / 0.9 - 4, 1e-4);
  EXPECT_NEAR(result.finding.guaranteed_margin, 49 - 30 / 0.8 - 4, 1e-4);
  // The worst has the draw on from its earliest begin to its latest end.
  Instant from = timeline.end;
  Instant to = timeline.begin;
  for (const ReservePoint& point : result.guaranteed) {
    if (point.load != 30) continue;
    from = std::min(from, point.time);
    to = std::max(to, point.time);
  }
  EXPECT_EQ(from, at(99));
  EXPECT_EQ(to, at(201));
}

TEST(GuaranteedReserve, IsUnprovenWhereOnlyTheNominalOneHolds) {
  Station station = small_station();
  station.thermal.nodes.add({});
  Heater heater;
  heater.power = {5, 4, 6};
  const HeaterId id = station.thermal.heaters.add(heater);
  Timeline timeline;
  timeline.end = at(1000);
  timeline.draws.push_back({around(100, 0), around(900, 0), {27, 26, 30}, {}, UnitId{0}, {}, {}});
  const std::vector<HeaterInterval> on;
  const std::vector<HeaterInterval> may_be_on{{id, at(400), at(500)}};
  const PowerResult result = check_power(station, timeline, on, &may_be_on);
  EXPECT_EQ(result.finding.verdict, Verdict::Unproven);
  EXPECT_NEAR(result.finding.guaranteed_margin, 49 - 36 / 0.8 - 4, 1e-4);
  EXPECT_EQ(result.finding.interval_begin, at(400));
  EXPECT_EQ(result.finding.interval_end, at(500));
  EXPECT_NEAR(result.finding.margin, 16, 1e-4);
}

}  // namespace
}  // namespace cairn
