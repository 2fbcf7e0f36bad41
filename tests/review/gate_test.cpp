// Times, counters and the views of the gate on small plans written by hand.

#include "compiler/review/gate.h"

#include <gmock/gmock.h>

#include <nlohmann/json.hpp>

#include "constraints/quantity/leap_seconds.h"

namespace cairn {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

Instant at(const std::string& utc) { return *parse_utc(utc, published_leap_seconds()); }

nlohmann::json plan() {
  return {{"load", {{"name", "evening"}, {"station", "alder"}, {"previous_plan", nullptr}}},
          {"commands", {{{"sequence_count", 7}}}},
          {"windows",
           {{{"name", "west-dish 1"},
             {"batch", {{"file", "uplink/01.bin"}, {"begin", "2031-05-02T00:00:00Z"}, {"commands", {1}}}}},
            {{"name", "west-dish 2"}, {"batch", nullptr}}}},
          {"end_state", {{"sequence_count", 9}, {"time", "2031-05-14T00:00:00Z"}}},
          {"waivers", {{{"check", "power/reserve"}, {"until", "2031-04-30T00:00:00Z"}}}}};
}

std::string first_refusal(const GateFindings& findings) {
  for (const GateFinding& finding : findings) {
    if (!finding.passed) return finding.rule;
  }
  return "passed";
}

class Known : public LastSent {
 public:
  explicit Known(std::optional<State> state) : state_(std::move(state)) {}
  [[nodiscard]] std::optional<State> state() const override { return state_; }

 private:
  std::optional<State> state_;
};

TEST(GateTimes, WaiversAndWindowsEndToTheSecond) {
  EXPECT_EQ(first_refusal(gate_times(plan().dump(), at("2031-04-29T23:59:59Z"))), "passed");
  EXPECT_EQ(first_refusal(gate_times(plan().dump(), at("2031-04-30T00:00:00Z"))), "waiver/expired");
  auto without = plan();
  without.erase("waivers");
  EXPECT_EQ(first_refusal(gate_times(without.dump(), at("2031-05-01T23:59:59Z"))), "passed");
  EXPECT_EQ(first_refusal(gate_times(without.dump(), at("2031-05-02T00:00:00Z"))), "window/over");
  auto never = plan();
  never["waivers"][0]["until"] = "some day";
  EXPECT_EQ(first_refusal(gate_times(never.dump(), at("2031-04-01T00:00:00Z"))), "waiver/expired");
}

TEST(GateSequence, FollowsWhatWasSent) {
  const LastSent::State state{"alder", std::string(64, 'a'), 7, 0, "2031-05-01T00:00:00Z"};
  auto next = plan();
  EXPECT_EQ(first_refusal(gate_sequence(next.dump(), Known(std::nullopt))), "passed");
  EXPECT_EQ(first_refusal(gate_sequence(next.dump(), Known(state))), "sequence/not-next");
  next["load"]["previous_plan"] = state.plan_sha256;
  EXPECT_EQ(first_refusal(gate_sequence(next.dump(), Known(std::nullopt))), "sequence/no-plan-before");
  EXPECT_EQ(first_refusal(gate_sequence(next.dump(), Known(state))), "passed");
  LastSent::State other = state;
  other.sequence_count = 8;
  EXPECT_EQ(first_refusal(gate_sequence(next.dump(), Known(other))), "sequence/count");
  other = state;
  other.station = "birch";
  EXPECT_EQ(first_refusal(gate_sequence(next.dump(), Known(other))), "sequence/other-station");
}

TEST(GateSequence, ReadsTheEndOfAPlan) {
  const auto state = end_of_plan(plan().dump());
  ASSERT_TRUE(state);
  EXPECT_EQ(state->sequence_count, 9);
  EXPECT_EQ(state->station, "alder");
  EXPECT_FALSE(end_of_plan("{}"));
}

// A state from reports stands for the end of the plan that was sent.
TEST(GateSequence, ReadsAStateFromReports) {
  const std::string sent(64, 'b');
  const nlohmann::json reported{{"format", "cairn-state"},
                                {"load", {{"station", "alder"}}},
                                {"plan_sha256", sent},
                                {"end_state", {{"sequence_count", 7}, {"time", "2031-05-01T00:00:00Z"}}}};
  const auto state = end_of_plan(reported.dump());
  ASSERT_TRUE(state);
  EXPECT_EQ(state->plan_sha256, sent);
  auto next = plan();
  next["load"]["previous_plan"] = sent;
  EXPECT_EQ(first_refusal(gate_sequence(next.dump(), Known(state))), "passed");
  // A plan that says so of itself is a plan all the same.
  auto forged = plan();
  forged["format"] = "cairn-plan";
  forged["plan_sha256"] = sent;
  EXPECT_NE(end_of_plan(forged.dump())->plan_sha256, sent);
}

const GateFindings mixed{{"file/whole", true, "all 5 files are those of the plan", ""},
                         {"file/changed", false, "it is <not> \"the\" file & more | x", "uplink/01.bin"}};

// Members as SARIF 2.1.0 (OASIS, 27 March 2020) asks for them.
TEST(GateViews, Sarif) {
  const auto log = nlohmann::json::parse(gate_sarif(mixed));
  EXPECT_EQ(log["version"], "2.1.0");
  const auto& run = log["runs"][0];
  EXPECT_EQ(run["tool"]["driver"]["name"], "cairn");
  EXPECT_EQ(run["tool"]["driver"]["rules"].size(), 2U);
  EXPECT_EQ(run["results"][0]["kind"], "pass");
  EXPECT_EQ(run["results"][0]["level"], "none");
  EXPECT_EQ(run["results"][1]["kind"], "fail");
  EXPECT_EQ(run["results"][1]["level"], "error");
  EXPECT_EQ(run["results"][1]["locations"][0]["physicalLocation"]["artifactLocation"]["uri"],
            "uplink/01.bin");
}

TEST(GateViews, Junit) {
  const std::string xml = gate_junit(mixed, "a \"plan\"");
  EXPECT_THAT(xml, HasSubstr("tests=\"2\" failures=\"1\""));
  EXPECT_THAT(xml, HasSubstr("message=\"it is &lt;not&gt; &quot;the&quot; file &amp; more | x\""));
  EXPECT_THAT(xml, HasSubstr("name=\"a &quot;plan&quot;\""));
}

TEST(GateViews, MarkdownKeepsItsTable) {
  const std::string text = gate_markdown(mixed, "evening");
  EXPECT_THAT(text, HasSubstr("### Gate of evening: refused: 1 of 2 findings"));
  EXPECT_THAT(text, HasSubstr("& more \\| x"));
  EXPECT_THAT(text, HasSubstr("no permission to transmit"));
}

TEST(GateViews, TextAndJson) {
  EXPECT_THAT(gate_text(mixed, false), HasSubstr("refused  file/changed  `uplink/01.bin`: it is"));
  EXPECT_THAT(gate_text(mixed, false), Not(HasSubstr("\x1b")));
  EXPECT_THAT(gate_text(mixed, true), HasSubstr("\x1b[1;31mrefused"));
  EXPECT_FALSE(nlohmann::json::parse(gate_json(mixed))["passed"]);
  EXPECT_FALSE(all_passed({})) << "nothing looked at is no pass";
}

}  // namespace
}  // namespace cairn
