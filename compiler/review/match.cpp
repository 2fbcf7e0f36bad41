// Equal ones first; then the assignment of least change among the rest of each intent.

#include "compiler/review/match.h"

#include <algorithm>
#include <cstdlib>
#include <map>
#include <tuple>

namespace cairn {

namespace {

using Indices = std::vector<std::size_t>;

class Matcher {
 public:
  Matcher(const std::vector<MatchItem>& before, const std::vector<MatchItem>& after)
      : before_(before), after_(after), before_free_(before.size(), true), after_free_(after.size(), true) {}

  std::vector<MatchPair> all() {
    std::map<std::uint32_t, std::pair<Indices, Indices>> intents;
    for (std::size_t i = 0; i < before_.size(); ++i) intents[before_[i].intent].first.push_back(i);
    for (std::size_t i = 0; i < after_.size(); ++i) intents[after_[i].intent].second.push_back(i);
    for (auto& [intent, sides] : intents) {
      auto& [olds, news] = sides;
      // What is equal in all goes together: no other pairing can be better, since changes obey the triangle's
      // rule.
      pair_equal(olds, news,
                 [](const MatchItem& item) { return std::tuple(item.arguments, item.time, item.statement); });
      drop_paired(olds, news);
      if (olds.size() <= exact_match_limit && news.size() <= exact_match_limit) {
        pair_cheapest(olds, news);
      } else {
        pair_in_order(olds, news);
      }
    }
    Indices olds;
    Indices news;
    for (std::size_t i = 0; i < before_.size(); ++i) olds.push_back(i);
    for (std::size_t i = 0; i < after_.size(); ++i) news.push_back(i);
    pair_equal(olds, news,
               [](const MatchItem& item) { return std::tuple(item.command, item.arguments, item.time); });
    std::sort(pairs_.begin(), pairs_.end());
    return std::move(pairs_);
  }

 private:
  void pair(std::size_t old_one, std::size_t new_one) {
    before_free_[old_one] = false;
    after_free_[new_one] = false;
    pairs_.push_back({old_one, new_one});
  }

  template <class Key>
  void pair_equal(const Indices& olds, const Indices& news, Key key) {
    std::map<decltype(key(MatchItem{})), Indices> waiting;
    for (auto it = olds.rbegin(); it != olds.rend(); ++it) {
      if (before_free_[*it]) waiting[key(before_[*it])].push_back(*it);
    }
    for (const std::size_t new_one : news) {
      if (!after_free_[new_one]) continue;
      const auto found = waiting.find(key(after_[new_one]));
      if (found == waiting.end() || found->second.empty()) continue;
      pair(found->second.back(), new_one);
      found->second.pop_back();
    }
  }

  void drop_paired(Indices& olds, Indices& news) {
    std::erase_if(olds, [this](std::size_t i) { return !before_free_[i]; });
    std::erase_if(news, [this](std::size_t i) { return !after_free_[i]; });
  }

  void pair_cheapest(const Indices& olds, const Indices& news) {
    const bool turned = olds.size() > news.size();
    const Indices& rows = turned ? news : olds;
    const Indices& columns = turned ? olds : news;
    const auto chosen =
        cheapest_assignment(rows.size(), columns.size(), [&](std::size_t row, std::size_t column) {
          const std::size_t old_one = turned ? columns[column] : rows[row];
          const std::size_t new_one = turned ? rows[row] : columns[column];
          return change_between(before_[old_one], after_[new_one]);
        });
    for (std::size_t row = 0; row < rows.size(); ++row) {
      if (turned) {
        pair(columns[chosen[row]], rows[row]);
      } else {
        pair(rows[row], columns[chosen[row]]);
      }
    }
  }

  void pair_in_order(Indices olds, Indices news) {
    pair_equal(olds, news, [](const MatchItem& item) { return std::tuple(item.arguments, item.time); });
    drop_paired(olds, news);
    pair_equal(olds, news, [](const MatchItem& item) { return item.time; });
    drop_paired(olds, news);
    const auto by_time = [](const std::vector<MatchItem>& items) {
      return [&items](std::size_t a, std::size_t b) { return items[a].time < items[b].time; };
    };
    std::stable_sort(olds.begin(), olds.end(), by_time(before_));
    std::stable_sort(news.begin(), news.end(), by_time(after_));
    pair_equal(olds, news, [](const MatchItem& item) { return item.arguments; });
    drop_paired(olds, news);
    for (std::size_t i = 0; i < std::min(olds.size(), news.size()); ++i) pair(olds[i], news[i]);
  }

  const std::vector<MatchItem>& before_;
  const std::vector<MatchItem>& after_;
  std::vector<bool> before_free_;
  std::vector<bool> after_free_;
  std::vector<MatchPair> pairs_;
};

}  // namespace

ChangeCost change_between(const MatchItem& before, const MatchItem& after) {
  ChangeCost cost;
  cost.tiers[0] = (before.arguments != after.arguments ? 1 : 0) + (before.time != after.time ? 1 : 0);
  cost.tiers[1] = before.statement != after.statement ? 1 : 0;
  cost.tiers[2] = std::abs(before.time - after.time);
  return cost;
}

std::vector<MatchPair> match_commands(const std::vector<MatchItem>& before,
                                      const std::vector<MatchItem>& after) {
  return Matcher(before, after).all();
}

}  // namespace cairn
