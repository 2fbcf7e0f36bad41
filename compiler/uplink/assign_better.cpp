// An assignment made better without a search through everything: groups of items that can meet in no window
// are searched through one by one, as far as they are small; in those that are not, what a block has in one
// window goes where the rest of it is, in exchange for as many items of other blocks.
//
// An exchange of as many for as many spends no window more. Which blocks give theirs is a small knapsack: so
// many items with the fewest new splits.

#include <algorithm>
#include <map>
#include <optional>
#include <set>

#include "compiler/uplink/assign.h"

namespace cairn {

namespace {

using Windows = std::vector<std::size_t>;

WindowUse use_of(const AssignProblem& problem, const Windows& windows) {
  WindowUse use(problem);
  for (std::size_t i = 0; i < windows.size(); ++i) {
    if (windows[i] != no_window) use.put(problem.items[i], windows[i]);
  }
  return use;
}

// The items that are free to move, all others where they are: the windows that they may move in, and one more
// that carries nothing and stands for the table elsewhere, so that its peak counts.
struct Part {
  AssignProblem problem;
  std::vector<std::size_t> items;  // of the whole problem, by item of this one
  std::size_t from = 0;            // its first window
};

// `use`: of all items where they are.
Part part_of(const AssignProblem& whole, const Windows& windows, WindowUse use, std::vector<std::size_t> free,
             std::size_t from, std::size_t to) {
  Part part;
  part.from = from;
  for (const std::size_t i : free) {
    if (windows[i] != no_window) use.take(whole.items[i], windows[i]);
  }
  std::vector<std::uint64_t> entries(whole.capacity.size());
  for (std::size_t w = 0; w < entries.size(); ++w) entries[w] = use.entries(w);
  for (const std::size_t i : free) {
    for (std::size_t w = to + 1; w <= whole.items[i].leave && windows[i] != no_window; ++w) ++entries[w];
  }
  std::uint64_t elsewhere = 0;
  for (std::size_t w = 0; w < entries.size(); ++w) {
    if (from <= w && w <= to) {
      part.problem.capacity.push_back(use.room(w));
      part.problem.held_entries.push_back(use.entries(w));
      part.problem.held_bytes.push_back(use.bytes(w));
    } else {
      elsewhere = std::max(elsewhere, entries[w]);
    }
  }
  part.problem.capacity.push_back(0);
  part.problem.held_entries.push_back(elsewhere);
  part.problem.held_bytes.push_back(0);
  part.problem.most_entries = whole.most_entries;
  part.problem.most_bytes = whole.most_bytes;
  for (const std::size_t i : free) {
    AssignItem item = whole.items[i];
    item.first = std::max(item.first, from) - from;
    item.last = std::min(item.last, to) - from;
    item.leave = std::min(item.leave, to) - from;
    part.problem.items.push_back(item);
  }
  part.items = std::move(free);
  return part;
}

struct Group {
  std::vector<std::size_t> items;
  std::size_t from = 0;
  std::size_t to = 0;
};

// Items whose windows, or times in a table with caps, overlap lie in one group.
std::vector<Group> groups_of(const AssignProblem& problem) {
  const bool caps = problem.most_entries > 0 || problem.most_bytes > 0;
  std::vector<std::size_t> order;
  for (std::size_t i = 0; i < problem.items.size(); ++i) {
    if (problem.items[i].first <= problem.items[i].last) order.push_back(i);
  }
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return problem.items[a].first < problem.items[b].first;
  });
  std::vector<Group> groups;
  for (const std::size_t i : order) {
    const AssignItem& item = problem.items[i];
    const std::size_t to =
        std::min(caps ? std::max(item.last, item.leave) : item.last, problem.capacity.size() - 1);
    if (groups.empty() || item.first > groups.back().to) groups.push_back({{}, item.first, to});
    groups.back().items.push_back(i);
    groups.back().to = std::max(groups.back().to, to);
  }
  return groups;
}

