// `cairn reconcile` and `cairn ledger`, as people run them.

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <set>

#include "compiler/command/commands.h"
#include "compiler/plan/digest.h"
#include "tests/command/project.h"

namespace cairn::test {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

std::string in_folder(const std::string& name) {
  return (std::filesystem::path(testing::TempDir()) / ("review-" + std::to_string(getpid()) + name)).string();
}

std::string written(const std::string& name, const std::string& text) {
  const std::string path = in_folder(name);
  std::ofstream(path) << text;
  return path;
}

const Run& cedar() {
  static const std::unique_ptr<Run> run =
      compile_load_file(source_path("examples/loads/cedar-07-survey.cairn"));
  return *run;
}

TEST(ReconcileCommand, TellsWhatDidNotArriveAndWritesALoadThatChecks) {
  ASSERT_TRUE(cedar().compiled);
  std::string reports = "sequence_count,stage,outcome\n";
  const auto& staged = cedar().compiled->staging.commands;
  for (std::size_t i = 0; i + 1 < staged.size(); ++i) {  // all but the last
    reports += std::to_string(staged[i].sequence_count + 1) + ",acceptance,success\n";
  }
  ReconcileOptions options;
  options.plan = written("plan.json", cedar().compiled->plan);
  options.reports = written("reports.csv", reports);
  options.station = source_path("examples/stations/cedar.yaml");
  options.now = "2031-05-10T00:00:00Z";
  options.recovery = in_folder("recovery.cairn");
  const Said answer = said([&] { return run_reconcile(World(), options); });
  EXPECT_EQ(answer.code, ExitCode::CheckStops) << answer.errors;
  EXPECT_THAT(answer.output, HasSubstr("cedar-07-survey of cedar: 5 waiting, 1 not arrived"));
  CompileOptions check;
  check.load = options.recovery;
  check.station = options.station;
  SourceFiles files;
  Diagnostics diagnostics;
  const auto compiled = compile(World(), check, files, diagnostics);
  ASSERT_TRUE(compiled);
  EXPECT_EQ(compiled->timeline.commands.size(), 1U);
  EXPECT_EQ(overall(compiled->results.findings), Verdict::Holds);
  options.reports = written("wrong.csv", "a,b\n1,2\n");
  EXPECT_THAT(said([&] { return run_reconcile(World(), options); }).errors, HasSubstr("input/bad-reports"));
  options.reports = written("strange.csv", "sequence_count,stage,outcome\n9999,start,success\n");
  EXPECT_THAT(said([&] { return run_reconcile(World(), options); }).errors,
              HasSubstr("input/unknown-requests"));
}

// A day of Cedar after the survey: the mast is lit again.
constexpr const char* next_day =
    "load \"cedar-08\" for cedar {\n  span 2031-05-12T00:00:00Z to 2031-05-13T00:00:00Z\n"
    "  at 2031-05-12T20:00:00Z { send mast.light }\n"
    "  at 2031-05-12T21:00:00Z { send mast.standby }\n}\n";

struct Next {
  std::optional<Compiled> compiled;
  std::set<std::string> codes;
};

Next next_load_after(const std::string& before) {
  CompileOptions options;
  options.load = written("next.cairn", next_day);
  options.station = source_path("examples/stations/cedar.yaml");
  options.after = before;
  options.uplink_from = "2031-05-12T00:01:00Z";
  SourceFiles files;
  Diagnostics diagnostics;
  Next next;
  next.compiled = compile(World(), options, files, diagnostics);
  for (const Diagnostic& diagnostic : diagnostics.all()) next.codes.emplace(diagnostic.code);
  return next;
}

class SurveyReports {
 public:
  void row(std::size_t command, int later, const std::string& stage, const std::string& outcome) {
    rows_ += std::to_string(cedar().compiled->staging.commands[command].sequence_count + later) + "," +
             stage + "," + outcome + "\n";
  }
  // All but `left_out` ran.
  void all_but(const std::set<std::size_t>& left_out) {
    for (std::size_t i = 0; i < cedar().compiled->staging.commands.size(); ++i) {
      row(i, 1, "acceptance", "success");
      if (!left_out.contains(i)) row(i, 0, "completion", "success");
    }
  }
  [[nodiscard]] Said state(const std::string& path) const {
    ReconcileOptions options;
    options.plan = written("plan.json", cedar().compiled->plan);
    options.reports = written("reports.csv", "sequence_count,stage,outcome\n" + rows_);
    options.station = source_path("examples/stations/cedar.yaml");
    options.now = "2031-05-12T00:00:00Z";
    options.state = path;
    return said([&] { return run_reconcile(World(), options); });
  }

