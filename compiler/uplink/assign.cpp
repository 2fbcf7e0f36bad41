// Costs of an assignment, the quick one, and the search through all of them.
//
// The search goes depth first over the items, block by block, the earliest windows first, and is cut off
// where what is decided, and the least that the rest can cost, are no better than the best that was found.
// Items that are alike in everything take their windows in order: another order of them is the same
// assignment.

#include "compiler/uplink/assign.h"

#include <algorithm>
#include <map>
#include <numeric>
#include <set>
#include <tuple>

namespace cairn {

namespace {

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
      : problem_(problem), use_(problem), best_(assign_in_order(problem)), steps_(steps) {
    windows_.assign(problem.items.size(), no_window);
    put_in_order();
    sort_by_size();
    // What bounds the rest looks at every item for every window: a step is so much work.
    constexpr std::size_t work = 256;
    const std::size_t size = problem.capacity.size();
    step_ = 1 + size * (size + problem.items.size()) / work;
  }

  Assignment run(bool* is_complete, std::size_t* left) {
    descend(0);
    if (is_complete != nullptr) *is_complete = steps_ > 0;
    if (left != nullptr) *left = steps_;
    return std::move(best_);
  }

 private:
  // What no window may carry, then blocks by their first window and the first to leave; those that are alike
  // next to each other.
  void put_in_order() {
    std::map<std::uint32_t, std::pair<std::size_t, std::size_t>> blocks;
    for (const AssignItem& item : problem_.items) {
      const auto found = blocks.emplace(item.block, std::pair(item.first, item.leave)).first;
      found->second = std::min(found->second, std::pair(item.first, item.leave));
    }
    std::vector<std::uint32_t> dense;
    for (const auto& [block, from] : blocks) dense.push_back(block);
    std::sort(dense.begin(), dense.end(), [&](std::uint32_t a, std::uint32_t b) {
      return std::tie(blocks[a], a) < std::tie(blocks[b], b);
    });
    std::map<std::uint32_t, std::size_t> places;
    for (const std::uint32_t block : dense) places.emplace(block, places.size());
    for (const AssignItem& item : problem_.items) block_.push_back(places[item.block]);
    in_block_.assign(places.size() * problem_.capacity.size(), 0);
    windows_of_block_.assign(places.size(), 0);
    order_.resize(problem_.items.size());
    std::iota(order_.begin(), order_.end(), std::size_t{0});
    const auto key = [&](std::size_t i) {
      const AssignItem& item = problem_.items[i];
      return std::tuple(item.last >= item.first, block_[i], item.last, item.first, item.leave, item.size,
                        item.bytes, i);
    };
    std::sort(order_.begin(), order_.end(), [&](std::size_t a, std::size_t b) { return key(a) < key(b); });
  }

  void sort_by_size() {
    depth_.assign(order_.size(), 0);
    for (std::size_t d = 0; d < order_.size(); ++d) depth_[order_[d]] = d;
    by_size_ = order_;
    std::stable_sort(by_size_.begin(), by_size_.end(), [&](std::size_t a, std::size_t b) {
      return problem_.items[a].size < problem_.items[b].size;
    });
  }

  // Of the items from `depth` on, the most that windows up to `w` and the table can take.
  [[nodiscard]] std::size_t most_until(std::size_t w, std::size_t depth, std::size_t& wanting) const {
    std::size_t leaving = 0;  // before w: they need no place in the table then
    std::size_t fitting = 0;  // the smallest ones into all the room there is
    std::int64_t room = 0;
    for (std::size_t v = 0; v <= w; ++v) room += std::max<std::int64_t>(use_.room(v), 0);
    std::int64_t smallest = 0;
    std::uint64_t fewest_bytes = 0;
    wanting = 0;
    for (const std::size_t i : by_size_) {
      const AssignItem& item = problem_.items[i];
      if (depth_[i] < depth || item.first > w || item.last < item.first) continue;
      if (wanting == 0) {
        smallest = item.size;
        fewest_bytes = item.bytes;
      }
      ++wanting;
      fewest_bytes = std::min(fewest_bytes, item.bytes);
      leaving += item.leave < w ? 1U : 0U;
      if (item.size <= room) {
        room -= item.size;
        ++fitting;
      } else {
        room = -1;
      }
    }
    std::size_t most = fitting;
    if (smallest > 0) {
      std::size_t each = 0;
      for (std::size_t v = 0; v <= w; ++v) {
        each += static_cast<std::size_t>(std::max<std::int64_t>(use_.room(v), 0) / smallest);
      }
      most = std::min(most, each);
    }
    const auto left = [](std::uint64_t cap, std::uint64_t used) { return cap > used ? cap - used : 0; };
    if (problem_.most_entries > 0) {
      most = std::min<std::size_t>(most, leaving + left(problem_.most_entries, use_.entries(w)));
    }
    if (problem_.most_bytes > 0 && fewest_bytes > 0) {
      most = std::min<std::size_t>(most, leaving + left(problem_.most_bytes, use_.bytes(w)) / fewest_bytes);
    }
    return most;
  }

