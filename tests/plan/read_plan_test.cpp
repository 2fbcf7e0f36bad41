// Plans read back: what was written comes again, what is damaged is named.

#include "compiler/plan/read_plan.h"

#include <gmock/gmock.h>

#include <nlohmann/json.hpp>
#include <random>

#include "compiler/plan/text_list.h"
#include "tests/plan/made_plan.h"

namespace cairn::test {
namespace {

using nlohmann::json;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;

const MadePlan& day() {
  static const std::unique_ptr<MadePlan> made = make_plan();
  return *made;
}

std::expected<PlanEndState, std::string> end_state(const json& plan) {
  return read_end_state(plan.dump(), day().station.station, published_leap_seconds());
}

TEST(ReadPlan, GivesBackWhatWasWritten) {
  const auto plan = read_plan(day().text);
  ASSERT_TRUE(plan) << plan.error();
  EXPECT_EQ(plan->load, "elder-7-day");
  EXPECT_EQ(plan->verdict, "holds");
  ASSERT_EQ(plan->commands.size(), day().timeline.commands.size());
  EXPECT_EQ(plan->commands[5].arguments[0].value, "0.8 m");
  EXPECT_EQ(plan->commands[0].source, "loads/day.cairn:4");
  EXPECT_THAT(plan->commands[0].notes, ElementsAre("the cover <closes> & \"opens\""));
  ASSERT_TRUE(plan->commands[0].window);
  EXPECT_LE(*plan->commands[0].window, plan->windows.size());
}

TEST(ReadPlan, TheNextLoadStartsWhereThisOneEnds) {
  const auto end = end_state(json::parse(day().text));
  ASSERT_TRUE(end) << end.error();
  EXPECT_EQ(end->time, day().timeline.end);
  EXPECT_EQ(end->start.parts, day().results.end_state.parts);
  EXPECT_EQ(end->start.heaters_on, day().results.end_state.heaters_on);
  EXPECT_EQ(end->start.once_spent, day().results.end_state.once_spent);
  for (std::size_t i = 0; i < end->start.temperatures.size(); ++i) {
    EXPECT_NEAR(end->start.temperatures[i], day().results.end_state.temperatures[i], 1e-6);
  }
  // Its uncertainty goes on with it, rounded outwards to 1 mK.
  EXPECT_EQ(end->start.heaters_unsure, day().results.end_state.heaters_unsure);
  ASSERT_FALSE(day().results.end_state.lowest_temperatures.empty());
  for (std::size_t i = 0; i < end->start.temperatures.size(); ++i) {
    EXPECT_LE(end->start.lowest_temperatures[i], day().results.end_state.lowest_temperatures[i]);
    EXPECT_GE(end->start.highest_temperatures[i], day().results.end_state.highest_temperatures[i]);
    EXPECT_NEAR(end->start.lowest_temperatures[i], day().results.end_state.lowest_temperatures[i], 2e-3);
    EXPECT_NEAR(end->start.highest_temperatures[i], day().results.end_state.highest_temperatures[i], 2e-3);
  }
  EXPECT_EQ(end->sequence_count, day().staging.next_sequence_count);
  EXPECT_THAT(end->gaps, IsEmpty());
  EXPECT_EQ(end->uplink_end, day().staging.batches.back().end);
  // Everything that this load puts into the table is there for the next one to reckon with.
  ASSERT_EQ(end->carried.size(), day().timeline.commands.size());
  for (std::size_t i = 0; i < end->carried.size(); ++i) {
    EXPECT_EQ(end->carried[i].command, day().timeline.commands[i].command);
    EXPECT_EQ(end->carried[i].time, day().timeline.commands[i].time);
    EXPECT_EQ(end->carried[i].bytes, day().staging.commands[i].entry_bytes);
    EXPECT_EQ(end->carried[i].sequence_count, day().staging.commands[i].sequence_count);
    ASSERT_EQ(end->carried[i].arguments.size(), day().timeline.commands[i].arguments.size());
    for (std::size_t a = 0; a < end->carried[i].arguments.size(); ++a) {
      EXPECT_EQ(end->carried[i].arguments[a].raw, day().timeline.commands[i].arguments[a].raw);
    }
  }
}

constexpr const char* next_load = R"(load "elder-8-day" for elder {
  span 2031-05-15T00:00:00Z to 2031-05-16T00:00:00Z
  at 2031-05-15T06:00:00Z { bring camera to off }
}
)";