class Exchanges {
 public:
  Exchanges(const AssignProblem& problem, Windows windows, std::size_t steps)
      : problem_(problem), windows_(std::move(windows)), use_(use_of(problem, windows_)), steps_(steps) {
    for (std::size_t i = 0; i < windows_.size(); ++i) {
      if (windows_[i] == no_window) continue;
      here_[windows_[i]][problem_.items[i].block].insert(i);
      of_block_[problem_.items[i].block].insert(windows_[i]);
    }
  }

  Windows run() {
    for (bool changed = true; changed && steps_ > 0;) {
      changed = false;
      std::vector<std::uint32_t> split;
      for (const auto& [block, used] : of_block_) {
        if (used.size() > 1) split.push_back(block);
      }
      for (const std::uint32_t block : split) changed = join(block) || changed;
    }
    return std::move(windows_);
  }

 private:
  bool join(std::uint32_t block) {
    const std::vector<std::size_t> used(of_block_[block].begin(), of_block_[block].end());
    for (const std::size_t from : used) {
      for (const std::size_t to : used) {
        if (from != to && steps_ > 0 && join(block, from, to)) return true;
      }
    }
    return false;
  }

  // All of the block that lies in one of its windows goes to another one of them.
  bool join(std::uint32_t block, std::size_t from, std::size_t to) {
    const std::set<std::size_t>& found = here_[from][block];
    const std::vector<std::size_t> moved(found.begin(), found.end());
    for (const std::size_t i : moved) {
      if (problem_.items[i].first > to || problem_.items[i].last < to) return false;
    }
    const std::size_t fewest = to < from ? 0 : moved.size();
    const auto ways = knapsack(block, from, to, moved.size());
    for (std::size_t count = fewest; count <= moved.size(); ++count) {
      if (!ways.splits[count] || (*ways.splits[count] > 0 && count == moved.size())) continue;
      if (exchange(moved, ways.items[count], from, to)) return true;
    }
    return false;
  }

  struct Ways {
    std::vector<std::optional<int>> splits;       // by count; none: impossible
    std::vector<std::vector<std::size_t>> items;  // by count
  };
  Ways knapsack(std::uint32_t block, std::size_t from, std::size_t to, std::size_t most) {
    Ways ways;
    ways.splits.resize(most + 1);
    ways.items.resize(most + 1);
    ways.splits[0] = 0;
    for (const auto& [other, all] : here_[to]) {
      if (other == block || all.empty()) continue;
      std::vector<std::size_t> movable;
      for (const std::size_t i : all) {
        if (problem_.items[i].first <= from && from <= problem_.items[i].last) movable.push_back(i);
      }
      // The last to leave the table goes where it is for the shortest time; the first to leave otherwise.
      std::stable_sort(movable.begin(), movable.end(), [&](std::size_t a, std::size_t b) {
        const std::size_t left = problem_.items[a].leave;
        const std::size_t right = problem_.items[b].leave;
        return to < from ? left > right : left < right;
      });
      const bool is_there = of_block_[other].contains(from);
      for (std::size_t total = most; total > 0; --total) {
        for (std::size_t count = 1; count <= std::min(total, movable.size()); ++count) {
          steps_ -= std::min<std::size_t>(steps_, 1);
          if (!ways.splits[total - count]) continue;
          const bool whole = count == all.size();
          const int splits = *ways.splits[total - count] + (whole ? 0 : 1) - (is_there ? 1 : 0);
          if (ways.splits[total] && *ways.splits[total] <= splits) continue;
          ways.splits[total] = splits;
          ways.items[total] = ways.items[total - count];
          ways.items[total].insert(ways.items[total].end(), movable.begin(),
                                   movable.begin() + static_cast<std::ptrdiff_t>(count));
        }
      }
    }
    return ways;
  }

