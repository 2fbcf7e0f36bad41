// What a load withdraws, read off its text: names, values and times, and where it may stand.

#include <gmock/gmock.h>

#include "tests/sequence/small_station.h"

namespace cairn::test {
namespace {

using ::testing::ElementsAre;
using ::testing::IsEmpty;
using ::testing::SizeIs;

Instant utc(const std::string& text) { return parse_utc(text, published_leap_seconds()).value(); }

TEST(Withdrawals, CommandTimeAndGivenArgumentsAreRead) {
  const Outcome outcome = compile_body(
      "  withdraw probe.sample gain=3 at 2031-05-13T20:00:00Z + late\n  withdraw probe.ping at "
      "2031-05-13T21:00:00Z",
      "let late = 5 min\n");
  ASSERT_TRUE(outcome.load) << outcome.text;
  ASSERT_THAT(outcome.load->withdrawals, SizeIs(2));
  const Withdrawal& first = outcome.load->withdrawals[0];
  EXPECT_EQ(full_name(outcome.station, first.command), "probe.sample");
  EXPECT_EQ(first.time, utc("2031-05-13T20:05:00Z"));
  ASSERT_THAT(first.arguments, SizeIs(2));
  EXPECT_FALSE(first.arguments[0]) << "whatever it has";
  EXPECT_EQ(first.arguments[1].value().raw, 3U);
  EXPECT_EQ(outcome.load->withdrawals[1].time, utc("2031-05-13T21:00:00Z"));
  EXPECT_THAT(outcome.load->commands, IsEmpty());
}

TEST(Withdrawals, MistakesHaveTheirCodes) {
  const auto codes = [](const std::string& body, const std::string& outside = "") {
    const Outcome outcome = compile_body(body, outside);
    EXPECT_FALSE(outcome.load);
    return outcome.codes();
  };
  const std::string then = " at 2031-05-13T20:00:00Z";
  EXPECT_THAT(codes("  withdraw probe.smaple" + then), ElementsAre("meaning/unknown-command"));
  EXPECT_THAT(codes("  withdraw prob.sample" + then), ElementsAre("meaning/unknown-unit-name"));
  EXPECT_THAT(codes("  withdraw probe.sample dept=1 m" + then), ElementsAre("meaning/unknown-argument"));
  EXPECT_THAT(codes("  withdraw probe.sample depth=1 m depth=1 m" + then),
              ElementsAre("meaning/repeated-argument"));
  EXPECT_THAT(codes("  withdraw probe.sample depth=1 s" + then), ElementsAre("meaning/wrong-type"));
  EXPECT_THAT(codes("  withdraw probe.ping at 5 min"), ElementsAre("meaning/wrong-type"));
  EXPECT_THAT(codes("  mark dawn = 2031-05-14T05:00:00Z\n  withdraw probe.ping at dawn"),
              ElementsAre("meaning/unknown-name"));
  for (const std::string block : {"at 2031-05-14T06:00:00Z {", "repeat 2 times {", "if true {"}) {
    EXPECT_THAT(codes("  " + block + " withdraw probe.ping" + then + " }"),
                ElementsAre("sequence/withdraw-in-block"))
        << block;
  }
  EXPECT_THAT(codes("", "routine r() { withdraw probe.ping" + then + " }\n"),
              ElementsAre("sequence/withdraw-in-block"));
}

}  // namespace
}  // namespace cairn::test