 private:
  std::string rows_;
};

TEST(ReconcileCommand, TheNextLoadStartsTheSameWhenAllRan) {
  SurveyReports reports;
  reports.all_but({});
  const std::string state = in_folder("state.json");
  const Said answer = reports.state(state);
  ASSERT_EQ(answer.code, ExitCode::Holds) << answer.errors;
  EXPECT_THAT(answer.output, HasSubstr("The state at 2031-05-12T00:00:00Z is in "));
  EXPECT_THAT(answer.output, Not(HasSubstr("not known")));
  const Next by_plan = next_load_after(written("plan.json", cedar().compiled->plan));
  const Next by_state = next_load_after(state);
  ASSERT_TRUE(by_plan.compiled);
  ASSERT_TRUE(by_state.compiled);
  EXPECT_EQ(by_plan.codes, by_state.codes);
  nlohmann::json expected = nlohmann::json::parse(by_plan.compiled->plan);
  nlohmann::json found = nlohmann::json::parse(by_state.compiled->plan);
  // The one difference: which file it was.
  EXPECT_EQ(found["load"]["previous_state"], sha256(World().read(state).value()));
  found["load"].erase("previous_state");
  EXPECT_EQ(found["load"]["previous_plan"], sha256(cedar().compiled->plan));
  EXPECT_EQ(found, expected);
}

TEST(ReconcileCommand, TheNextLoadSeesWhatIsNotKnown) {
  const std::string state = in_folder("state.json");
  std::size_t back = 0;
  const std::vector<TimedCommand>& commands = cedar().compiled->timeline.commands;
  const Station& station = cedar().compiled->station.station;
  for (std::size_t i = 0; i < commands.size(); ++i) {
    if (full_name(station, commands[i].command) == "mast.standby") back = i;
  }
  SurveyReports reports;
  reports.all_but({back});
  reports.row(back, 0, "start", "success");
  reports.row(back, 0, "completion", "failure");
  const Said answer = reports.state(state);
  EXPECT_EQ(answer.code, ExitCode::CheckStops) << answer.errors;
  EXPECT_THAT(answer.output, HasSubstr("not known: mast\n"));
  EXPECT_THAT(answer.output, HasSubstr("mast.standby: failed, and what it did is not known"));
  const Next next = next_load_after(state);
  ASSERT_TRUE(next.compiled);
  EXPECT_EQ(overall(next.compiled->results.findings), Verdict::Fails);
  EXPECT_THAT(next.codes, ::testing::Contains("modes/unknown-state"));
  EXPECT_EQ(overall(next_load_after(written("plan.json", cedar().compiled->plan)).compiled->results.findings),
            Verdict::Holds);
}

TEST(ReconcileCommand, AsksForTheStartThatThePlanHad) {
  const std::string first = written("first.json", cedar().compiled->plan);
  const Next next = next_load_after(first);
  ASSERT_TRUE(next.compiled);
  ReconcileOptions options;
  options.plan = written("second.json", next.compiled->plan);
  options.reports = written("reports.csv", "sequence_count,stage,outcome\n");
  options.station = source_path("examples/stations/cedar.yaml");
  options.now = "2031-05-13T00:00:00Z";
  const auto errors = [&] { return said([&] { return run_reconcile(World(), options); }).errors; };
  EXPECT_THAT(errors(), HasSubstr("input/plan-before"));
  options.after = options.plan;
  EXPECT_THAT(errors(), HasSubstr("is another one"));
  options.after = first;
  EXPECT_THAT(errors(), Not(HasSubstr("error")));
  options.plan = first;
  options.after = first;
  EXPECT_THAT(errors(), HasSubstr("leave --after out"));
  options.after.clear();
  options.state = in_folder("early.json");
  options.now = "2031-05-09T00:00:00Z";  // all of it was to be aboard by then
  EXPECT_THAT(errors(), HasSubstr("input/not-begun"));
  EXPECT_FALSE(std::filesystem::exists(options.state));
}

TEST(LedgerCommand, RecordsListsAndRebuilds) {
  ASSERT_TRUE(cedar().compiled);
  LedgerOptions options;
  options.ledger = in_folder("posts.ledger");
  std::filesystem::remove(options.ledger);
  options.plans = {written("plan.json", cedar().compiled->plan)};
  options.state = "sent";
  Said answer = said([&] { return run_ledger(World(), options); });
  EXPECT_EQ(answer.code, ExitCode::Holds) << answer.errors;
  EXPECT_THAT(answer.output, HasSubstr("cedar-07-survey"));
  EXPECT_THAT(answer.output, HasSubstr("sent"));
  options.rebuild = true;
  options.state = "built";
  answer = said([&] { return run_ledger(World(), options); });
  EXPECT_THAT(answer.output, HasSubstr("built"));
  options.state = "done";
  EXPECT_THAT(said([&] { return run_ledger(World(), options); }).errors, HasSubstr("input/bad-state"));
  options.state = "built";
  options.ledger = written("damaged.ledger", std::string(5000, 'x'));
  EXPECT_THAT(said([&] { return run_ledger(World(), options); }).errors, HasSubstr("input/bad-ledger"));
}

}  // namespace
}  // namespace cairn::test