  // Done when the cost is less for it.
  bool exchange(const std::vector<std::size_t>& moved, const std::vector<std::size_t>& back, std::size_t from,
                std::size_t to) {
    steps_ -= std::min(steps_, moved.size() + problem_.capacity.size());
    const std::uint64_t peak = use_.peak();
    const std::size_t splits = splits_of(moved, back);
    for (const std::size_t i : moved) move(i, no_window);
    for (const std::size_t i : back) move(i, no_window);
    bool fits = true;
    std::vector<std::size_t> done;
    const auto put = [&](std::size_t i, std::size_t w) {
      if (!fits || !(fits = use_.fits(problem_.items[i], w))) return;
      move(i, w);
      done.push_back(i);
    };
    for (const std::size_t i : moved) put(i, to);
    for (const std::size_t i : back) put(i, from);
    if (fits) {
      const auto spent = (static_cast<std::int64_t>(to) - static_cast<std::int64_t>(from)) *
                         (static_cast<std::int64_t>(moved.size()) - static_cast<std::int64_t>(back.size()));
      const AssignCost before{0, 0, peak, splits};
      const AssignCost after{0, spent, use_.peak(), splits_of(moved, back)};
      if (after < before) return true;
    }
    for (const std::size_t i : done) move(i, no_window);
    for (const std::size_t i : moved) move(i, from);
    for (const std::size_t i : back) move(i, to);
    return false;
  }

  // Of the blocks that these items belong to.
  [[nodiscard]] std::size_t splits_of(const std::vector<std::size_t>& some,
                                      const std::vector<std::size_t>& others) const {
    std::set<std::uint32_t> blocks;
    for (const std::size_t i : some) blocks.insert(problem_.items[i].block);
    for (const std::size_t i : others) blocks.insert(problem_.items[i].block);
    std::size_t windows = 0;
    for (const std::uint32_t block : blocks) windows += of_block_.at(block).size();
    return windows - blocks.size();
  }

  void move(std::size_t i, std::size_t w) {
    const AssignItem& item = problem_.items[i];
    if (windows_[i] != no_window) {
      use_.take(item, windows_[i]);
      std::set<std::size_t>& rest = here_[windows_[i]][item.block];
      rest.erase(i);
      if (rest.empty()) of_block_[item.block].erase(windows_[i]);
    }
    windows_[i] = w;
    if (w == no_window) return;
    use_.put(item, w);
    here_[w][item.block].insert(i);
    of_block_[item.block].insert(w);
  }

  const AssignProblem& problem_;
  Windows windows_;
  WindowUse use_;
  std::size_t steps_;
  std::map<std::size_t, std::map<std::uint32_t, std::set<std::size_t>>> here_;  // items by window and block
  std::map<std::uint32_t, std::set<std::size_t>> of_block_;                     // windows by block
};

// The search again, over a few items at a time, all others where they are.
class Rounds {
 public:
  Rounds(const AssignProblem& problem, Assignment best, std::size_t steps)
      : problem_(problem), best_(std::move(best)), use_(use_of(problem, best_.windows)), steps_(steps) {}

  void search(const Group& group, std::size_t steps) {
    if (steps_ == 0 || group.items.size() < 2) return;
    std::size_t to = group.to;
    for (const std::size_t i : group.items) {
      // Not in the table yet: where it would be, the caps must have room.
      if (best_.windows[i] == no_window) to = std::max(to, problem_.items[i].leave);
    }
    const Part part = part_of(problem_, best_.windows, use_, group.items, group.from, to);
    Windows now;
    for (const std::size_t i : part.items) {
      now.push_back(best_.windows[i] == no_window ? no_window : best_.windows[i] - part.from);
    }
    steps = std::min(steps, steps_);
    std::size_t left = steps;
    const Assignment found = assign_best(part.problem, steps, nullptr, &left);
    constexpr std::size_t work = 64;
    steps_ -= std::min(steps_, steps - left + problem_.capacity.size() / work);
    is_complete_ = left > 0;
    if (!(found.cost < cost_of(part.problem, now))) return;
    Windows windows = best_.windows;
    for (std::size_t i = 0; i < part.items.size(); ++i) {
      windows[part.items[i]] = found.windows[i] == no_window ? no_window : found.windows[i] + part.from;
    }
    take_if_better(std::move(windows));
  }

