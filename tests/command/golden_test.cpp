// Each broken load stops with its own diagnostic and nothing else, word for word as it stands in
// tests/broken/.
//
// To accept new words: CAIRN_GOLDEN_UPDATE="name ..." names the files to write anew (tests/broken/update does
// it and shows the difference). It is refused in CI.

#include <gtest/gtest.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <memory>
#include <sstream>

#include "compiler/text/render.h"
#include "tests/command/project.h"

namespace cairn::test {
namespace {

namespace fs = std::filesystem;

std::vector<std::string> broken_loads() {
  std::vector<std::string> names;
  for (const auto& entry : fs::directory_iterator(source_path("examples/broken"))) {
    if (entry.path().extension() == ".cairn") names.push_back(entry.path().stem().string());
  }
  std::sort(names.begin(), names.end());
  return names;
}

std::string slurp(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  std::stringstream text;
  text << file.rdbuf();
  return text.str();
}

bool is_named_for_update(const std::string& name) {
  const char* names = std::getenv("CAIRN_GOLDEN_UPDATE");
  if (names == nullptr) return false;
  std::stringstream list(names);
  for (std::string word; list >> word;) {
    if (word == name) return true;
  }
  return false;
}

class BrokenLoad : public ::testing::TestWithParam<std::string> {};

TEST_P(BrokenLoad, StopsWithItsOwnDiagnostic) {
  const std::string load = source_path("examples/broken/" + GetParam() + ".cairn");
  const std::string golden = source_path("tests/broken/" + GetParam() + ".txt");
  const auto run = compile_load_file(load);
  ASSERT_EQ(run->diagnostics.error_count(), 1U) << "one mistake, one message";

  // The code that the load's first line promises.
  const std::string text = slurp(load);
  const std::string head = text.substr(0, text.find('\n'));
  const std::string promise = "Expected: ";
  const std::size_t at = head.find(promise);
  ASSERT_NE(at, std::string::npos) << "the first line names the expected code";
  const std::string code = head.substr(at + promise.size());
  std::string words;
  for (const Diagnostic& diagnostic : run->diagnostics.all()) {
    if (diagnostic.severity != Severity::Error) continue;
    EXPECT_EQ(diagnostic.code, code);
    EXPECT_TRUE(!diagnostic.hints.empty() || !diagnostic.fixes.empty()) << "it names a mend";
    EXPECT_TRUE(diagnostic.primary.is_valid()) << "it names a place";
  }
  const std::string found = render_text(run->diagnostics.all(), run->files, {});
  if (is_named_for_update(GetParam())) {
    ASSERT_EQ(std::getenv("CI"), nullptr) << "golden files are not updated in CI";
    std::ofstream(golden, std::ios::binary) << found;
  }
  EXPECT_EQ(slurp(golden), found) << "tests/broken/update " << GetParam() << " accepts the new words";
}

INSTANTIATE_TEST_SUITE_P(Examples, BrokenLoad, ::testing::ValuesIn(broken_loads()),
                         [](const auto& load) { return load.param; });

TEST(BrokenLoads, AreAtLeastSixteenAndEachHasItsGoldenFile) {
  const std::vector<std::string> names = broken_loads();
  EXPECT_GE(names.size(), 16U);
  for (const auto& entry : fs::directory_iterator(source_path("tests/broken"))) {
    if (entry.path().extension() != ".txt") continue;
    EXPECT_TRUE(std::find(names.begin(), names.end(), entry.path().stem().string()) != names.end())
        << entry.path().stem() << " has no load";
  }
}

}  // namespace
}  // namespace cairn::test
