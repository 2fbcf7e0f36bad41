// Rules, requirements, expectations and waivers with the real station: verdicts, the plan, and what a waiver
// hides.

#include <gmock/gmock.h>

#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "tests/command/project.h"

namespace cairn::test {
namespace {

namespace fs = std::filesystem;
using ::testing::ElementsAre;
using ::testing::HasSubstr;

// A copy of examples/ with one load more.
std::unique_ptr<Run> run_load(const std::string& body, const std::string& head = "") {
  const fs::path folder = fs::temp_directory_path() / ("cairn-stated-" + std::to_string(getpid()));
  fs::remove_all(folder);
  fs::create_directories(folder);
  fs::copy(source_path("examples"), folder, fs::copy_options::recursive);
  std::ofstream(folder / "loads/stated.cairn")
      << head << "load \"alder-stated\" for alder {\n  span 2031-05-14T00:00:00Z to 2031-05-16T00:00:00Z\n"
      << body << "}\n";
  auto run = compile_load_file((folder / "loads/stated.cairn").string());
  fs::remove_all(folder);
  return run;
}

std::vector<std::string> codes(const Run& run) {
  std::vector<std::string> result;
  for (const Diagnostic& diagnostic : run.diagnostics.all()) {
    if (diagnostic.code != "time/after-leap-table") result.emplace_back(diagnostic.code);
  }
  return result;
}

std::string words(const Run& run) {
  std::string text;
  for (const Diagnostic& diagnostic : run.diagnostics.all()) {
    text += std::string(diagnostic.code) + ": " + diagnostic.message + "\n";
    for (const std::string& hint : diagnostic.hints) text += "  " + hint + "\n";
    for (const Fix& fix : diagnostic.fixes) text += "  [" + fix.replacement + "] " + fix.text + "\n";
  }
  return text;
}

const std::string standby =
    "  at 2031-05-14T08:00:00Z {\n    bring camera to standby\n    expect camera is standby within 2 min\n  "
    "}\n"
    "  at 2031-05-14T08:10:00Z {\n    bring camera to off\n  }\n";
const std::string rule =
    "rule short-standby \"it gets warm\" {\n  camera is standby lasts no more than 5 min\n}\n";
const std::string agreed =
    " because \"one picture more\" reference \"meeting 12\" until 2031-06-01T00:00:00Z\n";
const std::string day = " from 2031-05-14T00:00:00Z to 2031-05-15T00:00:00Z";

TEST(Stated, RulesComeIntoVerdictAndPlan) {
  const auto run = run_load(
      standby + "  require power.reserve >= 1 W between 2031-05-14T08:00:00Z and 2031-05-14T09:00:00Z\n",
      rule);
  EXPECT_THAT(codes(*run), ElementsAre("rules/agreed")) << words(*run);
  ASSERT_TRUE(run->compiled.has_value());
  EXPECT_EQ(overall(run->compiled->results.findings), Verdict::Fails);
  const auto plan = nlohmann::json::parse(run->compiled->plan);
  std::map<std::string, nlohmann::json> rows;
  for (const auto& row : plan["checks"]) {
    if (row["check"] == "rules") rows[row["code"]] = row;
  }
  ASSERT_EQ(rows.size(), 3U);
  EXPECT_EQ(rows["rules/agreed"]["verdict"], "fails");
  EXPECT_EQ(rows["rules/agreed"]["subject"], "short-standby");
  EXPECT_LT(rows["rules/agreed"]["margin"].get<double>(), -240);
  EXPECT_EQ(rows["rules/agreed"]["limit"].get<double>(), 300);
  EXPECT_EQ(rows["rules/requirement"]["verdict"], "holds");
  EXPECT_EQ(rows["rules/requirement"]["unit"], "W");
  EXPECT_EQ(rows["rules/requirement"]["limit"].get<double>(), 1);
  EXPECT_GT(rows["rules/requirement"]["value"].get<double>(), 1);
  EXPECT_EQ(rows["rules/expectation"]["verdict"], "holds");
  std::size_t expected = 0;
  for (const auto& command : plan["commands"]) {
    for (const auto& row : command["expects"]) {
      ++expected;
      EXPECT_EQ(row["condition"], "camera is standby");
      EXPECT_EQ(command["unit"], "camera");
    }
  }
  EXPECT_EQ(expected, 1U);
}

TEST(Stated, AWaiverAcceptsAsFarAsItSays) {
  const auto accepted = run_load(standby + "  waive short-standby to 11 min" + day + agreed, rule);
  EXPECT_THAT(codes(*accepted), ElementsAre()) << words(*accepted);
  ASSERT_TRUE(accepted->compiled.has_value());
  EXPECT_EQ(overall(accepted->compiled->results.findings), Verdict::Holds);
  const auto plan = nlohmann::json::parse(accepted->compiled->plan);
  ASSERT_EQ(plan["waivers"].size(), 1U);
  EXPECT_EQ(plan["waivers"][0]["applies"], true);
  EXPECT_EQ(plan["waivers"][0]["reference"], "meeting 12");
  EXPECT_EQ(plan["verdict"], "holds");
  for (const auto& row : plan["checks"]) {
    if (row["code"] == "rules/agreed") {
      EXPECT_EQ(row["verdict"], "fails");  // it is still said
      EXPECT_EQ(row["waiver"], 1);
    }
  }
  // Worse than it was accepted at: fails again.
  const auto worse = run_load(standby + "  waive short-standby to 10 min" + day + agreed, rule);
  EXPECT_THAT(codes(*worse), ElementsAre("rules/agreed")) << words(*worse);
  EXPECT_THAT(words(*worse), HasSubstr("the waiver accepts no more than 10 min"));
  // Part of it lies outside the waiver's interval.
  const auto outside = run_load(
      standby + "  waive short-standby to 11 min from 2031-05-14T08:02:00Z to 2031-05-15T00:00:00Z" + agreed,
      rule);
  EXPECT_FALSE(codes(*outside).empty()) << words(*outside);
  EXPECT_EQ(overall(outside->compiled->results.findings), Verdict::Fails);
}

TEST(Stated, AWaiverHidesNothingElse) {
  const std::string two = rule + "rule never-standby \"as a test\" {\n  never camera is standby\n}\n";
  const auto run = run_load(standby + "  waive short-standby to 11 min" + day + agreed, two);
  EXPECT_THAT(codes(*run), ElementsAre("rules/agreed")) << words(*run);
  const auto unit = run_load(standby + "  waive short-standby to 10 W" + day + agreed, rule);
  EXPECT_THAT(codes(*unit), ElementsAre("units/mismatch")) << words(*unit);
  const auto unused = run_load(standby + "  waive power/reserve to 1 W" + day + agreed);
  EXPECT_THAT(codes(*unused), ElementsAre("waiver/nothing")) << words(*unused);
  EXPECT_EQ(overall(unused->compiled->results.findings), Verdict::Holds);
}

TEST(Stated, AWaiverWithoutAMarginOffersIt) {
  const auto run = run_load(standby + "  waive short-standby" + day + agreed, rule);
  EXPECT_THAT(codes(*run), ElementsAre("waiver/margin")) << words(*run);
  EXPECT_THAT(words(*run), HasSubstr("[ to "));
}

}  // namespace
}  // namespace cairn::test
