// Random rules on random timelines against the definitions spelt out, and against courses inside the bounds.

#include "tests/rules/brute.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "tests/rules/random_rules.h"

namespace cairn::test {
namespace {

constexpr unsigned cases = 12000;

// What a rule joins by `and` is answered part by part.
std::vector<RuleNodeId> parts_of(const RuleBook& book, RuleNodeId condition) {
  const RuleNode& node = book.nodes[condition];
  if (node.kind != RuleOperator::And) return {condition};
  std::vector<RuleNodeId> result = parts_of(book, node.a);
  const std::vector<RuleNodeId> more = parts_of(book, node.b);
  result.insert(result.end(), more.begin(), more.end());
  return result;
}

TEST(Brute, ExactRulesComeToWhatTheDefinitionsSay) {
  std::array<int, 3> verdicts{};
  int with_margin = 0;
  for (unsigned seed = 0; seed < cases; ++seed) {
    RandomRules random(seed, false, false);
    const RuleNodeId condition = random.condition(1 + random.below(4));
    const Sample& sample = random.sample();
    ASSERT_FALSE(fault(sample.book)) << seed;
    const RuleAnswer found = sample.answer(condition);
    ASSERT_EQ(found.trouble, RuleTrouble::None) << seed;
    const std::vector<RuleNodeId> parts = parts_of(sample.book, condition);
    std::vector<BruteAnswer> expected;
    for (const RuleNodeId part : parts) {
      expected.push_back(brute_answer(sample.book, sample.evidence, part));
    }
    const bool met =
        std::all_of(expected.begin(), expected.end(), [](const BruteAnswer& part) { return part.worst.met; });
    ASSERT_EQ(found.verdict, met ? Verdict::Holds : Verdict::Fails) << seed;
    ++verdicts[static_cast<std::size_t>(found.verdict)];
    if (parts.size() > 1) continue;
    const BruteValue& worst = expected[0].worst;
    ASSERT_EQ(found.has_margin, expected[0].has_dimension && std::isfinite(worst.margin)) << seed;
    ASSERT_EQ(found.margin, worst.margin) << seed;
    with_margin += found.has_margin ? 1 : 0;
  }
  // All kinds of cases came up.
  EXPECT_GT(verdicts[0], 1000);
  EXPECT_GT(verdicts[2], 1000);
  EXPECT_GT(with_margin, 3000);
}

TEST(Brute, NothingInsideTheBoundsIsWorseThanTheLowerOrBetterThanTheUpper) {
  std::array<int, 3> verdicts{};
  for (unsigned seed = 0; seed < cases; ++seed) {
    RandomRules random(seed + 1'000'000, true, true);
    RuleNodeId condition = random.condition(1 + random.below(4));
    Sample& sample = random.sample();
    // The upper bound is the lower one of the contrary.
    const RuleNodeId contrary = negation(sample.book, condition);
    const RuleNodeId start = sample.happens({happening(0)});
    const auto at_start = [&](RuleNodeId what) {
      return over_span(sample.book, RuleOperator::AtEach, start, what);
    };
    const RuleNodeId now = at_start(condition);
    const RuleNodeId not_now = at_start(contrary);
    const RuleAnswer answer = sample.answer(now);
    const RuleAnswer opposite = sample.answer(not_now);
    ++verdicts[static_cast<std::size_t>(answer.verdict)];
    const double lower = answer.verdict == Verdict::Fails ? -surely : answer.margin;
    const double upper = opposite.verdict == Verdict::Fails ? surely : -opposite.margin;
    for (int i = 0; i < 6; ++i) {
      Sample one = sample;
      one.evidence = random.inside_bounds();
      const RuleAnswer possible = one.answer(now);
      ASSERT_EQ(possible.trouble, RuleTrouble::None) << seed;
      ASSERT_GE(possible.margin, lower) << seed;
      ASSERT_LE(possible.margin, upper) << seed;
      if (answer.verdict == Verdict::Holds) {
        ASSERT_EQ(possible.verdict, Verdict::Holds) << seed;
      }
    }
  }
  EXPECT_GT(verdicts[0], 1000);
  EXPECT_GT(verdicts[1], 500);
  EXPECT_GT(verdicts[2], 1000);
}

}  // namespace
}  // namespace cairn::test
