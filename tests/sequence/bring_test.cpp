// `bring` against an independent search: on random state graphs every simple path is tried.

#include "compiler/sequence/bring.h"

#include <gtest/gtest.h>

#include <random>

#include "tests/sequence/small_station.h"

namespace cairn::test {
namespace {

struct Edge {
  std::size_t from;
  std::size_t to;
  std::int64_t seconds;
};

using Rank = std::tuple<std::int64_t, std::size_t, std::vector<std::uint32_t>>;

void search(const std::vector<Edge>& edges, std::size_t at, std::size_t goal, std::vector<bool>& seen,
            Rank& path, std::optional<Rank>& best) {
  if (at == goal) {
    if (!best || path < *best) best = path;
    return;
  }
  seen[at] = true;
  for (std::uint32_t i = 0; i < edges.size(); ++i) {
    if (edges[i].from != at || seen[edges[i].to]) continue;
    std::get<0>(path) += edges[i].seconds;
    ++std::get<1>(path);
    std::get<2>(path).push_back(i);
    search(edges, edges[i].to, goal, seen, path, best);
    std::get<2>(path).pop_back();
    --std::get<1>(path);
    std::get<0>(path) -= edges[i].seconds;
  }
  seen[at] = false;
}

TEST(BringPlan, EqualsExhaustiveSearch) {
  std::mt19937 random(20310514);
  const auto draw = [&random](std::size_t below) { return static_cast<std::size_t>(random() % below); };
  int found = 0;
  int absent = 0;
  for (int round = 0; round < 3000; ++round) {
    const std::size_t states = 2 + draw(5);
    StationBuilder builder;
    const UnitId unit = builder.unit("box");
    std::vector<std::string> names;
    for (std::size_t i = 0; i < states; ++i) names.push_back("s" + std::to_string(i));
    const PartId part = builder.part(unit, "", names, 0);
    std::vector<Edge> edges;
    const std::size_t count = 1 + draw(2 * states);
    for (std::size_t i = 0; i < count; ++i) {
      const Edge edge{draw(states), draw(states), static_cast<std::int64_t>(draw(4))};
      const auto busy = static_cast<std::int64_t>(draw(3));
      const CommandId id = builder.command(unit, "c" + std::to_string(i), seconds_to_duration(busy));
      builder.station.commands[id].moves.push_back(move(part, {builder.state(part, edge.from)},
                                                        builder.state(part, edge.to),
                                                        static_cast<double>(edge.seconds)));
      edges.push_back({edge.from, edge.to, std::max(edge.seconds, busy)});
    }
    const std::size_t goal = draw(states);
    const Instant now{1'000'000'000'000'000'000};
    const StateTracker tracker(builder.station, initial_state(builder.station));
    const BringPlan plan = plan_bring(builder.station, tracker, part, builder.state(part, goal), now);

    std::vector<bool> seen(states, false);
    Rank path{0, 0, {}};
    std::optional<Rank> best;
    search(edges, 0, goal, seen, path, best);
    ASSERT_EQ(plan.found, best.has_value()) << "round " << round;
    if (!best) {
      ++absent;
      continue;
    }
    ++found;
    EXPECT_EQ(plan.ends - now, seconds_to_duration(std::get<0>(*best))) << "round " << round;
    std::vector<std::uint32_t> commands;
    for (const BringStep& step : plan.steps) commands.push_back(step.command.command.value);
    EXPECT_EQ(commands, std::get<2>(*best)) << "round " << round;
  }
  EXPECT_GT(found, 500);
  EXPECT_GT(absent, 500);
}

// With needs of other parts: a path may only use commands whose needs are met, and the `bring`s that are
// offered make it possible. The shortest path is computed by relaxation (Bellman 1958, Ford 1956), which
// shares no code.
TEST(BringPlan, NeedsOfOtherPartsAndWhatIsOffered) {
  std::mt19937 random(4711);
  const auto draw = [&random](std::size_t below) { return static_cast<std::size_t>(random() % below); };
  int offered = 0;
  int found = 0;
  for (int round = 0; round < 2000; ++round) {
    const std::size_t states = 2 + draw(4);
    StationBuilder builder;
    const UnitId unit = builder.unit("box");
    const UnitId other = builder.unit("gate");
    std::vector<std::string> names;
    for (std::size_t i = 0; i < states; ++i) names.push_back("s" + std::to_string(i));
    const PartId part = builder.part(unit, "", names, 0);
    const PartId gate = builder.part(other, "", {"shut", "wide"}, 0);
    const CommandId widen = builder.command(other, "widen", {});
    builder.station.commands[widen].moves.push_back(
        move(gate, {builder.state(gate, 0)}, builder.state(gate, 1), 7));
    struct Guarded {
      Edge edge;
      bool needs_wide;
    };
    std::vector<Guarded> edges;
    const std::size_t count = 1 + draw(2 * states);
    for (std::size_t i = 0; i < count; ++i) {
      const Guarded made{{draw(states), draw(states), static_cast<std::int64_t>(1 + draw(9))}, draw(3) == 0};
      const CommandId id = builder.command(unit, "c" + std::to_string(i), {});
      builder.station.commands[id].moves.push_back(move(part, {builder.state(part, made.edge.from)},
                                                        builder.state(part, made.edge.to),
                                                        static_cast<double>(made.edge.seconds)));
      if (made.needs_wide) {
        StateCondition need;
        need.part = gate;
        need.states = {builder.state(gate, 1)};
        need.text = "gate is wide";
        builder.station.commands[id].needs.push_back(need);
      }
      edges.push_back(made);
    }
    const std::size_t goal = draw(states);
    const auto shortest = [&](bool wide) {
      std::vector<std::int64_t> best(states, INT64_MAX);
      best[0] = 0;
      for (std::size_t pass = 0; pass < states; ++pass) {
        for (const Guarded& one : edges) {
          if (best[one.edge.from] == INT64_MAX || (one.needs_wide && !wide)) continue;
          best[one.edge.to] = std::min(best[one.edge.to], best[one.edge.from] + one.edge.seconds);
        }
      }
      return best[goal];
    };
    const Instant now{1'000'000'000'000'000'000};
    const StateTracker tracker(builder.station, initial_state(builder.station));
    const BringPlan plan = plan_bring(builder.station, tracker, part, builder.state(part, goal), now);
    ASSERT_EQ(plan.found, shortest(false) != INT64_MAX) << round;
    const auto before = brings_before(builder.station, tracker, part, builder.state(part, goal), now);
    if (plan.found) {
      ++found;
      EXPECT_EQ(plan.ends - now, seconds_to_duration(shortest(false))) << round;
      continue;
    }
    ASSERT_EQ(before.size(), shortest(true) == INT64_MAX ? 0U : 1U) << round;
    if (before.empty()) continue;
    ++offered;
    EXPECT_EQ(before[0].part, gate);
    StateTracker after = tracker;
    const BringPlan first = plan_bring(builder.station, after, gate, before[0].state, now);
    ASSERT_TRUE(first.found);
    for (const BringStep& step : first.steps) after.apply(TimedCommandId{}, step.command);
    const BringPlan then = plan_bring(builder.station, after, part, builder.state(part, goal), first.ends);
    ASSERT_TRUE(then.found);
    EXPECT_EQ(then.ends - first.ends, seconds_to_duration(shortest(true))) << round;
  }
  EXPECT_GT(found, 300);
  EXPECT_GT(offered, 100);
}

// However far the clock may have drifted since it was compared last, it drifts for both commands alike.
TEST(BringPlan, WaitsForAMoveUnderWay) {
  StationBuilder builder;
  const UnitId unit = builder.unit("box");
  const PartId part = builder.part(unit, "", {"a", "b", "c"}, 0);
  const auto step = [&](const char* name, std::size_t from, std::size_t to) {
    const CommandId id = builder.command(unit, name, {});
    Move made = move(part, {builder.state(part, from)}, builder.state(part, to), 30);
    made.takes.low = 28;
    made.takes.high = 32;
    builder.station.commands[id].moves.push_back(made);
    return id;
  };
  const CommandId first = step("first", 0, 1);
  step("second", 1, 2);
  const Instant begin{1'000'000'000'000'000'000};
  builder.station.clock.rate_error = 1e-4;
  builder.station.clock.last_correlation = begin - seconds_to_duration(30 * 86'400);
  StateTracker tracker(builder.station, initial_state(builder.station));
  ASSERT_TRUE(tracker.apply(TimedCommandId{}, {begin, first, {}}).empty());
  const BringPlan plan =
      plan_bring(builder.station, tracker, part, builder.state(part, 2), begin + seconds_to_duration(5));
  ASSERT_TRUE(plan.found);
  ASSERT_EQ(plan.steps.size(), 1U);
  EXPECT_EQ(plan.steps[0].command.time - begin, seconds_to_duration(32));
}

TEST(BringPlan, Ticks) {
  const Duration tick{1'000'000};
  EXPECT_EQ(ceil_to_tick({1'000'001}, tick).tai_nanoseconds, 2'000'000);
  EXPECT_EQ(ceil_to_tick({1'000'000}, tick).tai_nanoseconds, 1'000'000);
  EXPECT_EQ(round_to_tick({1'499'999}, tick).tai_nanoseconds, 1'000'000);
  EXPECT_EQ(round_to_tick({1'500'000}, tick).tai_nanoseconds, 2'000'000);
}

}  // namespace
}  // namespace cairn::test