// What goes up while the load before is still in the table shares the table with it.
TEST(ReadPlan, EntriesOfTheLoadBeforeFillTheTable) {
  const auto next = make_plan(next_load, day().text, "2031-05-14T03:30:00Z");
  ASSERT_FALSE(next->text.empty()) << next->rendered();
  EXPECT_EQ(next->carried.size(), 10U);
  const json plan = json::parse(next->text);
  EXPECT_EQ(plan["carried"].size(), 10U);
  EXPECT_EQ(plan["carried"][0]["command"], "camera.cover");
  std::uint64_t most = 0;
  for (const json& point : plan["table"]["points"]) most = std::max(most, point[1].get<std::uint64_t>());
  EXPECT_EQ(most, 11U);
  EXPECT_EQ(plan["commands"][0]["sequence_count"], day().staging.next_sequence_count);
  // And is still known to the load after that.
  const auto after = end_state(plan);
  ASSERT_TRUE(after) << after.error();
  EXPECT_EQ(after->carried.size(), 11U);
}

TEST(ReadPlan, WhatRunsOnReceiptIsNoEntryOfTheTable) {
  const auto made = make_plan(R"(load "elder-8-now" for elder {
  span 2031-05-14T00:00:00Z to 2031-05-15T00:00:00Z
  mark pass = window west-dish 1 opens
  at pass + 20 min {
    send now probe.sample depth=0.8 m gain=3
  }
  at pass + 4 h {
    send probe.sample depth=0.4 m gain=1
  }
})");
  ASSERT_FALSE(made->text.empty()) << made->rendered();
  EXPECT_TRUE(made->differences.empty()) << made->differences.front();
  const json plan = json::parse(made->text);
  EXPECT_EQ(plan["commands"][0]["immediate"], true);
  EXPECT_EQ(plan["commands"][0]["entry_bytes"], 0);
  EXPECT_FALSE(plan["commands"][1].contains("immediate"));
  const json& carrier = plan["windows"][plan["commands"][0]["window"].get<std::size_t>() - 1];
  EXPECT_EQ(carrier["batch"]["immediate"], true);
  EXPECT_EQ(carrier["batch"]["commands"], json::array({1}));
  EXPECT_EQ(plan["commands"][0]["sent"], carrier["batch"]["begin"]);
  // The next load does not find it in the table, and a translation that stores it is found.
  const auto end = end_state(plan);
  ASSERT_TRUE(end) << end.error();
  ASSERT_EQ(end->carried.size(), 1U);
  EXPECT_EQ(end->carried[0].time, made->timeline.commands[1].time);
  made->staging.commands[0].aboard = made->staging.commands[0].aboard + seconds_to_duration(1);
  EXPECT_THAT(translation_check(made->station.station, made->timeline.commands, made->staging,
                                published_leap_seconds()),
              ElementsAre("command 1: it would be received, and run, at another time than listed"));
  made->staging.commands[0].aboard = made->timeline.commands[0].time;
  made->timeline.commands[0].immediate = false;
  EXPECT_THAT(translation_check(made->station.station, made->timeline.commands, made->staging,
                                published_leap_seconds()),
              ElementsAre("command 1: the bytes do not store it"));
}

struct Damage {
  const char* at;     // a JSON pointer
  const char* value;  // its new value; empty: removed
  const char* says;
};

void PrintTo(const Damage& damage, std::ostream* out) { *out << damage.at << " as " << damage.value; }

class DamagedPlan : public ::testing::TestWithParam<Damage> {};

TEST_P(DamagedPlan, IsNamed) {
  json plan = json::parse(day().text);
  const json::json_pointer at(GetParam().at);
  if (std::string_view(GetParam().value).empty()) {
    plan[at.parent_pointer()].erase(at.back());
  } else {
    plan[at] = json::parse(GetParam().value);
  }
  const auto document = read_plan(plan.dump());
  const auto end = end_state(plan);
  const std::string found = !document ? document.error() : !end ? end.error() : "nothing";
  EXPECT_THAT(found, HasSubstr(GetParam().says));
}