  // A window is spent for each item that could have gone up in it and has not yet.
  [[nodiscard]] bool is_hopeless(std::size_t depth) const {
    if (so_far_.unassigned > best_.cost.unassigned) return true;
    const std::size_t windows = problem_.capacity.size();
    const std::size_t left_out = best_.cost.unassigned - so_far_.unassigned;
    AssignCost least = so_far_;
    least.unassigned = best_.cost.unassigned;
    least.peak = use_.peak();
    if (left_out == 0 && least >= best_.cost) return true;
    if (windows == 0) return false;
    std::size_t wanting = 0;
    const std::size_t most = most_until(windows - 1, depth, wanting);
    if (wanting > most + left_out) return true;
    // With fewer left out than in the best one nothing else matters.
    if (left_out > 0 && wanting < most + left_out) return false;
    for (std::size_t w = 0; w + 1 < windows; ++w) {
      const std::size_t most_here = most_until(w, depth, wanting);
      if (wanting > most_here + left_out) {
        least.windows_spent += static_cast<std::int64_t>(wanting - most_here - left_out);
      }
    }
    return least >= best_.cost;
  }

  void descend(std::size_t depth) {
    if (steps_ == 0) return;
    steps_ -= std::min(steps_, step_);
    if (depth == order_.size()) {
      AssignCost cost = so_far_;
      cost.peak = use_.peak();
      if (cost < best_.cost) best_ = {windows_, cost};
      return;
    }
    if (is_hopeless(depth)) return;
    const std::size_t index = order_[depth];
    const AssignItem& item = problem_.items[index];
    const std::size_t windows = problem_.capacity.size();
    // no_window comes after all others.
    std::size_t from = item.first;
    if (depth > 0 && problem_.items[order_[depth - 1]] == item) {
      from = std::max(from, windows_[order_[depth - 1]]);
    }
    for (std::size_t w = from; w <= item.last && w < windows; ++w) {
      if (!use_.fits(item, w)) continue;
      put(index, w);
      descend(depth + 1);
      take(index, w);
    }
    ++so_far_.unassigned;
    descend(depth + 1);
    --so_far_.unassigned;
  }

  void put(std::size_t index, std::size_t w) {
    use_.put(problem_.items[index], w);
    windows_[index] = w;
    so_far_.windows_spent += static_cast<std::int64_t>(w - problem_.items[index].first);
    const std::size_t block = block_[index];
    if (in_block_[block * problem_.capacity.size() + w]++ == 0 && windows_of_block_[block]++ > 0)
      ++so_far_.splits;
  }
  void take(std::size_t index, std::size_t w) {
    use_.take(problem_.items[index], w);
    windows_[index] = no_window;
    so_far_.windows_spent -= static_cast<std::int64_t>(w - problem_.items[index].first);
    const std::size_t block = block_[index];
    if (--in_block_[block * problem_.capacity.size() + w] == 0 && --windows_of_block_[block] > 0)
      --so_far_.splits;
  }

  const AssignProblem& problem_;
  WindowUse use_;
  Assignment best_;
  std::size_t steps_;
  std::size_t step_ = 1;
  std::vector<std::size_t> windows_;
  AssignCost so_far_;
  std::vector<std::size_t> order_;
  std::vector<std::size_t> depth_;  // by item, where it stands in the order
  std::vector<std::size_t> by_size_;
  std::vector<std::size_t> block_;             // by item, its block's place
  std::vector<std::size_t> in_block_;          // by block and window, how many of its items
  std::vector<std::size_t> windows_of_block_;  // by block, how many windows carry some of it
};

}  // namespace

bool WindowUse::fits(const AssignItem& item, std::size_t window) const {
  if (room_[window] < item.size) return false;
  for (std::size_t w = window; w <= item.leave; ++w) {
    if (problem_->most_entries > 0 && entries_[w] + 1 > problem_->most_entries) return false;
    if (problem_->most_bytes > 0 && bytes_[w] + item.bytes > problem_->most_bytes) return false;
  }
  return true;
}

void WindowUse::put(const AssignItem& item, std::size_t window) {
  room_[window] -= item.size;
  for (std::size_t w = window; w <= item.leave; ++w) {
    ++entries_[w];
    bytes_[w] += item.bytes;
  }
}

void WindowUse::take(const AssignItem& item, std::size_t window) {
  room_[window] += item.size;
  for (std::size_t w = window; w <= item.leave; ++w) {
    --entries_[w];
    bytes_[w] -= item.bytes;
  }
}

std::uint64_t WindowUse::peak() const {
  return entries_.empty() ? 0 : *std::max_element(entries_.begin(), entries_.end());
}

AssignCost cost_of(const AssignProblem& problem, const std::vector<std::size_t>& windows) {
  AssignCost cost;
  WindowUse use(problem);
  for (std::size_t i = 0; i < windows.size(); ++i) {
    if (windows[i] == no_window) {
      ++cost.unassigned;
      continue;
    }
    use.put(problem.items[i], windows[i]);
    cost.windows_spent += static_cast<std::int64_t>(windows[i] - problem.items[i].first);
  }
  cost.peak = use.peak();
  cost.splits = splits_of(problem, windows);
  return cost;
}

Assignment assign_in_order(const AssignProblem& problem) {
  Assignment result;
  WindowUse use(problem);
  for (const AssignItem& item : problem.items) {
    result.windows.push_back(no_window);
    for (std::size_t w = item.first; w <= item.last && w < problem.capacity.size(); ++w) {
      if (!use.fits(item, w)) continue;
      use.put(item, w);
      result.windows.back() = w;
      break;
    }
  }
  result.cost = cost_of(problem, result.windows);
  return result;
}

Assignment assign_best(const AssignProblem& problem, std::size_t steps, bool* is_complete,
                       std::size_t* left) {
  return Search(problem, steps).run(is_complete, left);
}

}  // namespace cairn
