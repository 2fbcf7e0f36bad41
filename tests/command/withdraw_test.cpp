// Withdrawing what an earlier load left in the table, by the whole road: one load after another, each from
// the plan of the one before.

#include <gmock/gmock.h>

#include <filesystem>
#include <nlohmann/json.hpp>

#include "compiler/command/commands.h"
#include "compiler/command/pipeline.h"
#include "compiler/plan/text_list.h"
#include "compiler/review/difference.h"
#include "compiler/review/gate.h"
#include "compiler/text/render.h"
#include "tests/command/project.h"

namespace cairn::test {
namespace {

namespace fs = std::filesystem;
using nlohmann::json;
using ::testing::Contains;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;

constexpr std::string_view leap = "time/after-leap-table";

// Birch takes command words, Alder packets.
std::string load_text(const std::string& name, const std::string& station, int day, const std::string& body) {
  const auto date = [](int of) { return "2031-05-0" + std::to_string(of) + "T00:00:00Z"; };
  return "load \"" + name + "\" for " + station + " {\n  span " + date(day) + " to " + date(day + 1) + "\n" +
         body + "}\n";
}

const std::string at_noon = "  at 2031-05-01T12:00:00Z { send seismometer.record }\n";
const std::string at_six = "  at 2031-05-01T18:00:00Z { send keeper.report }\n";
const std::string at_eight = "  at 2031-05-01T20:00:00Z { send seismometer.standby }\n";
const std::string next_day = "  at 2031-05-02T12:00:00Z { send keeper.report }\n";

class Withdraw : public StationsFolder {
 protected:
  struct Outcome {
    std::optional<Compiled> compiled;
    std::vector<std::string> codes;
    std::string said;
    json plan;
  };
  [[nodiscard]] Outcome build(const std::string& text, const std::string& after = "",
                              const std::string& uplink_from = "") const {
    CompileOptions options;
    options.load = write("load.cairn", text);
    options.after = after;
    options.uplink_from = uplink_from;
    SourceFiles files;
    Diagnostics diagnostics;
    Outcome outcome;
    outcome.compiled = compile(World{}, options, files, diagnostics);
    for (const Diagnostic& diagnostic : diagnostics.all()) {
      if (diagnostic.code != leap) outcome.codes.emplace_back(diagnostic.code);
    }
    outcome.said = render_text(diagnostics.all(), files, {});
    if (outcome.compiled) outcome.plan = json::parse(outcome.compiled->plan);
    return outcome;
  }
  [[nodiscard]] std::string first(const std::string& body = at_noon + at_six + at_eight) const {
    const Outcome outcome = build(load_text("first", "birch", 1, body));
    EXPECT_THAT(outcome.codes, IsEmpty()) << outcome.said;
    return outcome.compiled ? write("first.json", outcome.compiled->plan) : "";
  }
  [[nodiscard]] Outcome second(const std::string& body, const std::string& after,
                               const std::string& uplink_from = "") const {
    return build(load_text("second", "birch", 2, body), after, uplink_from);
  }
};

const std::string withdraw_report = "  withdraw keeper.report at 2031-05-01T18:00:00Z\n";

TEST_F(Withdraw, ThePlanSaysWhatIsTakenOutAndWhen) {
  const std::string path = first();
  const json before = json::parse(World{}.read(path).value());
  const Outcome outcome = second(withdraw_report + next_day, path);
  ASSERT_TRUE(outcome.compiled) << outcome.said;
  EXPECT_THAT(outcome.codes, IsEmpty()) << outcome.said;
  EXPECT_THAT(outcome.compiled->translation, IsEmpty());
  ASSERT_EQ(outcome.plan["withdrawn"].size(), 1U);
  const json& row = outcome.plan["withdrawn"][0];
  EXPECT_EQ(row["number"], 1);
  EXPECT_EQ(row["entry"]["command"], "keeper.report");
  EXPECT_EQ(row["entry"]["time"], before["commands"][1]["time"]);
  EXPECT_EQ(row["entry"]["sequence_count"], before["commands"][1]["sequence_count"]);
  EXPECT_EQ(row["source"]["line"], 3);
  // After the first load has gone up, and before the second's own command.
  EXPECT_GT(row["received"].get<std::string>(), before["commands"][2]["aboard"].get<std::string>());
  EXPECT_LT(row["received"].get<std::string>(), outcome.plan["commands"][0]["aboard"].get<std::string>());
  const json& batch = outcome.plan["windows"][row["window"].get<std::size_t>() - 1]["batch"];
  EXPECT_EQ(batch["withdrawals"], json({1}));
  EXPECT_EQ(batch["commands"], json::array());
  // It stands among those that run no more.
  for (const json& entry : outcome.plan["carried"]) EXPECT_NE(entry["command"], "keeper.report");
  EXPECT_EQ(outcome.plan["carried"].size(), 2U);
  // One count for the request, two for the command, one and two again in the backout, and one for its insert.
  const int from = before["end_state"]["sequence_count"].get<int>();
  EXPECT_EQ(row["sequence_count"], from);
  EXPECT_EQ(outcome.plan["commands"][0]["sequence_count"], from + 1);
  EXPECT_EQ(outcome.plan["end_state"]["sequence_count"], from + 1 + 2 + 1 + 2);
  // What a report does is nothing to the state.
  const json& start = outcome.plan["start_state"];
  const json& end = before["end_state"];
  for (const char* member : {"time", "parts", "heaters_on", "heaters_unsure", "once_spent", "charge"}) {
    EXPECT_EQ(start[member], end[member]) << member;
  }
  for (const auto& [node, kelvin] : end["temperatures"].items()) {
    EXPECT_NEAR(start["temperatures"][node].get<double>(), kelvin.get<double>(), 1e-5) << node;
  }

  const auto document = read_plan(outcome.compiled->plan);
  ASSERT_TRUE(document) << document.error();
  EXPECT_THAT(text_list(*document), HasSubstr("withdraw 1: keeper.report at 2031-05-01T18:00:00"));
  EXPECT_THAT(text_list(*document), HasSubstr("1 withdrawal, "));
}

// The second way: the first load written without the command. Its end is where the second begins.
TEST_F(Withdraw, TheLoadBeginsWhereTheOneBeforeWouldHaveEndedWithoutIt) {
  const Outcome without = build(load_text("first", "birch", 1, at_noon + at_six));
  ASSERT_TRUE(without.compiled);
  const std::string path = first();
  const Outcome outcome = second("  withdraw seismometer.standby at 2031-05-01T20:00:00Z\n" + next_day, path);
  ASSERT_TRUE(outcome.compiled) << outcome.said;
  EXPECT_THAT(outcome.codes, IsEmpty()) << outcome.said;
  const json before = json::parse(World{}.read(path).value());
  const json& start = outcome.plan["start_state"];
  const json& end = without.plan["end_state"];
  EXPECT_EQ(before["end_state"]["parts"]["seismometer"], "standby");
  EXPECT_EQ(start["parts"]["seismometer"], "recording");
  EXPECT_EQ(start["parts"], end["parts"]);
  for (const auto& [node, kelvin] : end["temperatures"].items()) {
    EXPECT_NEAR(start["temperatures"][node].get<double>(), kelvin.get<double>(), 1e-5) << node;
    for (std::size_t side = 0; side < 2; ++side) {
      EXPECT_NEAR(start["temperature_bounds"][node][side].get<double>(),
                  end["temperature_bounds"][node][side].get<double>(), 1e-3)
          << node;
    }
  }
  EXPECT_NE(start["temperatures"]["electronics"], before["end_state"]["temperatures"]["electronics"]);
  for (const json& part : outcome.plan["states"]) {
    const bool ours = part["part"] == "seismometer";
    EXPECT_TRUE(!ours || part["rows"][0][2] == "recording");
  }
}

// An entry is replaced: the old one is gone, the new one is there, and the next load knows only that.
TEST_F(Withdraw, ReplacingIsWithdrawingAndSending) {
  const std::string path = first();
  const Outcome outcome = second(
      "  withdraw seismometer.standby at 2031-05-01T20:00:00Z\n  at 2031-05-02T01:00:00Z { bring seismometer "
      "to "
      "standby }\n",
      path);
  ASSERT_TRUE(outcome.compiled) << outcome.said;
  EXPECT_THAT(outcome.codes, IsEmpty()) << outcome.said;
  ASSERT_EQ(outcome.plan["commands"].size(), 1U) << "from recording, which it would not be in otherwise";
  EXPECT_EQ(outcome.plan["commands"][0]["name"], "standby");
  const std::string after = write("second.json", outcome.compiled->plan);
  const Outcome again = build(
      load_text("third", "birch", 3, "  withdraw seismometer.standby at 2031-05-01T20:00:00Z\n"), after);
  EXPECT_FALSE(again.compiled);
  EXPECT_THAT(again.codes, ElementsAre("withdraw/no-entry"));
  EXPECT_THAT(again.said, HasSubstr("the nearest one there is runs at 2031-05-02T01:00:00"));
  const Outcome newer = build(load_text("third", "birch", 3, ""), after);
  ASSERT_TRUE(newer.compiled) << newer.said;
  std::size_t standbys = 0;
  for (const json& entry : newer.plan["carried"])
    standbys += entry["command"] == "seismometer.standby" ? 1U : 0U;
  EXPECT_EQ(standbys, 1U);
}

TEST_F(Withdraw, WhatTheLoadBeforeLosesIsTold) {
  const Outcome outcome =
      second("  withdraw seismometer.record at 2031-05-01T12:00:00Z\n" + next_day, first());
  ASSERT_TRUE(outcome.compiled) << outcome.said;
  EXPECT_THAT(outcome.codes, ElementsAre("table/without"));
  EXPECT_THAT(outcome.said, HasSubstr("modes/no-move"));
  EXPECT_EQ(outcome.plan["verdict"], "fails");
  // With what hangs on it, all is well.
  const Outcome both = second(
      "  withdraw seismometer.record at 2031-05-01T12:00:00Z\n  withdraw seismometer.standby at "
      "2031-05-01T20:00:00Z\n" +
          next_day,
      first());
  ASSERT_TRUE(both.compiled) << both.said;
  EXPECT_THAT(both.codes, IsEmpty()) << both.said;
  EXPECT_EQ(both.plan["withdrawn"].size(), 2U);
}

TEST_F(Withdraw, TooLateIsACheckThatFails) {
  const Outcome outcome = second(withdraw_report + next_day, first(), "2031-05-01T17:00:00Z");
  ASSERT_TRUE(outcome.compiled) << outcome.said;
  EXPECT_THAT(outcome.codes, Contains("table/withdraw"));
  EXPECT_TRUE(outcome.plan["withdrawn"][0]["window"].is_null());
  EXPECT_EQ(outcome.plan["verdict"], "fails");
}

TEST_F(Withdraw, MistakesAreToldWithAMend) {
  const std::string path = first();
  const auto codes = [&](const std::string& body, const std::string& after) {
    const Outcome outcome = second(body, after);
    EXPECT_FALSE(outcome.compiled);
    return outcome.codes;
  };
  EXPECT_THAT(codes(withdraw_report, ""), ElementsAre("withdraw/no-plan"));
  EXPECT_THAT(codes(withdraw_report + withdraw_report, path), ElementsAre("withdraw/twice"));
  EXPECT_THAT(codes("  withdraw keeper.report at 2031-05-01T18:00:01Z\n", path),
              ElementsAre("withdraw/no-entry"));
  EXPECT_THAT(codes("  withdraw keeper.reprot at 2031-05-01T18:00:00Z\n", path),
              ElementsAre("meaning/unknown-command"));
  EXPECT_THAT(codes("  withdraw keeper.report at 3 s\n", path), ElementsAre("meaning/wrong-type"));
  EXPECT_THAT(codes("  at 2031-05-02T12:00:00Z { withdraw keeper.report at 2031-05-01T18:00:00Z }\n", path),
              ElementsAre("sequence/withdraw-in-block"));
  const Outcome none = second("  withdraw seismometer.off at 2031-05-01T18:00:00Z\n", path);
  EXPECT_THAT(none.said,
              HasSubstr("of this command there is none; the last ones there are: `seismometer.standby"));
}

TEST_F(Withdraw, AnEntryOfALoadBeforeThatIsOutOfReach) {
  const Outcome two = second(next_day, first());
  ASSERT_TRUE(two.compiled);
  const Outcome three =
      build(load_text("third", "birch", 3, withdraw_report), write("second.json", two.compiled->plan));
  EXPECT_FALSE(three.compiled);
  EXPECT_THAT(three.codes, ElementsAre("withdraw/no-entry"));
  EXPECT_THAT(three.said, HasSubstr("plan that load again"));
}

// A plan made before plans said where they begin.
TEST_F(Withdraw, AnOlderPlanIsAsked) {
  json older = json::parse(World{}.read(first()).value());
  older.erase("start_state");
  const std::string path = write("older.json", older.dump());
  EXPECT_TRUE(second(next_day, path).compiled);
  const Outcome outcome = second(withdraw_report, path);
  EXPECT_FALSE(outcome.compiled);
  EXPECT_THAT(outcome.codes, ElementsAre("input/bad-plan"));
  EXPECT_THAT(outcome.said, HasSubstr("start_state: missing"));
}

// Packets: entries are known by their counts, so that two of one command at one time can be told apart.
TEST_F(Withdraw, ArgumentsTellEntriesApart) {
  const Outcome one = build(
      load_text("first", "alder", 1, "  at 2031-05-01T20:00:00Z { send probe.sample depth=0.8 m gain=3 }\n"));
  ASSERT_TRUE(one.compiled) << one.said;
  json doubled = one.plan;
  json twin = doubled["commands"][0];
  twin["number"] = 2;
  twin["sequence_count"] = twin["sequence_count"].get<int>() + 2;
  twin["arguments"][0]["raw"] = twin["arguments"][0]["raw"].get<int>() - 1;
  doubled["commands"].push_back(twin);
  const std::string path = write("doubled.json", doubled.dump());
  const auto ask = [&](const std::string& arguments) {
    return build(
        load_text("second", "alder", 2, "  withdraw probe.sample" + arguments + " at 2031-05-01T20:00:00Z\n"),
        path);
  };
  EXPECT_THAT(ask("").codes, ElementsAre("withdraw/ambiguous"));
  const Outcome other = ask(" depth=1.5 m");
  EXPECT_THAT(other.codes, ElementsAre("withdraw/no-entry"));
  EXPECT_THAT(other.said, HasSubstr("with other arguments there is: `probe.sample depth=0.8 m"));
  const Outcome found = ask(" depth=0.8 m");
  ASSERT_TRUE(found.compiled) << found.said;
  EXPECT_EQ(found.plan["withdrawn"][0]["entry"]["sequence_count"], one.plan["commands"][0]["sequence_count"]);
  EXPECT_THAT(found.compiled->translation, IsEmpty());
}

// What goes up first is the request that withdraws; its count goes on where the plan before ended.
TEST_F(Withdraw, TheGateReckonsWithItsCount) {
  const std::string path = first();
  const Outcome outcome = second(withdraw_report + next_day, path);
  ASSERT_TRUE(outcome.compiled);
  class Sent : public LastSent {
   public:
    explicit Sent(const std::string& plan) : plan_(plan) {}
    [[nodiscard]] std::optional<State> state() const override { return end_of_plan(plan_); }

   private:
    std::string plan_;
  };
  const Sent sent(World{}.read(path).value());
  const auto passes = [&](const std::string& plan) {
    const GateFindings findings = gate_sequence(plan, sent);
    return findings.size() == 1 && findings.front().passed;
  };
  EXPECT_TRUE(passes(outcome.compiled->plan));
  json tampered = outcome.plan;
  tampered["withdrawn"][0]["sequence_count"] = tampered["withdrawn"][0]["sequence_count"].get<int>() + 1;
  EXPECT_FALSE(passes(tampered.dump()));
}

// Whether the request did its work is the station's to say; until it has, nothing is built on it.
TEST_F(Withdraw, ReportsSayWhetherItIsOut) {
  const std::string evening = "2031-05-01T18:00:00Z";
  const Outcome before =
      build(load_text("first", "alder", 1, "  at " + evening + " { send keeper.time-report }\n"));
  ASSERT_TRUE(before.compiled) << before.said;
  ReconcileOptions options;
  options.after = write("first.json", before.compiled->plan);
  const Outcome outcome = build(load_text("second", "alder", 2,
                                          "  withdraw keeper.time-report at " + evening +
                                              "\n  at 2031-05-02T12:00:00Z { send keeper.time-report }\n"),
                                options.after);
  ASSERT_TRUE(outcome.compiled) << outcome.said;
  ASSERT_THAT(outcome.codes, IsEmpty()) << outcome.said;
  options.plan = write("second.json", outcome.compiled->plan);
  options.station = (folder_ / "stations" / "alder.yaml").string();
  const auto count = [](const json& row) { return std::to_string(row["sequence_count"].get<int>()); };
  const json& row = outcome.plan["withdrawn"][0];
  const std::string ran =
      "sequence_count,stage,outcome\n" + count(outcome.plan["commands"][0]) + ",completion,success\n";
  std::string errors;
  const auto code_of = [&](const std::string& reports, const std::string& now) {
    options.reports = write("reports.csv", reports);
    options.now = now;
    const Said answer = said([&] { return run_reconcile(World(), options); });
    errors = answer.errors;
    return answer.code;
  };
  const std::string later = "2031-05-03T00:00:00Z";
  EXPECT_EQ(code_of(ran + count(row) + ",completion,success\n", later), ExitCode::Holds) << errors;
  EXPECT_THAT(errors, Not(HasSubstr("input/")));
  EXPECT_EQ(code_of(ran, later), ExitCode::CheckStops);
  EXPECT_THAT(errors, HasSubstr("input/not-withdrawn"));
  EXPECT_THAT(errors, HasSubstr("nothing says that it was"));
  // Taken in is not yet done.
  EXPECT_EQ(code_of(ran + count(row) + ",acceptance,success\n", later), ExitCode::CheckStops);
  EXPECT_EQ(code_of(ran + count(row) + ",completion,failure\n", later), ExitCode::CheckStops);
  EXPECT_THAT(errors, HasSubstr("the station refused it"));
  options.state = (folder_ / "state.json").string();
  EXPECT_EQ(code_of(ran, later), ExitCode::WrongInput);
  EXPECT_FALSE(fs::exists(options.state));
  options.state.clear();

  // Before its time the table shows it.
  const std::string heard = row["received"].get<std::string>();
  ASSERT_LT(heard, "2031-05-01T17:00:00Z");
  const std::string none = "sequence_count,stage,outcome\n";
  options.table = write("table.csv", "sequence_count\n");
  code_of(none, "2031-05-01T17:00:00Z");
  EXPECT_THAT(errors, Not(HasSubstr("input/not-withdrawn")));
  options.table = write("table.csv", "sequence_count\n" + count(row["entry"]) + "\n");
  EXPECT_EQ(code_of(none, "2031-05-01T17:00:00Z"), ExitCode::CheckStops);
  EXPECT_THAT(errors, HasSubstr("the table still has it"));
  // Before the request can have been received nobody asks.
  options.table.clear();
  code_of(none, "2031-05-01T00:00:00Z");
  EXPECT_THAT(errors, Not(HasSubstr("input/not-withdrawn")));
}

TEST_F(Withdraw, ASummaryCountsIt) {
  const Outcome outcome = second(withdraw_report, first());
  ASSERT_TRUE(outcome.compiled) << outcome.said;
  const auto document = read_plan(outcome.compiled->plan);
  ASSERT_TRUE(document) << document.error();
  EXPECT_EQ(contents_of(*document), "0 commands and 1 withdrawal");
}

TEST_F(Withdraw, ADifferenceShowsIt) {
  const std::string path = first();
  const Outcome plain = second(next_day, path);
  const Outcome with = second(withdraw_report + next_day, path);
  ASSERT_TRUE(plain.compiled && with.compiled);
  const auto before = read_reviewed_plan(plain.compiled->plan);
  const auto after = read_reviewed_plan(with.compiled->plan);
  ASSERT_TRUE(before && after);
  const Difference difference = compare_plans(*before, *after, {});
  EXPECT_TRUE(difference.matters());
  std::vector<std::string> table;
  for (const ValueDifference& value : difference.table) table.push_back(value.what);
  EXPECT_THAT(table, Contains("withdrawn keeper.report at 2031-05-01T18:00:00Z"));
  EXPECT_THAT(difference_text(difference, *before, *after, {}), HasSubstr("withdrawn keeper.report"));
  EXPECT_FALSE(compare_plans(*after, *after, {}).matters());
}

}  // namespace
}  // namespace cairn::test
