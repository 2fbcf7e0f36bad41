// Assignments of commands to windows: against a trial of every assignment, and by what must hold of each.

#include "compiler/uplink/assign.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <random>

namespace cairn {
namespace {

AssignProblem random_problem(std::mt19937& random, std::size_t items, std::size_t windows, bool tight) {
  const auto below = [&random](std::size_t limit) { return static_cast<std::size_t>(random() % limit); };
  AssignProblem problem;
  for (std::size_t w = 0; w < windows; ++w) {
    problem.capacity.push_back(static_cast<std::int64_t>((tight ? 2 : 4) * items / windows + below(3)));
    problem.held_entries.push_back(below(3));
    problem.held_bytes.push_back(below(10));
  }
  problem.most_entries = below(3) == 0 ? 0 : items * 2 / 3 + 2 + below(items);
  problem.most_bytes = below(3) == 0 ? 0 : 12 * items + below(10 * items);
  const std::size_t blocks = 1 + items / 4;
  for (std::size_t i = 0; i < items; ++i) {
    AssignItem item;
    item.first = below(3) == 0 ? below(windows) : 0;
    item.last = std::min(windows - 1, item.first + below(windows));
    item.leave = std::min(windows - 1, item.last + below(2));
    item.size = static_cast<std::int64_t>(1 + below(3));
    item.bytes = 8 + below(8);
    item.block = static_cast<std::uint32_t>(std::min(blocks - 1, i * blocks / items + below(2)));
    // What is sent now has a place of its own: no window may carry it.
    if (below(15) == 0) item.first = item.last + 1;
    problem.items.push_back(item);
  }
  return problem;
}

// Spelt out from the definition.
bool is_allowed(const AssignProblem& problem, const std::vector<std::size_t>& windows) {
  for (std::size_t w = 0; w < problem.capacity.size(); ++w) {
    std::int64_t sent = 0;
    std::uint64_t entries = problem.held_entries[w];
    std::uint64_t bytes = problem.held_bytes[w];
    bool more = false;
    for (std::size_t i = 0; i < windows.size(); ++i) {
      if (windows[i] == no_window) continue;
      const AssignItem& item = problem.items[i];
      if (windows[i] < item.first || windows[i] > item.last) return false;
      if (windows[i] == w) sent += item.size;
      if (windows[i] > w || item.leave < w) continue;
      ++entries;
      bytes += item.bytes;
      more = true;
    }
    if (sent > problem.capacity[w]) return false;
    if (more && problem.most_entries > 0 && entries > problem.most_entries) return false;
    if (more && problem.most_bytes > 0 && bytes > problem.most_bytes) return false;
  }
  return true;
}

AssignCost best_of_all(const AssignProblem& problem) {
  std::vector<std::size_t> windows(problem.items.size(), no_window);
  AssignCost best = cost_of(problem, windows);
  for (;;) {
    std::size_t i = 0;
    while (i < windows.size() && windows[i] + 1 == problem.capacity.size()) windows[i++] = no_window;
    if (i == windows.size()) return best;
    windows[i] = windows[i] == no_window ? 0 : windows[i] + 1;
    if (is_allowed(problem, windows)) best = std::min(best, cost_of(problem, windows));
  }
}

TEST(Assign, NoAssignmentIsBetterThanTheBest) {
  std::mt19937 random(51);
  int with_splits = 0;
  int not_all = 0;
  for (int round = 0; round < 400; ++round) {
    const std::size_t windows = 2 + random() % 2;
    const AssignProblem problem = random_problem(random, 5 + random() % 3, windows, random() % 2 == 0);
    const AssignCost best = best_of_all(problem);
    bool is_complete = false;
    const Assignment found = assign_best(problem, 1'000'000, &is_complete);
    ASSERT_TRUE(is_complete);
    ASSERT_TRUE(is_allowed(problem, found.windows)) << round;
    ASSERT_TRUE(found.cost == best) << round;
    const Assignment better = assign_better(problem, assign_in_order(problem).windows, 50'000);
    ASSERT_TRUE(is_allowed(problem, better.windows)) << round;
    ASSERT_TRUE(better.cost == best) << round;
    with_splits += best.splits > 0 ? 1 : 0;
    not_all += best.unassigned > 0 ? 1 : 0;
  }
  EXPECT_GT(with_splits, 50);
  EXPECT_GT(not_all, 50);
}

// Whatever the size: allowed, at least as good as what it begins from, and its cost is what it says.
TEST(Assign, BetterIsNeverWorse) {
  std::mt19937 random(52);
  int better = 0;
  for (int round = 0; round < 400; ++round) {
    const std::size_t items = 10 + random() % (round % 20 == 0 ? 900 : 30);
    const AssignProblem problem = random_problem(random, items, 2 + random() % 8, random() % 2 == 0);
    const Assignment start = assign_in_order(problem);
    for (const std::size_t steps : {std::size_t{0}, std::size_t{100}, std::size_t{20'000}}) {
      const Assignment found = assign_better(problem, start.windows, steps);
      ASSERT_TRUE(is_allowed(problem, found.windows)) << round;
      ASSERT_TRUE(found.cost == cost_of(problem, found.windows)) << round;
      ASSERT_TRUE(found.cost <= start.cost) << round;
      better += found.cost < start.cost ? 1 : 0;
    }
  }
  EXPECT_GT(better, 120);
}

// Windows for twelve and eight commands, blocks of four, eight, four and four: none need be split, and the
// order in which they run splits some.
TEST(Assign, BlocksStayTogetherWhereTheyCan) {
  AssignProblem problem;
  problem.capacity = {12, 8};
  problem.held_entries = {0, 0};
  problem.held_bytes = {0, 0};
  const std::vector<std::size_t> sizes = {4, 8, 4, 4};
  for (std::size_t block = 0; block < sizes.size(); ++block) {
    for (std::size_t i = 0; i < sizes[block]; ++i) {
      problem.items.push_back({0, 1, 1, 1, 10, static_cast<std::uint32_t>(block)});
    }
  }
  // Turn and turn about, so that the order alone splits them.
  std::stable_sort(problem.items.begin(), problem.items.end(),
                   [](const AssignItem& a, const AssignItem& b) { return a.block % 2 < b.block % 2; });
  std::rotate(problem.items.begin(), problem.items.begin() + 6, problem.items.end());
  const Assignment start = assign_in_order(problem);
  EXPECT_GT(start.cost.splits, 0U);
  const Assignment found = assign_better(problem, start.windows, 50'000);
  EXPECT_EQ(found.cost.unassigned, 0U);
  EXPECT_EQ(found.cost.windows_spent, start.cost.windows_spent);
  EXPECT_EQ(found.cost.splits, 0U);
}

// A hundred blocks of ten over ten windows that hold them exactly, the order mixed at every border: none need
// be split. This is beyond what is searched through.
TEST(Assign, ExchangesMendWhatTheOrderSplit) {
  AssignProblem problem;
  problem.capacity.assign(10, 100);
  problem.held_entries.assign(10, 0);
  problem.held_bytes.assign(10, 0);
  for (std::size_t i = 0; i < 1000; ++i) {
    const std::size_t block = i / 20 * 2 + i % 2;  // two blocks in turns
    problem.items.push_back({0, 9, 9, 1, 10, static_cast<std::uint32_t>(block)});
  }
  std::rotate(problem.items.begin(), problem.items.begin() + 10, problem.items.end());
  const Assignment start = assign_in_order(problem);
  EXPECT_GE(start.cost.splits, 10U);
  const Assignment found = assign_better(problem, start.windows, 50'000);
  EXPECT_EQ(found.cost.windows_spent, start.cost.windows_spent);
  EXPECT_EQ(found.cost.splits, 0U);
}

// The same call, the same answer.
TEST(Assign, SameProblemSameAnswer) {
  std::mt19937 random(53);
  const AssignProblem problem = random_problem(random, 60, 5, true);
  const std::vector<std::size_t> start = assign_in_order(problem).windows;
  EXPECT_EQ(assign_better(problem, start, 5'000).windows, assign_better(problem, start, 5'000).windows);
}

}  // namespace
}  // namespace cairn
