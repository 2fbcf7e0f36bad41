// Safe commanding by hand-worked times, and two-step commands against the definition spelt out on random
// rows.

#include "constraints/commanding/commanding.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <random>

namespace cairn {
namespace {

using ::testing::ElementsAre;
using ::testing::IsEmpty;

Instant at(std::int64_t seconds) { return {(2'300'000'000 + seconds) * nanoseconds_per_second}; }

struct Case {
  Station station;
  CommandId arm, act, disarm, other;
  Timeline timeline;
  std::vector<CarriedEntry> carried;
  std::vector<NamedInstant> marks;
  std::optional<Instant> last_uplink;

  Case() {
    station.clock.tick = {2};
    const UnitId unit = station.units.add({"box", "", {}, no_origin});
    const auto add = [&](const char* name, std::uint16_t number) {
      CommandDefinition command;
      command.name = name;
      command.unit = unit;
      command.number = number;
      return station.commands.add(command);
    };
    arm = add("arm", 1);
    act = add("act", 2);
    disarm = add("disarm", 3);
    other = add("other", 4);
    timeline.begin = at(0);
    timeline.end = at(10'000);
  }
  void sends(CommandId command, std::int64_t seconds) {
    timeline.commands.push_back({at(seconds), command, {}});
  }
  [[nodiscard]] std::vector<Finding> findings() const {
    return check_commanding({&station, &timeline, &carried, &marks, last_uplink});
  }
  [[nodiscard]] std::vector<std::string> failing() const {
    std::vector<std::string> codes;
    for (const Finding& finding : findings()) {
      if (finding.verdict == Verdict::Fails) codes.emplace_back(finding.code);
    }
    return codes;
  }
};

Case two_step() {
  Case made;
  made.station.commands[made.act].two_step = TwoStep{made.arm, seconds_to_duration(60), made.disarm};
  return made;
}

TEST(TwoStep, ArmedInTimeHolds) {
  Case made = two_step();
  made.sends(made.arm, 100);
  made.sends(made.act, 150);
  const std::vector<Finding> findings = made.findings();
  ASSERT_EQ(findings.size(), 1U);
  EXPECT_EQ(findings[0].verdict, Verdict::Holds);
  EXPECT_DOUBLE_EQ(findings[0].value, 50);
  // 60 s less 50 s, and half a tick of 2 ns for each of the two.
  EXPECT_EQ(findings[0].margin, Duration{10 * nanoseconds_per_second - 2}.seconds());
}

TEST(TwoStep, EachFaultIsTold) {
  Case never = two_step();
  never.sends(never.act, 150);
  EXPECT_THAT(never.failing(), ElementsAre("commanding/not-armed"));

  Case late = two_step();
  late.sends(late.arm, 100);
  late.sends(late.act, 160);  // to the second, but not to the tick
  EXPECT_THAT(late.failing(), ElementsAre("commanding/not-armed"));
  EXPECT_THAT(late.findings()[0].cause, ElementsAre(TimedCommandId{1}));

  Case taken_back = two_step();
  taken_back.sends(taken_back.arm, 100);
  taken_back.sends(taken_back.disarm, 110);
  taken_back.sends(taken_back.act, 120);
  EXPECT_THAT(taken_back.failing(), ElementsAre("commanding/not-armed"));

  Case left = two_step();
  left.sends(left.arm, 100);
  left.sends(left.other, 120);
  EXPECT_THAT(left.failing(), ElementsAre("commanding/left-armed"));
  left.sends(left.disarm, 130);
  EXPECT_THAT(left.failing(), IsEmpty());

  Case at_the_end = two_step();
  at_the_end.sends(at_the_end.arm, 9'990);
  EXPECT_THAT(at_the_end.failing(), IsEmpty()) << "the next load may still act or disarm";
}

TEST(TwoStep, EntriesOfEarlierLoadsCount) {
  Case made = two_step();
  made.carried.push_back({made.arm, {}, at(80), 20, 1});
  made.sends(made.act, 100);
  EXPECT_THAT(made.failing(), IsEmpty());
}

// By the definition: for each act an arm at most 60 s before with no disarm between; for each arm, within 60
// s, an act, a disarm or another arm.
TEST(TwoStep, AgreesWithTheDefinitionOnRandomRows) {
  std::mt19937 random(12);
  std::size_t faults = 0;
  for (int round = 0; round < 5000; ++round) {
    Case made = two_step();
    std::int64_t time = 0;
    std::vector<std::pair<std::int64_t, CommandId>> row;
    for (std::size_t i = random() % 8; i > 0; --i) {
      time += 1 + static_cast<std::int64_t>(random() % 50);
      const CommandId kinds[] = {made.arm, made.act, made.disarm, made.other};
      row.emplace_back(time, kinds[random() % 4]);
      made.sends(row.back().second, time);
    }
    std::size_t wrong = 0;
    for (std::size_t i = 0; i < row.size(); ++i) {
      if (row[i].second == made.act) {
        bool armed = false;
        for (std::size_t k = 0; k < i; ++k) {
          if (row[k].second == made.arm && row[i].first - row[k].first < 60) armed = true;
          if (row[k].second == made.disarm) armed = false;
        }
        wrong += armed ? 0U : 1U;
      }
      if (row[i].second == made.arm) {
        bool answered = false;
        for (std::size_t k = i + 1; k < row.size(); ++k) {
          answered = answered || (row[k].second != made.other && row[k].first - row[i].first <= 60);
          if (row[k].second != made.other) break;
        }
        wrong += answered ? 0U : 1U;
      }
    }
    EXPECT_EQ(made.failing().size(), wrong) << round;
    faults += wrong;
  }
  EXPECT_GT(faults, 1000U);
}

TEST(Window, OnlyWhileOneIsOpen) {
  Case made;
  made.station.commands[made.act].only_in_window = true;
  const AntennaId antenna = made.station.antennas.add({"dish", no_origin});
  made.station.windows.add({antenna, at(100), at(200), no_origin});
  made.station.windows.add({antenna, at(300), at(400), no_origin});
  made.sends(made.act, 110);
  made.sends(made.act, 350);
  const std::vector<Finding> good = made.findings();
  ASSERT_EQ(good.size(), 1U);
  EXPECT_NEAR(good[0].margin, 10, 1e-6);
  made.sends(made.act, 401);
  EXPECT_THAT(made.failing(), ElementsAre("commanding/no-window"));
  Case without;
  without.station.commands[without.act].only_in_window = true;
  without.sends(without.act, 5);
  EXPECT_THAT(without.failing(), ElementsAre("commanding/no-window"));
}

TEST(Inhibits, AroundWindowsMarksAndEvents) {
  for (const InhibitKind kind : {InhibitKind::Windows, InhibitKind::Mark, InhibitKind::Event}) {
    Case made;
    const AntennaId antenna = made.station.antennas.add({"dish", no_origin});
    if (kind == InhibitKind::Windows) made.station.windows.add({antenna, at(1000), at(1000), no_origin});
    if (kind == InhibitKind::Mark) made.marks = {{"sunset", at(1000)}, {"sunrise", at(500)}};
    if (kind == InhibitKind::Event) made.station.events = {{"landing", at(1000), no_origin}};
    Inhibit inhibit;
    inhibit.kind = kind;
    inhibit.target = kind == InhibitKind::Mark ? "sunset" : kind == InhibitKind::Event ? "landing" : "";
    inhibit.before = seconds_to_duration(10);
    inhibit.after = seconds_to_duration(20);
    inhibit.commands = {made.act};
    made.station.inhibits = {inhibit};
    made.sends(made.act, 980);
    made.sends(made.other, 1000);
    made.sends(made.act, 1030);
    EXPECT_THAT(made.failing(), IsEmpty());
    ASSERT_EQ(made.findings().size(), 1U);
    EXPECT_NEAR(made.findings()[0].margin, 10, 1e-6);
    made.sends(made.act, 1020);
    EXPECT_THAT(made.failing(), ElementsAre("commanding/inhibited")) << "the end itself, by half a tick";
    made.timeline.commands.pop_back();
    made.carried.push_back({made.act, {}, at(991), 20, 1});
    EXPECT_THAT(made.failing(), ElementsAre("commanding/inhibited"));
  }
}

TEST(LastResort, IsWhatRunsLastAndNotTooSoon) {
  Case made;
  made.station.last_resort = LastResort{seconds_to_duration(1000), {made.arm, made.other}, no_origin};
  made.last_uplink = at(100);
  EXPECT_THAT(made.failing(), ElementsAre("commanding/last-resort"));
  made.sends(made.act, 500);
  made.carried.push_back({made.arm, {}, at(1100), 20, 1});
  made.carried.push_back({made.other, {}, at(20'000), 20, 3});
  EXPECT_THAT(made.failing(), IsEmpty());
  EXPECT_EQ(made.findings()[0].margin, 0);
  made.last_uplink = at(101);
  EXPECT_THAT(made.failing(), ElementsAre("commanding/last-resort"));
  made.last_uplink = at(100);
  made.sends(made.act, 5000);
  EXPECT_THAT(made.failing(), ElementsAre("commanding/last-resort")) << "something stands between";
}

}  // namespace
}  // namespace cairn
