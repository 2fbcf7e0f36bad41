// `cairn check --apply`: what is certain is put in, what is probable only when asked, and then the load
// compiles.

#include "compiler/command/apply.h"

#include <gmock/gmock.h>

#include <filesystem>
#include <fstream>
#include <sstream>

#include "compiler/command/commands.h"
#include "compiler/text/catalogue.h"
#include "tests/command/project.h"

namespace cairn::test {
namespace {

namespace fs = std::filesystem;
using ::testing::HasSubstr;

class Applied : public ::testing::Test {
 protected:
  void SetUp() override {
    folder_ = fs::temp_directory_path() / ("cairn-apply-" + std::to_string(getpid()));
    fs::remove_all(folder_);
    fs::create_directories(folder_);
    fs::copy(source_path("examples"), folder_, fs::copy_options::recursive);
  }
  void TearDown() override { fs::remove_all(folder_); }

  ExitCode check(const std::string& body, bool guesses) {
    load_ = (folder_ / "loads/apply.cairn").string();
    std::ofstream(load_) << "load \"a\" for alder {\n  span 2031-05-14T00:00:00Z to 2031-05-15T00:00:00Z\n"
                         << body << "}\n";
    CheckOptions options;
    options.compile.load = load_;
    options.apply = true;
    options.apply_guesses = guesses;
    options.show.one_line = true;
    return run_check(World(), options);
  }
  [[nodiscard]] std::string text() const {
    std::ostringstream whole;
    whole << std::ifstream(load_).rdbuf();
    return whole.str();
  }

  fs::path folder_;
  std::string load_;
};

TEST_F(Applied, CertainOnesByThemselves) {
  EXPECT_EQ(check("  at 2031-05-14T08:00:00Z {\n    bring probe to standby\n    bring probe to measuring\n"
                  "    send probe.sample depth: 0.8 m, gain=3\n  }\n",
                  false),
            ExitCode::Holds)
      << text();
  EXPECT_THAT(text(), HasSubstr("send probe.sample depth= 0.8 m gain=3"));
}

TEST_F(Applied, ProbableOnesOnlyWhenAsked) {
  const std::string body =
      "  at 2031-05-14T08:00:00Z {\n    brng camera to standby\n    send camera.cover position=opne\n  }\n";
  EXPECT_EQ(check(body, false), ExitCode::WrongInput);
  EXPECT_THAT(text(), HasSubstr("brng camera"));
  EXPECT_EQ(check(body, true), ExitCode::Holds) << text();
  EXPECT_THAT(text(), HasSubstr("bring camera to standby\n    send camera.cover position=open"));
}

TEST_F(Applied, WhatIsNeededComesBefore) {
  EXPECT_EQ(check("  at 2031-05-14T08:00:00Z {\n    bring camera.cover to open\n  }\n", true),
            ExitCode::Holds)
      << text();
  EXPECT_THAT(text(), HasSubstr("    bring camera to standby\n    bring camera.cover to open\n"));
}

TEST(Corrected, FirstOfEachAndNoneThatOverlap) {
  SourceFiles files;
  const FileId file = files.add("a.cairn", "abcdef");
  const FileId yaml = files.add("a.yaml", "abcdef");
  Diagnostics diagnostics;
  const auto report = [&](FileId where, std::uint32_t begin, std::uint32_t end, const char* by,
                          FixKind kind) {
    diagnostics.report(diagnostics::UnclosedText, Span{where, begin, end})
        .fix({where, begin, end}, by, kind, "");
  };
  report(file, 0, 1, "X", FixKind::Safe);
  report(file, 2, 4, "YY", FixKind::Safe);
  report(file, 3, 5, "Z", FixKind::Safe);
  report(file, 5, 6, "G", FixKind::Guess);
  report(yaml, 0, 1, "X", FixKind::Safe);
  std::size_t applied = 0;
  const auto certain = corrected(files, diagnostics, false, applied);
  ASSERT_EQ(certain.size(), 1U);
  EXPECT_EQ(certain.begin()->second, "XbYYef");
  EXPECT_EQ(applied, 2U);
  EXPECT_EQ(corrected(files, diagnostics, true, applied).begin()->second, "XbYYeG");
}

}  // namespace
}  // namespace cairn::test
