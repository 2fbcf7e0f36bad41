// Every input that once broke something, every example, and what comes of them by chance: without a fuzzer at
// hand.

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <random>
#include <sstream>
#include <string>
#include <vector>

#include "tests/fuzz/entries.h"
#include "tests/place.h"

namespace cairn::test {
namespace {

namespace fs = std::filesystem;

std::vector<std::string> files_in(const std::string& folder, const std::string& ending) {
  std::vector<std::string> texts;
  std::vector<fs::path> paths;
  for (const auto& entry : fs::recursive_directory_iterator(fs::path(source_folder()) / folder)) {
    if (entry.is_regular_file() && entry.path().string().ends_with(ending)) paths.push_back(entry.path());
  }
  std::sort(paths.begin(), paths.end());
  for (const fs::path& path : paths) {
    std::ostringstream whole;
    whole << std::ifstream(path, std::ios::binary).rdbuf();
    texts.push_back(whole.str());
  }
  return texts;
}

void run(const FuzzEntry& entry, const std::string& text) {
  entry.run({reinterpret_cast<const std::uint8_t*>(text.data()), text.size()});
}

// Cut, doubled, turned over or written over at a few places.
std::string damaged(std::string text, std::mt19937& random) {
  const auto below = [&random](std::size_t most) { return static_cast<std::size_t>(random() % (most + 1)); };
  const std::size_t changes = 1 + below(4);
  for (std::size_t i = 0; i < changes && !text.empty(); ++i) {
    const std::size_t at = below(text.size() - 1);
    const std::size_t length = 1 + below(std::min<std::size_t>(text.size() - at - 1, 30));
    switch (below(3)) {
      case 0:
        text.erase(at, length);
        break;
      case 1:
        text.insert(below(text.size()), text.substr(at, length));
        break;
      case 2:
        text[at] = static_cast<char>(random());
        break;
      default:
        text.resize(at);
        break;
    }
  }
  return text;
}

void run_all(std::string_view name, const std::vector<std::string>& seeds, int rounds) {
  for (const FuzzEntry& entry : fuzz_entries) {
    if (entry.name != name) continue;
    std::vector<std::string> inputs = files_in("tests/fuzz/corpus/" + std::string(name), "");
    ASSERT_FALSE(inputs.empty()) << "the corpus is not where it should be";
    inputs.insert(inputs.end(), seeds.begin(), seeds.end());
    std::mt19937 random(20310514);
    for (const std::string& input : inputs) {
      run(entry, input);
      for (int round = 0; round < rounds; ++round) run(entry, damaged(input, random));
    }
    return;
  }
  FAIL() << name;
}

TEST(Replay, Loads) { run_all("load", files_in("examples", ".cairn"), 6); }
TEST(Replay, Stations) { run_all("station", files_in("examples/stations", ".yaml"), 6); }
TEST(Replay, Reports) { run_all("reports", {}, 200); }
TEST(Replay, Plans) { run_all("plan", {}, 60); }
TEST(Replay, Octets) { run_all("octets", {}, 400); }
TEST(Replay, Editor) { run_all("editor", {}, 300); }

}  // namespace
}  // namespace cairn::test
