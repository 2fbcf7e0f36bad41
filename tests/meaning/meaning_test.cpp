// Names, types, dimensions and constants, by the whole road from text to commands.

#include <gmock/gmock.h>

#include "tests/sequence/small_station.h"

namespace cairn::test {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;

struct Case {
  const char* written;
  const char* code;
  const char* part_of_text;
};

TEST(Values, EachMistakeIsReportedOnce) {
  const std::vector<Case> cases{
      {"3 W + 2 s", "units/mismatch", "Power and Duration"},
      {"20 degC + 5 degC", "units/temperature-sum", "K"},
      {"2031-05-14T06:00:00Z + 2031-05-14T06:00:00Z", "units/mismatch", "Instant and Instant"},
      {"9223372036854775807 + 1", "units/overflow", "addition"},
      {"100000 d * 200000", "units/overflow", "multiplication"},
      {"3 W / 0", "units/divide-by-zero", "zero"},
      {"0.3 ns", "units/inexact-duration", "0.3 ns"},
      {"2031-02-30T00:00:00Z", "meaning/no-such-date", "2031-02-30"},
      {"2031-05-14T24:00:01Z", "meaning/no-such-time", "24:00:01"},
      {"2031-05-14T23:59:60Z", "meaning/no-leap-second", "leap second"},
      {"margn + 1 W\n  let margin = 2 W", "meaning/unknown-name", "did you mean `margin`?"},
      {"valu + 1 W", "meaning/unknown-name", "define it"},  // never the name that is being defined
      {"value + 1 W", "meaning/name-cycle", "itself"},
      {"(3 W + 2 s) + 1 m", "units/mismatch", "Power and Duration"},
  };
  for (const Case& bad : cases) {
    const Outcome outcome = compile_body(std::string("  let value = ") + bad.written);
    EXPECT_THAT(outcome.codes(), ElementsAre(bad.code)) << bad.written << "\n" << outcome.text;
    EXPECT_THAT(outcome.text, HasSubstr(bad.part_of_text));
  }
}

TEST(Values, GoodArithmetic) {
  for (const char* expression :
       {"20 degC + 5 K", "20 degC - 5 degC", "-5 degC", "5 K + 20 degC", "10 J / 2 W + 3 s", "1 - 20 %",
        "2 * 3 h", "2031-05-14T06:00:00Z - 2031-05-13T06:00:00Z + 1 s", "7 / 2", "1 W / 1 V + 2 mA", "true",
        "\"words\""}) {
    const Outcome outcome = compile_body(std::string("  let value = ") + expression);
    EXPECT_THAT(outcome.codes(), IsEmpty()) << expression << "\n" << outcome.text;
  }
}

TEST(Values, UseBeforeDefinition) {
  const Outcome outcome = compile_body(
      "  at later - 1 h { send probe.sample depth=deep }\n  mark later = 2031-05-14T06:00:00Z\n  let deep = "
      "half * 2",
      "let half = 0.4 m\n");
  EXPECT_THAT(outcome.codes(), IsEmpty()) << outcome.text;
  ASSERT_THAT(outcome.list(), ElementsAre("05:00:00Z probe.sample"));
  EXPECT_EQ(outcome.load->commands[0].arguments[0].raw, 8U);
}

TEST(Commands, EachMistakeHasItsCode) {
  const std::vector<Case> cases{
      {"camra.standby", "meaning/unknown-unit-name", "did you mean `camera`?"},
      {"camera.stanby", "meaning/unknown-command", "did you mean `standby`?"},
      {"probe.sample dept=1 m", "meaning/unknown-argument", "did you mean `depth`?"},
      {"probe.sample", "meaning/missing-argument", "depth"},
      {"probe.sample depth=1 m depth=2 m", "meaning/repeated-argument", "depth"},
      {"probe.sample depth=3 m", "meaning/out-of-range", "0 m .. 2 m"},
      {"probe.sample depth=3 s", "meaning/wrong-type", "Length"},
      {"probe.sample depth=1 m gain=1.5", "meaning/wrong-type", "Count"},
      {"camera.cover position=opne", "meaning/not-a-choice", "did you mean `open`?"},
  };
  for (const Case& bad : cases) {
    const Outcome outcome =
        compile_body(std::string("  at 2031-05-14T06:00:00Z { send ") + bad.written + " }");
    EXPECT_THAT(outcome.codes(), ElementsAre(bad.code)) << bad.written << "\n" << outcome.text;
    EXPECT_THAT(outcome.text, HasSubstr(bad.part_of_text));
  }
}

TEST(Routines, ParametersAndDefaults) {
  const std::string routine =
      "routine take(depth: Length, gain: Count = 3) { send probe.sample depth=depth gain=gain }\n";
  const Outcome good = compile_body("  at 2031-05-14T06:00:00Z { do take(depth=0.5 m) }", routine);
  ASSERT_THAT(good.list(), ElementsAre("06:00:00Z probe.sample")) << good.text;
  EXPECT_EQ(good.load->commands[0].arguments[1].number, 3);
  EXPECT_EQ(good.load->provenance[0].calls.size(), 1U);
  const auto codes = [&](const std::string& call) {
    return compile_body("  at 2031-05-14T06:00:00Z { do " + call + " }", routine).codes();
  };
  EXPECT_THAT(codes("take(depth=2 s)"), ElementsAre("meaning/wrong-type"));
  EXPECT_THAT(codes("take()"), ElementsAre("meaning/missing-argument"));
  EXPECT_THAT(codes("tak(depth=1 m)"), ElementsAre("meaning/unknown-routine"));
}

TEST(Routines, RecursionShowsTheCircle) {
  const Outcome outcome = compile_body("  at 2031-05-14T06:00:00Z { do one() }",
                                       "routine one() { do two() }\nroutine two() { do one() }\n");
  EXPECT_THAT(outcome.codes(), ElementsAre("meaning/recursion"));
  EXPECT_THAT(outcome.text, HasSubstr("one -> two -> one"));
}

TEST(Files, UseOnceCyclesAndEscapes) {
  const Outcome good = compile_body("  at 2031-05-14T06:00:00Z { do ping-twice() }",
                                    "use \"../routines/ping.cairn\"\nuse \"../routines/ping.cairn\"\n");
  EXPECT_THAT(good.list(), ElementsAre("06:00:00Z probe.ping", "06:00:01Z probe.ping")) << good.text;
  EXPECT_THAT(compile_body("", "use \"../routines/circle.cairn\"\n").codes(),
              ElementsAre("meaning/use-cycle"));
  EXPECT_THAT(compile_body("", "use \"../../elsewhere.cairn\"\n").codes(),
              ElementsAre("meaning/use-outside"));
  EXPECT_THAT(compile_body("", "use \"none.cairn\"\n").codes(), ElementsAre("meaning/use-unreadable"));
  EXPECT_THAT(compile_text("let one = 1\n").codes(), ElementsAre("meaning/no-load"));
}

}  // namespace
}  // namespace cairn::test
