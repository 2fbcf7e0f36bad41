// State graphs, needs and forbidden combinations, by hand and against sampling.

#include "constraints/modes/modes.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <random>

namespace cairn {
namespace {

Instant at(std::int64_t seconds) { return {seconds * nanoseconds_per_second}; }

// Two transmitters, each off or on, ten seconds of warming up; a camera that needs the first one off.
struct Post {
  Station station;
  CommandId on[2];
  CommandId off[2];
  CommandId expose;
  CommandId release;

  Post() {
    station.clock.tick = {0};
    const UnitId unit = station.units.add({"relay", "", {}, no_origin});
    for (int i = 0; i < 2; ++i) {
      const PartId part = station.parts.add({i == 0 ? "a" : "b", unit, {}, {}, no_origin});
      station.units[unit].parts.push_back(part);
      const StateId rest = station.states.add({"off", part, Bounded::exactly(0), {}, no_origin});
      const StateId high = station.states.add({"high", part, Bounded::exactly(9), {}, no_origin});
      station.parts[part].states = {rest, high};
      station.parts[part].initial = rest;
      CommandDefinition command;
      command.name = "on";
      command.unit = unit;
      command.moves = {{part, {rest}, high, Bounded{10, 8, 12}, {}, {}, no_origin}};
      on[i] = station.commands.add(command);
      command.name = "off";
      command.moves = {{part, {high}, rest, Bounded::exactly(0), {}, {}, no_origin}};
      off[i] = station.commands.add(command);
    }
    const StateCondition first{PartId{0}, {StateId{1}}, "relay.a is high", no_origin};
    const StateCondition second{PartId{1}, {StateId{3}}, "relay.b is high", no_origin};
    station.exclusions.push_back(
        {"one transmitter", ExclusionKind::AtMostOne, {first, second}, "", no_origin});
    CommandDefinition command;
    command.name = "expose";
    command.unit = unit;
    command.needs = {{PartId{0}, {StateId{0}}, "relay.a is off", no_origin}};
    expose = station.commands.add(command);
    command.name = "release";
    command.needs = {};
    command.once = true;
    release = station.commands.add(command);
  }

