// What the sentences of rules become: by the whole road from text to the rule book, and what cannot be asked.

#include <gmock/gmock.h>

#include "tests/sequence/small_station.h"

namespace cairn::test {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;

std::vector<RuleOperator> operators_of(const std::string& sentence) {
  const Outcome outcome = compile_body("  require " + sentence);
  std::vector<RuleOperator> kinds;
  EXPECT_TRUE(outcome.load.has_value()) << sentence << "\n" << outcome.text;
  if (!outcome.load) return kinds;
  const RuleBook& book = outcome.load->rules;
  EXPECT_FALSE(fault(book).has_value()) << sentence;
  if (book.rules.size() != 1) return kinds;
  // From the condition down, the left operand first.
  std::vector<RuleNodeId> open{book.rules[RuleId{0}].condition};
  while (!open.empty()) {
    const RuleNode& node = book.nodes[open.back()];
    open.pop_back();
    kinds.push_back(node.kind);
    if (node.b.is_valid()) open.push_back(node.b);
    if (node.a.is_valid()) open.push_back(node.a);
  }
  return kinds;
}

TEST(Sentences, EachFormHasItsOperator) {
  using enum RuleOperator;
  EXPECT_THAT(operators_of("power.reserve >= 6 W"), ElementsAre(AtLeast, Predicted));
  EXPECT_THAT(operators_of("6 W < power.reserve"), ElementsAre(MoreThan, Predicted));
  EXPECT_THAT(operators_of("camera is off or standby"), ElementsAre(Or, Spells, Spells));
  EXPECT_THAT(operators_of("camera is not in [off, standby]"), ElementsAre(Not, Spells));
  EXPECT_THAT(operators_of("camera is moving"), ElementsAre(Spells));
  EXPECT_THAT(operators_of("never camera is imaging while camera.cover is closed"),
              ElementsAre(Or, Not, Spells, Not, Spells));
  EXPECT_THAT(operators_of("camera is imaging lasts no more than 5 min"), ElementsAre(LastsAtMost, Spells));
  EXPECT_THAT(operators_of("camera is imaging lasts no less than 5 min"), ElementsAre(LastsAtLeast, Spells));
  EXPECT_THAT(operators_of("command probe.ping apart by 5 s"), ElementsAre(Apart, Events, Events));
  EXPECT_THAT(operators_of("command probe.ping and camera is imaging apart by 5 s"),
              ElementsAre(Apart, Events, Spells));
  EXPECT_THAT(operators_of("command probe.ping only inside window west-dish"),
              ElementsAre(OnlyInside, Events, Spells));
  EXPECT_THAT(operators_of("command probe.ping only while window west-dish 1"),
              ElementsAre(OnlyInside, Events, Spells));
  EXPECT_THAT(operators_of("camera is imaging only outside window west-dish"),
              ElementsAre(NeverInside, Spells, Spells));
  EXPECT_THAT(operators_of("command probe.ping only between 2031-05-14T06:00:00Z and 2031-05-14T07:00:00Z"),
              ElementsAre(OnlyInside, Events, Spells));
  EXPECT_THAT(operators_of("command probe.ping only before command camera.image"),
              ElementsAre(NeverAfter, Events, Events));
  EXPECT_THAT(operators_of("command camera.image only after 5 s of camera.cover is open"),
              ElementsAre(OnlyAfter, Events, Spells));
  EXPECT_THAT(
      operators_of("command camera.cover(position=open) followed by camera.cover is open within 1 min"),
      ElementsAre(FollowedBy, Events, Spells));
  EXPECT_THAT(operators_of("command probe.ping no more than once"), ElementsAre(AtMostTimes, Events));
  EXPECT_THAT(operators_of("never command probe.ping"), ElementsAre(AtMostTimes, Events));
  EXPECT_THAT(operators_of("never command probe.ping while camera is imaging"),
              ElementsAre(NeverInside, Events, Spells));
  EXPECT_THAT(operators_of("end of (camera is imaging) followed by camera is standby within 1 h"),
              ElementsAre(FollowedBy, Ends, Spells, Spells));
  EXPECT_THAT(operators_of("time since command camera.image < 10 min"),
              ElementsAre(LessThan, TimeSince, Events));
  EXPECT_THAT(operators_of("time until window west-dish opens > 1 min"),
              ElementsAre(MoreThan, TimeUntil, Begins, Spells));
  EXPECT_EQ(operators_of("camera is imaging no more than 40 min in any 2 h").back(), Spells);
  EXPECT_EQ(operators_of("command probe.ping no more than 3 times in any 2 h").back(), Events);
}

TEST(Sentences, WhatCannotBeAskedIsSaidOnce) {
  const auto codes = [](const std::string& sentence) {
    return compile_body("  require " + sentence).codes();
  };
  EXPECT_THAT(codes("power.reserve >= 6 s"), ElementsAre("units/mismatch"));
  EXPECT_THAT(codes("power.reserv >= 6 W"), ElementsAre("meaning/unknown-quantity"));
  EXPECT_THAT(codes("3 > 2"), ElementsAre("sequence/rule-comparison"));
  EXPECT_THAT(codes("camera is onn"), ElementsAre("sequence/bring-unknown-state"));
  EXPECT_THAT(codes("camra is off"), ElementsAre("meaning/unknown-unit-name"));
  EXPECT_THAT(codes("camera.lid is off"), ElementsAre("meaning/unknown-part"));
  EXPECT_THAT(codes("camera"), ElementsAre("sequence/rule-operand"));
  EXPECT_THAT(codes("camera is in []"), ElementsAre("sequence/rule-operand"));
  EXPECT_THAT(codes("command probe.ping"), ElementsAre("sequence/rule-operand"));
  EXPECT_THAT(codes("command probe.pong no more than once"), ElementsAre("meaning/unknown-command"));
  EXPECT_THAT(codes("command camera.cover(positon=open) no more than once"),
              ElementsAre("meaning/unknown-argument"));
  EXPECT_THAT(codes("command camera.cover(position=opne) no more than once"),
              ElementsAre("meaning/not-a-choice"));
  EXPECT_THAT(codes("command probe.ping lasts no more than 3 s"), ElementsAre("sequence/rule-operand"));
  EXPECT_THAT(codes("camera is off only inside command probe.ping"), ElementsAre("sequence/rule-operand"));
  EXPECT_THAT(codes("camera is off no more than 3 W in any 1 h"), ElementsAre("meaning/wrong-type"));
  EXPECT_THAT(codes("camera is off no more than 3 min in any -1 h"), ElementsAre("sequence/rule-duration"));
  EXPECT_THAT(codes("camera is off between 2031-05-14T07:00:00Z and 2031-05-14T06:00:00Z"),
              ElementsAre("sequence/reversed-interval"));
  EXPECT_THAT(codes("command probe.ping only inside window est-dish"),
              ElementsAre("sequence/unknown-antenna"));
  EXPECT_THAT(codes("command probe.ping only inside window west-dish 7"),
              ElementsAre("sequence/mark-no-window"));
}

TEST(Stated, ExpectationsStandBesideTheirCommand) {
  const Outcome outcome = compile_body(R"(
  at 2031-05-14T06:00:00Z {
    send probe.ping
    bring camera.cover to open
    expect camera.cover is open within 2 min
    require camera is off
  })");
  ASSERT_THAT(outcome.codes(), IsEmpty()) << outcome.text;
  ASSERT_EQ(outcome.load->stated.size(), 2U);
  EXPECT_EQ(outcome.load->stated[0].kind, StatedKind::Expect);
  EXPECT_EQ(outcome.load->stated[0].command, 1U);
  EXPECT_EQ(outcome.load->stated[0].text, "camera.cover is open");
  EXPECT_EQ(outcome.load->stated[1].kind, StatedKind::Require);
  EXPECT_THAT(compile_body("  at 2031-05-14T06:00:00Z { expect camera is off within 2 min }").codes(),
              ElementsAre("sequence/expect-alone"));
  EXPECT_THAT(
      compile_body("  at 2031-05-14T06:00:00Z { require camera is off lasts no more than 1 s }").codes(),
      ElementsAre("sequence/rule-form"));
}

TEST(Stated, RulesOfEveryFileAreTaken) {
  const std::string rule = "rule quiet \"they sleep\" { never command probe.ping }\n";
  const Outcome outcome = compile_body("", rule);
  ASSERT_THAT(outcome.codes(), IsEmpty()) << outcome.text;
  ASSERT_EQ(outcome.load->stated.size(), 1U);
  EXPECT_EQ(outcome.load->stated[0].text, "quiet");
  EXPECT_EQ(outcome.load->stated[0].why, "they sleep");
  EXPECT_THAT(compile_body("", rule + rule).codes(), ElementsAre("meaning/duplicate-name"));
}

TEST(Stated, Waivers) {
  const std::string rest = " because \"b\" reference \"r\" until 2031-06-01T00:00:00Z";
  const std::string interval = " from 2031-05-14T06:00:00Z to 2031-05-14T07:00:00Z";
  const Outcome good = compile_body("  waive heat/survival of \"mast\" to 65 degC" + interval + rest);
  ASSERT_THAT(good.codes(), IsEmpty()) << good.text;
  ASSERT_EQ(good.load->waivers.size(), 1U);
  EXPECT_EQ(good.load->waivers[0].check, "heat/survival");
  EXPECT_EQ(good.load->waivers[0].subject, "mast");
  EXPECT_DOUBLE_EQ(good.load->waivers[0].accepted.value(), 338.15);
  EXPECT_EQ(good.load->waivers[0].reference, "r");
  const Outcome misspelt = compile_body("  waive heat/survivel" + interval + rest);
  EXPECT_THAT(misspelt.codes(), ElementsAre("waiver/unknown-check"));
  EXPECT_THAT(misspelt.text, HasSubstr("did you mean `heat/survival`?"));
  EXPECT_THAT(compile_body("  waive power/reserve to true" + interval + rest).codes(),
              ElementsAre("meaning/wrong-type"));
  EXPECT_THAT(compile_body("  waive power/reserve" + interval +
                           " because \"b\" reference \"r\" until 2031-05-14T06:30:00Z")
                  .codes(),
              ElementsAre("waiver/expired"));
  for (const char* missing :
       {" reference \"r\" until 2031-06-01T00:00:00Z", " because \"b\" until 2031-06-01T00:00:00Z",
        " because \"b\" reference \"r\""}) {
    EXPECT_THAT(compile_body("  waive power/reserve" + interval + missing).codes(),
                ElementsAre("syntax/unexpected"));
  }
}

}  // namespace
}  // namespace cairn::test