  // Window by window with each other one, and block by block, until nothing is better for it.
  void refine(const Group& group) {
    for (AssignCost before; best_.cost != before && steps_ > 0;) {
      before = best_.cost;
      for (std::size_t a = group.from; a < group.to; ++a) {
        for (std::size_t b = a + 1; b <= group.to && steps_ > 0; ++b) search(of_windows(group, {a, b}), each);
      }
      const std::vector<std::uint32_t> blocks = blocks_of(group);
      for (std::size_t a = 0; a < blocks.size(); ++a) {
        for (std::size_t b = a + 1; b < blocks.size() && steps_ > 0; ++b) {
          search(of_blocks(group, {blocks[a], blocks[b]}), each);
        }
      }
      if (best_.cost < before) continue;
      for (std::size_t a = group.from; a + 1 < group.to; ++a) {
        for (std::size_t b = a + 1; b < group.to; ++b) {
          for (std::size_t c = b + 1; c <= group.to && steps_ > 0; ++c) {
            search(of_windows(group, {a, b, c}), each);
          }
        }
      }
      for (std::size_t a = 0; a < blocks.size(); ++a) {
        for (std::size_t b = a + 1; b < blocks.size(); ++b) {
          for (std::size_t c = b + 1; c < blocks.size() && steps_ > 0; ++c) {
            search(of_blocks(group, {blocks[a], blocks[b], blocks[c]}), each);
          }
        }
      }
    }
  }

  void take_if_better(Windows windows) {
    const AssignCost cost = cost_of(problem_, windows);
    if (!(cost < best_.cost)) return;
    best_ = {std::move(windows), cost};
    use_ = use_of(problem_, best_.windows);
  }
  [[nodiscard]] const Assignment& best() const { return best_; }
  [[nodiscard]] bool is_complete() const { return is_complete_; }

 private:
  static constexpr std::size_t each = 2'000;

  // What lies in these windows, rising, and what lies in none and could.
  [[nodiscard]] Group of_windows(const Group& group, const std::vector<std::size_t>& windows) const {
    Group few{{}, windows.front(), windows.back()};
    for (const std::size_t i : group.items) {
      const AssignItem& item = problem_.items[i];
      const std::size_t w = best_.windows[i];
      const bool could = w == no_window && item.first <= few.to && few.from <= item.last;
      if (could || std::count(windows.begin(), windows.end(), w) > 0) few.items.push_back(i);
    }
    return few;
  }
  [[nodiscard]] std::vector<std::uint32_t> blocks_of(const Group& group) const {
    std::set<std::uint32_t> blocks;
    for (const std::size_t i : group.items) blocks.insert(problem_.items[i].block);
    return {blocks.begin(), blocks.end()};
  }
  [[nodiscard]] Group of_blocks(const Group& group, const std::vector<std::uint32_t>& blocks) const {
    Group few{{}, group.from, group.to};
    for (const std::size_t i : group.items) {
      if (std::count(blocks.begin(), blocks.end(), problem_.items[i].block) > 0) few.items.push_back(i);
    }
    return few;
  }

  const AssignProblem& problem_;
  Assignment best_;
  WindowUse use_;
  std::size_t steps_;
  bool is_complete_ = false;
};

}  // namespace

Assignment assign_better(const AssignProblem& problem, const std::vector<std::size_t>& start,
                         std::size_t steps) {
  Rounds rounds(problem, {start, cost_of(problem, start)}, steps);
  rounds.take_if_better(Exchanges(problem, start, steps).run());
  constexpr std::size_t most_searched = 40;
  for (const Group& group : groups_of(problem)) {
    if (group.items.size() > most_searched) continue;
    rounds.search(group, steps / 2);
    if (!rounds.is_complete()) rounds.refine(group);
  }
  return rounds.best();
}

}  // namespace cairn
