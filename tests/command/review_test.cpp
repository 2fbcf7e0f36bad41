// `cairn reconcile` and `cairn ledger`, as people run them.

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>

#include "compiler/command/commands.h"
#include "tests/command/project.h"

namespace cairn::test {
namespace {

using ::testing::HasSubstr;

struct Said {
  ExitCode code = ExitCode::ToolFault;
  std::string output;
  std::string errors;
};

template <class Run>
Said said(Run run) {
  Said result;
  testing::internal::CaptureStdout();
  testing::internal::CaptureStderr();
  result.code = run();
  (void)World().finish_output();
  result.output = testing::internal::GetCapturedStdout();
  result.errors = testing::internal::GetCapturedStderr();
  return result;
}

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
