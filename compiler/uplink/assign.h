// Which window carries which command, as a problem of its own: no times, only windows one after another.
//
// What counts, in this order: that as few commands as possible stay without a window; that as many windows as
// possible are left for another try, summed over the commands; that the table's peak is low; that few blocks
// are split over windows. Small groups of commands are searched through, great ones are improved by exchanges
// between windows; tests hold the answers against a solver for integer programs.

#pragma once

#include <compare>
#include <cstddef>
#include <cstdint>
#include <vector>

namespace cairn {

struct AssignItem {
  std::size_t first = 0;  // windows that may carry it: from this one
  std::size_t last = 0;   // to this one; none when it lies before `first`
  std::size_t leave = 0;  // it is in the table from its own window to this one
  std::int64_t size = 0;  // of a window's capacity
  std::uint64_t bytes = 0;
  std::uint32_t block = 0;
  bool operator==(const AssignItem&) const = default;
};

struct AssignProblem {
  std::vector<std::int64_t> capacity;  // by window
  std::vector<AssignItem> items;
  // What the table holds beside them, by window, and its caps; 0: no cap.
  std::vector<std::uint64_t> held_entries;
  std::vector<std::uint64_t> held_bytes;
  std::uint64_t most_entries = 0;
  std::uint64_t most_bytes = 0;
};

// Less is better.
struct AssignCost {
  std::size_t unassigned = 0;
  std::int64_t windows_spent = 0;  // windows that are not left for another try, summed
  std::uint64_t peak = 0;          // entries
  std::size_t splits = 0;          // windows of each block beyond its first
  auto operator<=>(const AssignCost&) const = default;
};

inline constexpr std::size_t no_window = static_cast<std::size_t>(-1);

struct Assignment {
  std::vector<std::size_t> windows;  // by item; no_window
  AssignCost cost;
};

AssignCost cost_of(const AssignProblem& problem, const std::vector<std::size_t>& windows);

// In the order given, each item into its earliest window that still has room: quick, and what the search
// begins from.
Assignment assign_in_order(const AssignProblem& problem);

// The best there is. `steps` bounds the search; when it runs out, the best that was found is given and
// `is_complete` (where wanted) says so.
Assignment assign_best(const AssignProblem& problem, std::size_t steps, bool* is_complete = nullptr,
                       std::size_t* left = nullptr);

// Never worse than `start`: groups of commands that can meet in no window are searched through one by one
// where they are small, with so many steps for all of them; where they are not, what lies in two windows is
// exchanged as long as that is better.
Assignment assign_better(const AssignProblem& problem, const std::vector<std::size_t>& start,
                         std::size_t steps);

// Windows and table while items are put in and taken out.
class WindowUse {
 public:
  explicit WindowUse(const AssignProblem& problem)
      : problem_(&problem),
        room_(problem.capacity),
        entries_(problem.held_entries),
        bytes_(problem.held_bytes) {}

  [[nodiscard]] bool fits(const AssignItem& item, std::size_t window) const;
  void put(const AssignItem& item, std::size_t window);
  void take(const AssignItem& item, std::size_t window);
  [[nodiscard]] std::uint64_t peak() const;
  [[nodiscard]] std::int64_t room(std::size_t window) const { return room_[window]; }
  [[nodiscard]] std::uint64_t entries(std::size_t window) const { return entries_[window]; }
  [[nodiscard]] std::uint64_t bytes(std::size_t window) const { return bytes_[window]; }

 private:
  const AssignProblem* problem_;
  std::vector<std::int64_t> room_;
  std::vector<std::uint64_t> entries_;
  std::vector<std::uint64_t> bytes_;
};

}  // namespace cairn
