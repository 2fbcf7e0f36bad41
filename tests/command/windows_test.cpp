// `cairn windows`: what is open, what is sent, and two plans that want one antenna at once.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>

#include "compiler/command/commands.h"
#include "tests/command/project.h"

namespace cairn::test {
namespace {

using ::testing::ContainsRegex;
using ::testing::HasSubstr;
using ::testing::Not;

struct Said {
  ExitCode code = ExitCode::ToolFault;
  std::string output;
  std::string errors;
};

Said windows(const WindowsOptions& options) {
  Said said;
  testing::internal::CaptureStdout();
  testing::internal::CaptureStderr();
  said.code = run_windows(World(), options);
  (void)World().finish_output();
  said.output = testing::internal::GetCapturedStdout();
  said.errors = testing::internal::GetCapturedStderr();
  return said;
}

std::string plan_of(const std::string& load, const std::string& uplink_from) {
  SourceFiles files;
  Diagnostics diagnostics;
  CompileOptions options;
  options.load = source_path("examples/loads/" + load + ".cairn");
  options.uplink_from = uplink_from;
  const auto compiled = compile(World(), options, files, diagnostics);
  EXPECT_TRUE(compiled.has_value());
  const std::string path =
      (std::filesystem::path(testing::TempDir()) / (load + uplink_from + ".json")).string();
  std::ofstream(path) << (compiled ? compiled->plan : "");
  return path;
}

// A row of the drawing with a cell in which two loads send, up to its end.
constexpr const char* two_send = "[-.#]2[-.#2]*\n";

TEST(Windows, TheBatchesOfOneLoadAreNoConflict) {
  const std::string load = (std::filesystem::path(testing::TempDir()) / "now.cairn").string();
  std::ofstream(load) << R"(load "alder-now" for alder {
  span 2031-05-01T00:00:00Z to 2031-05-02T00:00:00Z
  mark pass = window west-dish opens
  at pass + 20 min {
    send now relay.report
    after 10 s send now keeper.time-report
  }
}
)";
  SourceFiles files;
  Diagnostics diagnostics;
  CompileOptions compiling;
  compiling.load = load;
  compiling.station = source_path("examples/stations/alder.yaml");
  const auto compiled = compile(World(), compiling, files, diagnostics);
  ASSERT_TRUE(compiled.has_value());
  ASSERT_EQ(compiled->staging.batches.size(), 2U);
  WindowsOptions options;
  options.plans = {load + ".json"};
  std::ofstream(options.plans[0]) << compiled->plan;
  const Said said = windows(options);
  EXPECT_EQ(said.code, ExitCode::Holds) << said.errors;
  EXPECT_THAT(said.output, ContainsRegex("west-dish +2031-05-01  [-.]*#"));
  EXPECT_THAT(said.output, Not(ContainsRegex(two_send)));
}

TEST(Windows, TwoPlansOnOneAntennaAtOnceAreFound) {
  WindowsOptions options;
  options.plans = {plan_of("cedar-07-survey", ""), plan_of("birch-03-listening", "")};
  const Said both = windows(options);
  EXPECT_EQ(both.code, ExitCode::CheckStops);
  EXPECT_THAT(both.errors, HasSubstr("input/antenna-overlap"));
  EXPECT_THAT(both.errors, HasSubstr("birch (birch-03-listening)"));
  EXPECT_THAT(both.output, ContainsRegex(two_send));
  // A day later there is another window.
  options.plans[1] = plan_of("birch-03-listening", "2031-05-04T00:00:00Z");
  const Said apart = windows(options);
  EXPECT_EQ(apart.code, ExitCode::Holds) << apart.errors;
  EXPECT_THAT(apart.errors, Not(HasSubstr("input/antenna-overlap")));
  EXPECT_THAT(apart.output, HasSubstr("cedar-07-survey to cedar from 2031-05-03T"));
  EXPECT_THAT(apart.output, HasSubstr("birch-03-listening to birch from 2031-05-04T"));
}

TEST(Windows, OfAStationAreListedAndDrawn) {
  WindowsOptions options;
  options.station = source_path("examples/stations/alder.yaml");
  const Said said = windows(options);
  EXPECT_EQ(said.code, ExitCode::Holds) << said.errors;
  EXPECT_THAT(said.output, HasSubstr("west-dish    2031-05-01T04:00:00Z  2031-05-01T06:00:00Z"));
  // From 04:00 to 06:00 eight quarters of an hour, the seventeenth of the day being the first; 20:00 to 21:20
  // six.
  EXPECT_THAT(said.output, HasSubstr("west-dish    2031-05-01  ................--------" +
                                     std::string(56, '.') + "------.........."));
}

TEST(Windows, WrongInputIsTold) {
  EXPECT_EQ(windows({}).code, ExitCode::WrongInput);
  WindowsOptions options;
  options.plans = {source_path("README.md")};
  EXPECT_THAT(windows(options).errors, HasSubstr("input/bad-plan"));
}

}  // namespace
}  // namespace cairn::test
