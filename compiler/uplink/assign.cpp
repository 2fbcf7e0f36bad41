// Depth first over the items, the earliest windows first, cut off where what is decided already costs more
// than the best that was found.

#include "compiler/uplink/assign.h"

#include <algorithm>
#include <set>

namespace cairn {

namespace {

class Occupancy {
 public:
  explicit Occupancy(const AssignProblem& problem)
      : problem_(problem),
        room_(problem.capacity),
        entries_(problem.held_entries),
        bytes_(problem.held_bytes) {}

  [[nodiscard]] bool fits(const AssignItem& item, std::size_t window) const {
    if (room_[window] < item.size) return false;
    for (std::size_t w = window; w <= item.leave; ++w) {
      if (problem_.most_entries > 0 && entries_[w] + 1 > problem_.most_entries) return false;
      if (problem_.most_bytes > 0 && bytes_[w] + item.bytes > problem_.most_bytes) return false;
    }
    return true;
  }
  void put(const AssignItem& item, std::size_t window) {
    room_[window] -= item.size;
    for (std::size_t w = window; w <= item.leave; ++w) {
      ++entries_[w];
      bytes_[w] += item.bytes;
    }
  }
  void take(const AssignItem& item, std::size_t window) {
    room_[window] += item.size;
    for (std::size_t w = window; w <= item.leave; ++w) {
      --entries_[w];
      bytes_[w] -= item.bytes;
    }
  }
  [[nodiscard]] std::uint64_t peak() const {
    return entries_.empty() ? 0 : *std::max_element(entries_.begin(), entries_.end());
  }

 private:
  const AssignProblem& problem_;
  std::vector<std::int64_t> room_;
  std::vector<std::uint64_t> entries_;
  std::vector<std::uint64_t> bytes_;
};

std::size_t splits_of(const AssignProblem& problem, const std::vector<std::size_t>& windows) {
  std::set<std::pair<std::uint32_t, std::size_t>> used;
  std::set<std::uint32_t> blocks;
  for (std::size_t i = 0; i < windows.size(); ++i) {
    if (windows[i] == no_window) continue;
    used.emplace(problem.items[i].block, windows[i]);
    blocks.insert(problem.items[i].block);
  }
  return used.size() - blocks.size();
}

class Search {
 public:
  Search(const AssignProblem& problem, std::size_t steps)
      : problem_(problem), occupancy_(problem), best_(assign_in_order(problem)), steps_(steps) {
    windows_.assign(problem.items.size(), no_window);
  }

  Assignment run(bool* is_complete) {
    descend(0);
    if (is_complete != nullptr) *is_complete = steps_ > 0;
    return std::move(best_);
  }

 private:
  void descend(std::size_t item) {
    if (steps_ == 0) return;
    --steps_;
    if (so_far_.unassigned > best_.cost.unassigned) return;
    const bool as_many = so_far_.unassigned == best_.cost.unassigned;
    if (as_many && so_far_.windows_spent > best_.cost.windows_spent) return;
    if (item == problem_.items.size()) {
      AssignCost cost = so_far_;
      cost.peak = occupancy_.peak();
      cost.splits = splits_of(problem_, windows_);
      if (cost < best_.cost) best_ = {windows_, cost};
      return;
    }
    const AssignItem& one = problem_.items[item];
    for (std::size_t w = one.first; w <= one.last && w < problem_.capacity.size(); ++w) {
      if (!occupancy_.fits(one, w)) continue;
      occupancy_.put(one, w);
      windows_[item] = w;
      const auto spent = static_cast<std::int64_t>(w - one.first);
      so_far_.windows_spent += spent;
      descend(item + 1);
      so_far_.windows_spent -= spent;
      occupancy_.take(one, w);
    }
    windows_[item] = no_window;
    ++so_far_.unassigned;
    descend(item + 1);
    --so_far_.unassigned;
  }

  const AssignProblem& problem_;
  Occupancy occupancy_;
  Assignment best_;
  std::size_t steps_;
  std::vector<std::size_t> windows_;
  AssignCost so_far_;
};

}  // namespace

AssignCost cost_of(const AssignProblem& problem, const std::vector<std::size_t>& windows) {
  AssignCost cost;
  Occupancy occupancy(problem);
  for (std::size_t i = 0; i < windows.size(); ++i) {
    if (windows[i] == no_window) {
      ++cost.unassigned;
      continue;
    }
    occupancy.put(problem.items[i], windows[i]);
    cost.windows_spent += static_cast<std::int64_t>(windows[i] - problem.items[i].first);
  }
  cost.peak = occupancy.peak();
  cost.splits = splits_of(problem, windows);
  return cost;
}

Assignment assign_in_order(const AssignProblem& problem) {
  Assignment result;
  Occupancy occupancy(problem);
  for (const AssignItem& item : problem.items) {
    result.windows.push_back(no_window);
    for (std::size_t w = item.first; w <= item.last && w < problem.capacity.size(); ++w) {
      if (!occupancy.fits(item, w)) continue;
      occupancy.put(item, w);
      result.windows.back() = w;
      break;
    }
  }
  result.cost = cost_of(problem, result.windows);
  return result;
}

Assignment assign_best(const AssignProblem& problem, std::size_t steps, bool* is_complete) {
  return Search(problem, steps).run(is_complete);
}

}  // namespace cairn
