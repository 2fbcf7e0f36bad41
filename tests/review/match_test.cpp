// The matching against its definition: every pairing of small cases is tried by brute force.

#include "compiler/review/match.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <random>
#include <set>
#include <tuple>

namespace cairn {
namespace {

// Least total change among all ways to pair as many of one intent as can be.
ChangeCost least_by_trying(const std::vector<MatchItem>& before, const std::vector<MatchItem>& after) {
  const bool turned = before.size() > after.size();
  const auto& few = turned ? after : before;
  const auto& many = turned ? before : after;
  std::vector<std::size_t> order(many.size());
  for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
  ChangeCost least;
  bool first = true;
  do {
    ChangeCost sum;
    for (std::size_t i = 0; i < few.size(); ++i) sum = sum + change_between(few[i], many[order[i]]);
    if (first || sum < least) least = sum;
    first = false;
  } while (std::next_permutation(order.begin(), order.end()));
  return least;
}

std::vector<MatchItem> random_items(std::mt19937& random, std::size_t count, std::uint32_t intents) {
  std::vector<MatchItem> items;
  for (std::size_t i = 0; i < count; ++i) {
    MatchItem item;
    item.intent = static_cast<std::uint32_t>(random() % intents);
    item.command = item.intent / 2;
    item.arguments = static_cast<std::uint32_t>(random() % 3);
    item.statement = static_cast<std::uint32_t>(random() % 2);
    item.time = static_cast<std::int64_t>(random() % 5) * 1'000'000'000;
    items.push_back(item);
  }
  return items;
}

TEST(Match, TotalChangeIsTheLeastThatTryingAllFinds) {
  std::mt19937 random(20310514);
  std::size_t with_a_choice = 0;
  for (int round = 0; round < 1500; ++round) {
    const auto before = random_items(random, random() % 7, 1);
    const auto after = random_items(random, random() % 7, 1);
    const auto pairs = match_commands(before, after);
    ASSERT_EQ(pairs.size(), std::min(before.size(), after.size()));
    ChangeCost sum;
    for (const MatchPair& pair : pairs) sum = sum + change_between(before[pair.before], after[pair.after]);
    const ChangeCost least = least_by_trying(before, after);
    EXPECT_EQ(sum.tiers, least.tiers) << "round " << round;
    with_a_choice += least > ChangeCost{} ? 1U : 0U;
  }
  EXPECT_GT(with_a_choice, 1000U);
}

TEST(Match, SeveralIntentsAreEachLeastAndEachItemIsUsedOnce) {
  std::mt19937 random(42);
  for (int round = 0; round < 300; ++round) {
    const auto before = random_items(random, random() % 12, 3);
    const auto after = random_items(random, random() % 12, 3);
    const auto pairs = match_commands(before, after);
    std::set<std::size_t> olds;
    std::set<std::size_t> news;
    std::map<std::uint32_t, ChangeCost> sums;
    for (const MatchPair& pair : pairs) {
      EXPECT_TRUE(olds.insert(pair.before).second);
      EXPECT_TRUE(news.insert(pair.after).second);
      const MatchItem& a = before[pair.before];
      const MatchItem& b = after[pair.after];
      if (a.intent == b.intent) {
        sums[a.intent] = sums[a.intent] + change_between(a, b);
      } else {
        EXPECT_EQ(std::tuple(a.command, a.arguments, a.time), std::tuple(b.command, b.arguments, b.time));
      }
    }
    for (std::uint32_t intent = 0; intent < 3; ++intent) {
      std::vector<MatchItem> some_before;
      std::vector<MatchItem> some_after;
      std::copy_if(before.begin(), before.end(), std::back_inserter(some_before),
                   [&](const MatchItem& item) { return item.intent == intent; });
      std::copy_if(after.begin(), after.end(), std::back_inserter(some_after),
                   [&](const MatchItem& item) { return item.intent == intent; });
      if (some_before.size() > 6 || some_after.size() > 6) continue;
      EXPECT_EQ(sums[intent].tiers, least_by_trying(some_before, some_after).tiers);
    }
  }
}

MatchItem item(std::uint32_t intent, std::int64_t time, std::uint32_t arguments = 0,
               std::uint32_t statement = 0) {
  return {intent, 0, arguments, statement, time};
}

TEST(Match, EqualOnesThatChangePlacesAreNoChange) {
  const std::vector<MatchItem> before{item(1, 10, 0, 0), item(1, 20, 0, 1)};
  const std::vector<MatchItem> after{item(1, 20, 0, 0), item(1, 10, 0, 1)};
  for (const MatchPair& pair : match_commands(before, after)) {
    EXPECT_EQ(before[pair.before].time, after[pair.after].time);
  }
}

TEST(Match, IntentComesBeforeTime) {
  // The one of intent 1 moves away; one of intent 2 comes to its old time.
  const auto pairs = match_commands({item(1, 10)}, {item(1, 50), item(2, 10)});
  ASSERT_EQ(pairs.size(), 1U);
  EXPECT_EQ(pairs[0].after, 0U);
}

TEST(Match, WhatOnlyHasAnotherBlockIsTheSame) {
  const auto pairs = match_commands({item(1, 10)}, {item(2, 10)});
  EXPECT_EQ(pairs.size(), 1U);
  EXPECT_TRUE(match_commands({item(1, 10)}, {item(2, 11)}).empty());
}

TEST(Match, ManyAreStillAllPaired) {
  std::vector<MatchItem> before;
  std::vector<MatchItem> after;
  for (std::int64_t i = 0; i < 20'000; ++i) {
    before.push_back(item(1, i * 60, static_cast<std::uint32_t>(i % 7)));
    after.push_back(item(1, i * 60 + 5, static_cast<std::uint32_t>(i % 7)));
  }
  const auto pairs = match_commands(before, after);
  ASSERT_EQ(pairs.size(), before.size());
  for (const MatchPair& pair : pairs) EXPECT_EQ(pair.before, pair.after);
}

}  // namespace
}  // namespace cairn
