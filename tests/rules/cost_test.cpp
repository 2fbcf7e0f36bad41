// The cost of a rule, counted in elementary steps: linear in what happens, and the same for windows of any
// length.

#include <gtest/gtest.h>

#include <functional>
#include <random>

#include "tests/rules/sample.h"

namespace cairn::test {
namespace {

// `count` of each: knots of a signal, spells, events; a minute or so between them.
struct Long {
  Sample s;
  RuleNodeId low;
  RuleNodeId on;
  RuleNodeId other;
  RuleNodeId sent;

  explicit Long(int count) : s(count * 60) {
    std::mt19937 random(7);
    const auto below = [&random](int most) {
      return std::uniform_int_distribution<int>(0, most - 1)(random);
    };
    Signal reserve;
    std::vector<Occurrence> spells;
    std::vector<Occurrence> more;
    std::vector<Occurrence> events;
    for (int i = 0; i < count; ++i) {
      reserve.times.push_back(at(i * 60));
      reserve.nominal.push_back(below(100));
      spells.push_back(spell(i * 60 + below(10), i * 60 + 15 + below(40)));
      more.push_back(spell(i * 60 + 1 + below(10), i * 60 + 15 + below(40)));
      events.push_back(happening(i * 60 + below(60)));
    }
    reserve.lower = reserve.upper = reserve.nominal;
    reserve.dimension = dimensions::power;
    low = s.at_least(s.number(reserve), 30);
    on = s.held(spells);
    other = s.held(more);
    sent = s.happens(events);
  }
};

using Make = std::function<RuleNodeId(Long&, std::int64_t)>;
struct Case {
  const char* name;
  Make make;
};

const std::vector<Case>& all_cases() {
  static const std::vector<Case> cases = {
      {"always", [](Long& l, std::int64_t d) { return l.s.always(l.low, 0, d); }},
      {"sometime", [](Long& l, std::int64_t d) { return l.s.sometime(l.low, -d, d); }},
      {"nested",
       [](Long& l, std::int64_t d) { return l.s.always(l.s.sometime(l.s.always(l.low, 0, d), 0, d), 0, d); }},
      {"while", [](Long& l, std::int64_t d) { return whilst(l.s.book, l.on, l.s.sometime(l.low, 0, d)); }},
      {"duty", [](Long& l, std::int64_t d) { return spent_at_most(l.s.book, l.on, secs(d), secs(d)); }},
      {"rate", [](Long& l, std::int64_t d) { return times_at_most(l.s.book, l.sent, 5, secs(d)); }},
      {"each",
       [](Long& l, std::int64_t d) {
         return over_span(l.s.book, RuleOperator::AtEach, l.sent, l.s.always(l.low, 0, d));
       }},
      {"after",
       [](Long& l, std::int64_t d) {
         return over_span(l.s.book, RuleOperator::OnlyAfter, l.sent, l.on, secs(d));
       }},
      {"followed",
       [](Long& l, std::int64_t d) {
         return over_span(l.s.book, RuleOperator::FollowedBy, l.on, l.sent, secs(d));
       }},
      {"apart",
       [](Long& l, std::int64_t d) {
         return over_span(l.s.book, RuleOperator::Apart, l.on, l.sent, secs(d));
       }},
      {"dwell",
       [](Long& l, std::int64_t d) {
         return over_span(l.s.book, RuleOperator::LastsAtLeast, l.low, {}, secs(d));
       }},
      {"inside",
       [](Long& l, std::int64_t) { return over_span(l.s.book, RuleOperator::OnlyInside, l.on, l.other); }},
      {"never inside",
       [](Long& l, std::int64_t) { return over_span(l.s.book, RuleOperator::NeverInside, l.on, l.other); }},
      {"times",
       [](Long& l, std::int64_t) {
         return over_span(l.s.book, RuleOperator::AtMostTimes, l.sent, {}, {}, 3);
       }},
      {"never after",
       [](Long& l, std::int64_t) { return over_span(l.s.book, RuleOperator::NeverAfter, l.on, l.sent); }},
      {"since",
       [](Long& l, std::int64_t d) {
         return whilst(
             l.s.book, l.on,
             l.s.at_most(number_of(l.s.book, RuleOperator::TimeSince, l.sent), static_cast<double>(d)));
       }},
  };
  return cases;
}

std::size_t steps_of(const Case& one, int count, std::int64_t window) {
  Long l(count);
  const RuleAnswer answer = l.s.answer(one.make(l, window));
  EXPECT_EQ(answer.trouble, RuleTrouble::None);
  return answer.steps;
}

TEST(Cost, TwiceAsMuchHappensInTwiceTheSteps) {
  for (const Case& one : all_cases()) {
    const std::size_t small = steps_of(one, 1000, 600);
    const std::size_t large = steps_of(one, 16000, 600);
    EXPECT_GT(small, 500U) << one.name;
    EXPECT_LT(static_cast<double>(large), 1.25 * 16 * static_cast<double>(small)) << one.name;
    EXPECT_LT(small, 60U * 1000) << one.name;
  }
}

TEST(Cost, LongWindowsCostNoMoreThanShortOnes) {
  for (const Case& one : all_cases()) {
    const std::size_t brief = steps_of(one, 4000, 30);
    for (const std::int64_t window : {300, 3000, 30000, 200000}) {
      EXPECT_LT(static_cast<double>(steps_of(one, 4000, window)), 1.6 * static_cast<double>(brief))
          << one.name << " " << window;
    }
  }
}

// A load may expect the same state a thousand times.
TEST(Cost, WhatManyRulesAskIsOneNode) {
  RuleBook book;
  const PartId part{3};
  const RuleState on{part, {StateId{1}}, StateReading::Rests};
  const RuleNodeId first = spells(book, on);
  EXPECT_EQ(spells(book, on), first);
  EXPECT_EQ(book.nodes.size(), 1U);
  EXPECT_EQ(book.spells.size(), 1U);
  EXPECT_NE(spells(book, RuleState{part, {StateId{1}}, StateReading::Touches}), first);
  EXPECT_NE(spells(book, RuleState{part, {StateId{2}}, StateReading::Rests}), first);
  EXPECT_NE(spells(book, RuleMoving{part}), first);
  EXPECT_EQ(spells(book, RuleMoving{part}), spells(book, RuleMoving{part}));
  EXPECT_NE(spells(book, RuleWindow{}), spells(book, RuleMoving{}));
  // Intervals stand each for themselves.
  const RuleInterval interval{exactly(1), exactly(2)};
  EXPECT_NE(spells(book, interval), spells(book, interval));
}

// The guard itself: what looks at every second of every window is found.
TEST(Cost, ASlowWayWouldBeSeen) {
  Long l(200);
  RuleNodeId all = l.low;
  for (int i = 1; i < 50; ++i) all = both(l.s.book, all, l.s.always(l.low, i, i));
  const std::size_t slow = l.s.answer(negation(l.s.book, negation(l.s.book, all))).steps;
  EXPECT_GT(slow, 20 * steps_of(all_cases()[0], 200, 50));
}

}  // namespace
}  // namespace cairn::test
