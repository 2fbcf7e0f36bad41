// Laws of the logic on random rules: negation flips the sign, de Morgan, always and sometime as each other's
// contraries, windows that add up and commute, and that no order of anything matters.

#include <gtest/gtest.h>

#include <algorithm>
#include <numeric>

#include "tests/rules/random_rules.h"

namespace cairn::test {
namespace {

constexpr unsigned cases = 3000;

// Conditions as they stand at some second of the span.
struct At {
  Sample& sample;
  RuleNodeId mark;
  At(RandomRules& random, Sample& all) : sample(all) {
    const auto length = (sample.evidence.end - sample.evidence.begin).nanoseconds / nanoseconds_per_second;
    mark = sample.happens({happening(random.below(static_cast<int>(length) + 1))});
  }
  RuleAnswer answer(RuleNodeId condition) {
    return sample.answer(over_span(sample.book, RuleOperator::AtEach, mark, condition));
  }
};

void expect_equal(const RuleAnswer& a, const RuleAnswer& b, unsigned seed) {
  ASSERT_EQ(a.verdict, b.verdict) << seed;
  ASSERT_EQ(a.margin, b.margin) << seed;
  ASSERT_EQ(a.nominal_margin, b.nominal_margin) << seed;
  ASSERT_EQ(a.has_margin, b.has_margin) << seed;
  ASSERT_EQ(a.dimension, b.dimension) << seed;
}

TEST(Algebra, NegationFlipsTheSign) {
  for (unsigned seed = 0; seed < cases; ++seed) {
    RandomRules random(seed, seed % 2 == 0, false);
    Sample& s = random.sample();
    const RuleNodeId a = random.condition(3);
    At at(random, s);
    const RuleAnswer plain = at.answer(a);
    const RuleAnswer contrary = at.answer(negation(s.book, a));
    ASSERT_EQ(contrary.nominal_margin, -plain.nominal_margin) << seed;
    ASSERT_NE(contrary.verdict == Verdict::Fails, plain.verdict == Verdict::Fails) << seed;
    // Both cannot be proven, and what is proven the contrary of fails.
    if (plain.verdict == Verdict::Holds) {
      ASSERT_EQ(contrary.verdict, Verdict::Fails) << seed;
    }
    expect_equal(at.answer(negation(s.book, negation(s.book, a))), plain, seed);
  }
}

TEST(Algebra, DeMorgan) {
  for (unsigned seed = 0; seed < cases; ++seed) {
    RandomRules random(seed + 10'000, seed % 2 == 0, false);
    Sample& s = random.sample();
    RuleBook& book = s.book;
    const RuleNodeId a = random.condition(2);
    const RuleNodeId b = random.condition(2);
    At at(random, s);
    expect_equal(at.answer(negation(book, both(book, a, b))),
                 at.answer(either(book, negation(book, a), negation(book, b))), seed);
    expect_equal(at.answer(negation(book, either(book, a, b))),
                 at.answer(both(book, negation(book, a), negation(book, b))), seed);
    expect_equal(at.answer(both(book, a, b)), at.answer(both(book, b, a)), seed);
    expect_equal(at.answer(whilst(book, a, b)), at.answer(negation(book, both(book, a, negation(book, b)))),
                 seed);
  }
}

TEST(Algebra, AlwaysIsNeverNot) {
  for (unsigned seed = 0; seed < cases; ++seed) {
    RandomRules random(seed + 20'000, seed % 2 == 0, false);
    Sample& s = random.sample();
    const RuleNodeId a = random.condition(2);
    const int from = random.below(14) - 7;
    const int to = from + random.below(10);
    At at(random, s);
    expect_equal(at.answer(s.always(a, from, to)),
                 at.answer(negation(s.book, s.sometime(negation(s.book, a), from, to))), seed);
  }
}

TEST(Algebra, WindowsAddUpAndCommute) {
  for (unsigned seed = 0; seed < cases; ++seed) {
    RandomRules random(seed + 30'000, seed % 2 == 0, false);
    Sample& s = random.sample();
    const RuleNodeId a = random.condition(2);
    const int sign = random.below(2) == 0 ? 1 : -1;
    int at_least[2];
    int at_most[2];
    for (int i = 0; i < 2; ++i) {
      at_least[i] = random.below(4);
      at_most[i] = at_least[i] + random.below(6);
    }
    const bool always = random.below(2) == 0;
    const auto window = [&](RuleNodeId of, int least, int most) {
      const int from = sign > 0 ? least : -most;
      const int to = sign > 0 ? most : -least;
      return always ? s.always(of, from, to) : s.sometime(of, from, to);
    };
    At at(random, s);
    const RuleNodeId one = window(window(a, at_least[0], at_most[0]), at_least[1], at_most[1]);
    const RuleNodeId other = window(window(a, at_least[1], at_most[1]), at_least[0], at_most[0]);
    const RuleNodeId whole = window(a, at_least[0] + at_least[1], at_most[0] + at_most[1]);
    expect_equal(at.answer(one), at.answer(other), seed);
    expect_equal(at.answer(one), at.answer(whole), seed);
  }
}

TEST(Algebra, WindowsGoThroughAndAndOr) {
  for (unsigned seed = 0; seed < cases; ++seed) {
    RandomRules random(seed + 40'000, seed % 2 == 0, false);
    Sample& s = random.sample();
    RuleBook& book = s.book;
    // Of one dimension: where only true and false are left, a single instant does not count.
    const auto reserve = [&] { return s.at_most(RuleNodeId{0}, random.below(4)); };
    const RuleNodeId a = s.always(reserve(), 0, random.below(4));
    const RuleNodeId b = s.sometime(reserve(), -random.below(4), 2);
    const int from = random.below(14) - 7;
    const int to = from + random.below(10);
    At at(random, s);
    expect_equal(at.answer(s.always(both(book, a, b), from, to)),
                 at.answer(both(book, s.always(a, from, to), s.always(b, from, to))), seed);
    expect_equal(at.answer(s.sometime(either(book, a, b), from, to)),
                 at.answer(either(book, s.sometime(a, from, to), s.sometime(b, from, to))), seed);
    expect_equal(at.answer(both(book, a, either(book, a, b))), at.answer(a), seed);
  }
}

// The same book with its tables in another order, and every commutative pair exchanged.
TEST(Algebra, NoOrderMatters) {
  for (unsigned seed = 0; seed < cases; ++seed) {
    RandomRules random(seed + 50'000, seed % 2 == 0, false);
    Sample& s = random.sample();
    const RuleNodeId a = random.condition(4);
    Sample turned = s;
    const auto turn = [](auto& list) { std::reverse(list.begin(), list.end()); };
    turn(turned.evidence.signals);
    turn(turned.evidence.spells);
    turn(turned.evidence.events);
    turn(turned.evidence.times_before);
    const auto from_end = [](std::uint32_t value, std::size_t size) {
      return static_cast<std::uint32_t>(size) - 1 - value;
    };
    for (RuleNode& node : turned.book.nodes) {
      if (node.signal.is_valid()) node.signal.value = from_end(node.signal.value, s.evidence.signals.size());
      if (node.spells.is_valid()) node.spells.value = from_end(node.spells.value, s.evidence.spells.size());
      if (node.events.is_valid()) node.events.value = from_end(node.events.value, s.evidence.events.size());
      if (node.kind == RuleOperator::And || node.kind == RuleOperator::Or ||
          node.kind == RuleOperator::Apart) {
        std::swap(node.a, node.b);
      }
    }
    const RuleAnswer plain = s.answer(a);
    const RuleAnswer other = turned.answer(a);
    ASSERT_EQ(other.verdict, plain.verdict) << seed;
    // Parts of different dimensions have no order among themselves; the first that decides is told.
    if (other.dimension == plain.dimension && other.has_margin == plain.has_margin) {
      ASSERT_EQ(other.margin, plain.margin) << seed;
    } else {
      ASSERT_EQ(s.book.nodes[a].kind, RuleOperator::And) << seed;
    }
  }
}

}  // namespace
}  // namespace cairn::test