  [[nodiscard]] std::vector<Finding> check(std::vector<TimedCommand> commands) const {
    return check_modes(station,
                       predict(station, initial_state(station), at(0), at(1000), std::move(commands)));
  }
};

TEST(Modes, OneAfterTheOtherHoldsWithItsMargin) {
  const Post post;
  const auto findings =
      post.check({{at(100), post.on[0], {}}, {at(200), post.off[0], {}}, {at(230), post.on[1], {}}});
  ASSERT_EQ(findings.size(), 2U);
  EXPECT_EQ(findings[1].verdict, Verdict::Holds);
  EXPECT_DOUBLE_EQ(findings[1].margin, 30);
}

TEST(Modes, OverlapFailsAndNamesTheLaterCommand) {
  const Post post;
  const auto findings =
      post.check({{at(100), post.on[0], {}}, {at(150), post.on[1], {}}, {at(200), post.off[0], {}}});
  EXPECT_EQ(findings[1].verdict, Verdict::Fails);
  EXPECT_DOUBLE_EQ(findings[1].margin, -50);
  EXPECT_EQ(findings[1].cause, std::vector<TimedCommandId>{TimedCommandId{1}});
}

TEST(Modes, ClockUncertaintyCounts) {
  Post post;
  post.station.clock.tick = seconds_to_duration(2);  // half a tick either way
  const auto findings =
      post.check({{at(100), post.on[0], {}}, {at(200), post.off[0], {}}, {at(201), post.on[1], {}}});
  EXPECT_EQ(findings[1].verdict, Verdict::Fails) << "a second apart, a second of doubt on each side";
}

TEST(Modes, CommandsThatCannotRun) {
  const Post post;
  const auto code = [&](std::vector<TimedCommand> commands) {
    return post.check(std::move(commands))[0].code;
  };
  EXPECT_EQ(code({{at(10), post.expose, {}}, {at(20), post.on[0], {}}}), "modes/need");
  EXPECT_EQ(post.check({{at(10), post.expose, {}}})[0].verdict, Verdict::Holds);
  EXPECT_EQ(post.check({{at(10), post.on[0], {}}, {at(50), post.expose, {}}})[0].verdict, Verdict::Fails);
  EXPECT_EQ(code({{at(10), post.off[0], {}}}), "modes/no-move");
  EXPECT_EQ(code({{at(10), post.on[0], {}}, {at(15), post.off[0], {}}}), "modes/moving");
  EXPECT_EQ(code({{at(10), post.release, {}}, {at(15), post.release, {}}}), "modes/once");
}

// A second way: sample twice a second who is high or on the way; the verdict must agree.
// Not known is not nothing: the bus and every node get at most what some state gives them, and the bounds
// hold all states. By hand: 9 W, half of it into the first node; 4 W, all of it into the first; 2 W, all into
// the second.
TEST(Modes, AStateThatIsNotKnownMayDrawAsAnyOfThem) {
  Post post;
  Station& station = post.station;
  const PartId part = station.parts.add({"c", UnitId{0}, {}, {}, no_origin});
  const auto add = [&](const char* name, double load, std::vector<HeatShare> heat) {
    const StateId state =
        station.states.add({name, part, Bounded::exactly(load), std::move(heat), no_origin});
    station.parts[part].states.push_back(state);
    return state;
  };
  add("bright", 9, {{NodeId{0}, 0.5}});
  const StateId dim = add("dim", 4, {{NodeId{0}, 1.0}});
  add("idle", 2, {{NodeId{1}, 1.0}});
  CommandDefinition command;
  command.name = "dim";
  command.unit = UnitId{0};
  command.moves = {{part, {}, dim, Bounded::exactly(10), {}, {}, no_origin}};
  const CommandId to_dim = station.commands.add(command);
  const Timeline timeline =
      predict(station, initial_state(station), at(0), at(1000), {{at(500), to_dim, {}, false}});
  ASSERT_EQ(timeline.draws.size(), 3U);
  const Draw& unknown = timeline.draws[0];
  EXPECT_EQ(unknown.end.nominal, at(500));
  EXPECT_EQ(unknown.load.nominal, 9);
  EXPECT_EQ(unknown.load.low, 0);
  EXPECT_EQ(unknown.load.high, 9);
  ASSERT_EQ(unknown.heat.size(), 2U);
  EXPECT_DOUBLE_EQ(unknown.heat[0].share * unknown.load.high, 4.5);
  EXPECT_DOUBLE_EQ(unknown.heat[1].share * unknown.load.high, 2.0);
  const Draw& moving = timeline.draws[1];
  EXPECT_EQ(moving.end.nominal, at(510));
  // From bright the heat of the greater load stays where it is, from idle it is that of dim.
  EXPECT_EQ(moving.load.low, 0);
  EXPECT_EQ(moving.load.high, 9);
  ASSERT_EQ(moving.heat.size(), 2U);
  EXPECT_DOUBLE_EQ(moving.heat[0].share * moving.load.high, 4.5);
  EXPECT_DOUBLE_EQ(moving.heat[1].share * moving.load.high, 2.0);
  EXPECT_EQ(timeline.draws[2].load.high, 4);
}

TEST(Modes, RandomLoadsAgreeWithSampling) {
  const Post post;
  std::mt19937 random(5);
  int failing = 0;
  for (int round = 0; round < 300; ++round) {
    std::vector<TimedCommand> commands;
    for (int i = 0; i < 8; ++i) {
      const int which = static_cast<int>(random() % 4);
      commands.push_back({at(1 + static_cast<std::int64_t>(random() % 980)),
                          which < 2 ? post.on[which] : post.off[which - 2],
                          {}});
    }
    std::sort(commands.begin(), commands.end(),
              [](const TimedCommand& a, const TimedCommand& b) { return a.time < b.time; });
    const Timeline timeline = predict(post.station, initial_state(post.station), at(0), at(1000), commands);
    bool meets = false;
    for (std::int64_t half = 0; half < 2000; ++half) {
      const Instant time{half * nanoseconds_per_second / 2 + 1};
      int high = 0;
      for (std::uint32_t part = 0; part < 2; ++part) {
        const Occupation* row = occupation_at(timeline, PartId{part}, time);
        ASSERT_NE(row, nullptr);
        const StateId state{part * 2 + 1};
        high += row->state == state || row->moving_to == state ? 1 : 0;
      }
      meets = meets || high == 2;
    }
    const auto findings = check_modes(post.station, timeline);
    EXPECT_EQ(findings.back().verdict == Verdict::Fails, meets);
    failing += meets ? 1 : 0;

    // Occupations of a part are gapless, from begin to end.
    for (const auto& rows : timeline.occupations) {
      EXPECT_EQ(rows.front().begin.nominal, timeline.begin);
      EXPECT_EQ(rows.back().end.nominal, timeline.end);
      for (std::size_t i = 1; i < rows.size(); ++i) EXPECT_EQ(rows[i].begin.nominal, rows[i - 1].end.nominal);
    }
  }
  EXPECT_GT(failing, 20);
  EXPECT_LT(failing, 280);
}

}  // namespace
}  // namespace cairn
