// Line differences against what they must be able to do: the new text can be made of the old one and the
// runs.

#include <gmock/gmock.h>

#include <random>

#include "compiler/review/difference.h"

namespace cairn {
namespace {

std::vector<std::string> split(const std::string& text) {
  std::vector<std::string> lines;
  for (std::size_t begin = 0; begin < text.size();) {
    const std::size_t end = text.find('\n', begin);
    lines.push_back(text.substr(begin, end - begin));
    begin = end + 1;
  }
  return lines;
}

// Takes the old lines of each run out, last run first, and puts the new ones in.
std::vector<std::string> applied(const std::string& before, const std::vector<LineDifference>& runs) {
  std::vector<std::string> lines = split(before);
  for (auto run = runs.rbegin(); run != runs.rend(); ++run) {
    const auto at = lines.begin() + static_cast<std::ptrdiff_t>(run->old_first - 1);
    EXPECT_TRUE(std::equal(run->old_lines.begin(), run->old_lines.end(), at));
    const auto gap = lines.erase(at, at + static_cast<std::ptrdiff_t>(run->old_lines.size()));
    lines.insert(gap, run->new_lines.begin(), run->new_lines.end());
  }
  return lines;
}

// The least number of lines out and in, by the textbook recursion on small texts.
std::size_t least(const std::vector<std::string>& a, std::size_t i, const std::vector<std::string>& b,
                  std::size_t j) {
  if (i == a.size()) return b.size() - j;
  if (j == b.size()) return a.size() - i;
  if (a[i] == b[j]) return least(a, i + 1, b, j + 1);
  return 1 + std::min(least(a, i + 1, b, j), least(a, i, b, j + 1));
}

TEST(CompareLines, RunsMakeTheNewTextAndAreLeast) {
  std::mt19937 random(7);
  const auto text = [&random] {
    std::string out;
    for (std::size_t i = random() % 8; i > 0; --i)
      out += std::string(1, static_cast<char>('a' + random() % 3)) + "\n";
    return out;
  };
  for (int round = 0; round < 1000; ++round) {
    const std::string before = text();
    const std::string after = text();
    const auto runs = compare_lines(before, after);
    EXPECT_EQ(applied(before, runs), split(after));
    std::size_t lines = 0;
    for (const LineDifference& run : runs) lines += run.old_lines.size() + run.new_lines.size();
    EXPECT_EQ(lines, least(split(before), 0, split(after), 0));
  }
}

TEST(CompareLines, SaysWhereInTheFile) {
  const auto runs = compare_lines("units:\n  camera:\n    commands:\n      expose:\n        number: 25\n",
                                  "units:\n  camera:\n    commands:\n      expose:\n        number: 26\n");
  ASSERT_EQ(runs.size(), 1U);
  EXPECT_EQ(runs[0].within, "units.camera.commands.expose");
  EXPECT_EQ(runs[0].new_first, 5U);
}

TEST(CompareLines, EqualTextsHaveNone) { EXPECT_TRUE(compare_lines("a\nb\n", "a\nb\n").empty()); }

}  // namespace
}  // namespace cairn
