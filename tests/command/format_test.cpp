// What `cairn format` does to files, and that a load means the same in any layout: the same commands, octets
// and verdicts.

#include <gtest/gtest.h>
#include <sys/stat.h>

#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>

#include "compiler/command/commands.h"
#include "compiler/syntax/formatter.h"
#include "compiler/syntax/tokens.h"
#include "tests/command/project.h"
#include "tests/syntax/random_program.h"

namespace cairn::test {
namespace {

namespace fs = std::filesystem;

std::string read(const fs::path& path) {
  std::ostringstream text;
  text << std::ifstream(path).rdbuf();
  return text.str();
}

void write(const fs::path& path, std::string_view text) { std::ofstream(path) << text; }

class FormatCommand : public testing::Test {
 protected:
  FormatCommand() {
    std::string name = (fs::path(testing::TempDir()) / "cairn-format-XXXXXX").string();
    if (const char* made = mkdtemp(name.data())) folder_ = made;
  }
  ~FormatCommand() override {
    std::error_code ignored;
    if (!folder_.empty()) fs::remove_all(folder_, ignored);
  }
  ExitCode run(std::vector<std::string> files, bool check = false) {
    FormatCommandOptions options;
    options.files = std::move(files);
    options.check = check;
    testing::internal::CaptureStdout();
    testing::internal::CaptureStderr();
    const ExitCode code = run_format(World(), options);
    static_cast<void>(std::fflush(stdout));
    out_ = testing::internal::GetCapturedStdout();
    errors_ = testing::internal::GetCapturedStderr();
    return code;
  }
  fs::path folder_;
  std::string out_;
  std::string errors_;
};

constexpr std::string_view untidy = "let  depth=0.8 m\n\n\nroutine r(){note \"x\"}\n";
constexpr std::string_view tidy = "let depth = 0.8 m\n\nroutine r() {\n  note \"x\"\n}\n";

TEST_F(FormatCommand, WritesInPlaceAndKeepsWhatTheFileIs) {
  const fs::path file = folder_ / "one.cairn";
  write(file, untidy);
  ASSERT_EQ(chmod(file.c_str(), 0640), 0);
  fs::create_symlink("one.cairn", folder_ / "link.cairn");
  EXPECT_EQ(run({(folder_ / "link.cairn").string()}), ExitCode::Holds);
  EXPECT_EQ(read(file), tidy);
  EXPECT_TRUE(fs::is_symlink(folder_ / "link.cairn"));
  EXPECT_EQ(static_cast<int>(fs::status(file).permissions()), 0640);
  EXPECT_EQ(out_, (folder_ / "link.cairn").string() + "\n");
  EXPECT_EQ(run({file.string()}), ExitCode::Holds);
  EXPECT_EQ(out_, "");
  EXPECT_EQ(std::distance(fs::directory_iterator(folder_), {}), 2);  // nothing is left beside
}

TEST_F(FormatCommand, CheckChangesNothing) {
  const fs::path file = folder_ / "one.cairn";
  write(file, "let depth = 0.8 m\nroutine r(){}\n");
  write(folder_ / "other.txt", untidy);
  EXPECT_EQ(run({folder_.string()}, true), ExitCode::CheckStops);
  EXPECT_EQ(out_, file.string() + ":2: not laid out\n");
  EXPECT_EQ(read(file), "let depth = 0.8 m\nroutine r(){}\n");
  EXPECT_EQ(run({folder_.string()}), ExitCode::Holds);
  EXPECT_EQ(read(folder_ / "other.txt"), untidy);
  EXPECT_EQ(run({folder_.string()}, true), ExitCode::Holds);
  EXPECT_EQ(out_, "");
}

TEST_F(FormatCommand, LeavesBrokenFilesAlone) {
  write(folder_ / "broken.cairn", "routine r( {\n");
  write(folder_ / "good.cairn", untidy);
  EXPECT_EQ(run({folder_.string(), (folder_ / "none.cairn").string()}), ExitCode::WrongInput);
  EXPECT_EQ(read(folder_ / "broken.cairn"), "routine r( {\n");
  EXPECT_EQ(read(folder_ / "good.cairn"), tidy);
  EXPECT_NE(errors_.find("syntax/"), std::string::npos);
  EXPECT_NE(errors_.find("none.cairn"), std::string::npos);
}

// Lines and digests of the sources are all of a plan that may hang on layout.
void forget_places(nlohmann::json& value) {
  if (value.is_object()) {
    value.erase("line");
    value.erase("inputs");
  }
  for (auto& inner : value) {
    if (inner.is_structured()) forget_places(inner);
  }
}

TEST_F(FormatCommand, PlansAreTheSameInAnyLayout) {
  fs::copy(source_path("examples"), folder_, fs::copy_options::recursive);
  std::mt19937_64 random(7);
  std::size_t count = 0;
  for (const auto& entry : fs::directory_iterator(folder_ / "loads")) {
    const auto before = compile_load_file(entry.path().string());
    ASSERT_TRUE(before->compiled) << entry.path();
    const std::string text = read(entry.path());
    TokenSource source(text, 0, nullptr);
    std::vector<std::string> words;
    for (Token token = source.next(); token.kind != TokenKind::EndOfFile; token = source.next()) {
      words.push_back(text.substr(token.begin, token.end - token.begin));
    }
    write(entry.path(), random_layout(words, random));
    ASSERT_EQ(run({entry.path().string()}), ExitCode::Holds);
    const auto after = compile_load_file(entry.path().string());
    ASSERT_TRUE(after->compiled) << entry.path();
    nlohmann::json first = nlohmann::json::parse(before->compiled->plan);
    nlohmann::json second = nlohmann::json::parse(after->compiled->plan);
    EXPECT_FALSE(first.at("commands").empty());
    forget_places(first);
    forget_places(second);
    for (const auto& [key, value] : first.items())
      EXPECT_TRUE(second.at(key) == value) << entry.path() << ' ' << key;
    EXPECT_TRUE(first == second) << entry.path();
    // Laid out and left as it was: not even a line moves.
    write(entry.path(), text);
    ASSERT_EQ(run({entry.path().string()}), ExitCode::Holds);
    EXPECT_TRUE(compile_load_file(entry.path().string())->compiled->plan == before->compiled->plan);
    ++count;
  }
  EXPECT_GE(count, 4U);
}

}  // namespace
}  // namespace cairn::test