INSTANTIATE_TEST_SUITE_P(
    Members, DamagedPlan,
    ::testing::Values(
        Damage{"/format", "\"other\"", "format: this is no plan of Cairn's"},
        Damage{"/version", "2", "version: only version 1 is known"}, Damage{"/load", "", "load: missing"},
        Damage{"/load/name", "7", "load.name: expected text"},
        Damage{"/commands", "{}", "commands: expected a list, found object"},
        Damage{"/commands/2/time", "", "commands[2].time: missing"},
        Damage{"/commands/2/time", "null", "commands[2].time: expected text, found nothing"},
        Damage{"/commands/2/window", "77", "commands[2].window: there is no window of this number"},
        Damage{"/commands/2/window", "0", "commands[2].window"},
        Damage{"/commands/2/number", "-1", "commands[2].number: expected a whole number"},
        Damage{"/commands/2/number", "1.5", "commands[2].number: expected a whole number"},
        Damage{"/commands/0/arguments/0/raw", "256", "commands[0].arguments[0].raw: the argument has 8 bits"},
        Damage{"/commands/0/arguments/0/name", "\"place\"", "the command has no argument `place` here"},
        Damage{"/commands/0/arguments", "[]", "commands[0].arguments: the command has more arguments"},
        Damage{"/commands/0/name", "\"fold\"", "commands[0].name: the station has no command `camera.fold`"},
        Damage{"/commands/0/sequence_count", "16384", "expected a whole number from 0 to 16383"},
        Damage{"/load/station", "\"birch\"", "load.station: this plan is for `birch`, the load for `elder`"},
        Damage{"/end_state/time", "\"today\"", "end_state.time: expected an instant"},
        Damage{"/end_state/parts/camera", "\"asleep\"",
               "end_state.parts.camera: `camera` has no state `asleep`"},
        Damage{"/end_state/parts/mast", "\"up\"", "end_state.parts.mast: the station has no such part"},
        Damage{"/end_state/temperatures/box", "-3", "end_state.temperatures.box: no temperature in kelvin"},
        Damage{"/end_state/temperatures/hull", "280",
               "end_state.temperatures.hull: the station has no such node"},
        Damage{"/end_state/temperature_bounds/oven", "[200, 300]",
               "end_state.temperature_bounds.oven: the station has no such node"},
        Damage{"/end_state/heaters_unsure", "[\"spare\"]",
               "end_state.heaters_unsure[0]: the station has no such heater"},
        Damage{"/end_state/heaters_on", "[\"spare\"]",
               "end_state.heaters_on[0]: the station has no such heater"},
        Damage{"/end_state/once_spent", "[\"release.fly\"]",
               "end_state.once_spent[0]: the station has no command"}));

TEST(ReadPlan, WhatAnOlderPlanDoesNotNameIsSaid) {
  json plan = json::parse(day().text);
  plan["end_state"]["parts"].erase("camera.cover");
  plan["end_state"]["temperatures"].erase("plate");
  const auto end = end_state(plan);
  ASSERT_TRUE(end) << end.error();
  EXPECT_THAT(end->gaps,
              ElementsAre("the state of `camera.cover` is missing and counts as unknown",
                          "the temperature of `plate` is missing and is taken from the station file"));
  const Station& station = day().station.station;
  EXPECT_FALSE(end->start.parts[find_part(station, find_unit(station, "camera"), "cover").value].is_valid());
}

TEST(ReadPlan, TextThatIsNoPlan) {
  EXPECT_THAT(read_plan("").error(), HasSubstr("not JSON"));
  EXPECT_THAT(read_plan("[1,2").error(), HasSubstr("not JSON"));
  EXPECT_THAT(read_plan("null").error(), HasSubstr("the plan: expected an object"));
  EXPECT_THAT(read_plan("{\"a\":\xff}").error(), HasSubstr("not JSON"));
  EXPECT_THAT(read_plan(std::string(100'000, '[')).error(), HasSubstr("nested deeper than 64 levels"));
  EXPECT_THAT(read_plan(R"({"format":"cairn-plan","format":"cairn-plan"})").error(),
              HasSubstr("`format` is given twice"));
  EXPECT_THAT(read_plan(R"({"format":1e999})").error(), Not(IsEmpty()));
}

// Whatever is done to the octets, the reader answers.
TEST(ReadPlan, SurvivesDamagedOctets) {
  std::mt19937 random(20310514);
  for (int round = 0; round < 400; ++round) {
    std::string text = day().text;
    for (int i = 0; i < 3; ++i) text[random() % text.size()] = static_cast<char>(random() % 256);
    if (round % 3 == 0) text.resize(random() % text.size());
    const auto document = read_plan(text);
    if (!document) {
      EXPECT_THAT(document.error(), Not(IsEmpty()));
    } else {
      EXPECT_THAT(text_list(*document), Not(IsEmpty()));
      EXPECT_THAT(verdict_table(*document, true), Not(IsEmpty()));
    }
    if (const auto end = read_end_state(text, day().station.station, published_leap_seconds()); !end) {
      EXPECT_THAT(end.error(), Not(IsEmpty()));
    }
  }
}

}  // namespace
}  // namespace cairn::test
