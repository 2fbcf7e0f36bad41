// The list and the verdicts as people read them.

#include "compiler/plan/text_list.h"

#include <gmock/gmock.h>

#include "tests/plan/made_plan.h"

namespace cairn::test {
namespace {

using ::testing::HasSubstr;

PlanDocument two_commands() {
  PlanDocument plan;
  plan.load = "elder-7-day";
  plan.station = "elder";
  plan.title = "Elder post, Tarn Ridge";
  plan.begin = "2031-05-14T00:00:00Z";
  plan.end = "2031-05-15T00:00:00Z";
  plan.verdict = "holds";
  plan.notes = {"Follows elder-6-day."};
  plan.cautions = {"Radio transmission follows the local licence."};
  PlanWindow window;
  window.name = "west-dish 1";
  window.opens = "2031-05-14T04:00:00Z";
  window.closes = "2031-05-14T05:00:00Z";
  window.file = "uplink/01-west-dish.bin";
  window.bytes = 82;
  window.commands = {1};
  plan.windows = {window};
  PlanCommand first;
  first.number = 1;
  first.time = "2031-05-14T06:00:00Z";
  first.unit = "camera";
  first.name = "cover";
  first.command_number = 24;
  first.command_class = "caution";
  first.arguments = {{"position", "open", ""}};
  first.block = "picture";
  first.source = "loads/day.cairn:4";
  first.notes = {"a façade"};
  first.window = 1;
  PlanCommand second = first;
  second.number = 2;
  second.time = "2031-05-14T06:00:20.5Z";
  second.name = "off";
  second.command_number = 120;
  second.command_class = "routine";
  second.arguments.clear();
  second.window.reset();
  plan.commands = {first, second};
  return plan;
}

TEST(TextList, OneRowACommand) {
  EXPECT_EQ(text_list(two_commands()),
            R"(load elder-7-day for elder (Elder post, Tarn Ridge)
2031-05-14T00:00:00Z to 2031-05-15T00:00:00Z
verdict: holds
note: Follows elder-6-day.

! Radio transmission follows the local licence.

no.  executes (UTC)          number  command                     class    window       block    source
  1  2031-05-14T06:00:00Z        24  camera.cover position=open  caution  west-dish 1  picture  loads/day.cairn:4
  2  2031-05-14T06:00:20.5Z     120  camera.off                  routine  none         picture  loads/day.cairn:4

west-dish 1  2031-05-14T04:00:00Z to 2031-05-14T05:00:00Z  1 command, 82 bytes in uplink/01-west-dish.bin

note on 1 to 2: a façade
)");
}

TEST(VerdictTable, MarginsHaveUnits) {
  PlanDocument plan;
  PlanCheck heat{"heat/survival",        "box", "holds", "nominal", 12.3456, 283.15, 333.15, "K",
                 "2031-05-14T06:00:00Z", {},    ""};
  PlanCheck power{"power/reserve",        "bus", "fails", "guaranteed", -1.5, 2.5, 4, "W",
                  "2031-05-14T07:00:00Z", {1},   ""};
  PlanCheck modes{"modes/need",           "commands", "unproven", "nominal", {}, {}, {}, "",
                  "2031-05-14T08:00:00Z", {},         "why"};
  PlanCheck late{"table/late",           "loading", "holds", "nominal", 5400, 6000, 600, "s",
                 "2031-05-14T09:00:00Z", {},        ""};
  heat.guaranteed_margin = 9.25;
  power.guaranteed_margin = -4.0;
  plan.checks = {heat, power, modes, late};
  const std::string table = verdict_table(plan, false);
  EXPECT_EQ(
      table,
      R"(verdict   check          of                   margin  guaranteed       found      limit  when (UTC)
holds     heat/survival  box               +12.346 K     +9.25 K   10.0 degC  60.0 degC  2031-05-14T06:00:00Z
fails     power/reserve  bus                  -1.5 W        -4 W       2.5 W        4 W  2031-05-14T07:00:00Z
unproven  modes/need     commands (why)                                                  2031-05-14T08:00:00Z
holds     table/late     loading         +1 h 30 min              1 h 40 min     10 min  2031-05-14T09:00:00Z
)");
  const std::string painted = verdict_table(plan, true);
  EXPECT_THAT(painted, HasSubstr("\x1b[1;31mfails\x1b[0m     power/reserve"));
  std::string plain;
  for (std::size_t i = 0; i < painted.size(); ++i) {
    if (painted[i] == '\x1b') {
      i = painted.find('m', i);
    } else {
      plain += painted[i];
    }
  }
  EXPECT_EQ(plain, table);
}

}  // namespace
}  // namespace cairn::test
