// Input that no one should send: it gets an answer or a reason, never a crash or a wrong word.

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "tests/rules/random_rules.h"

namespace cairn::test {
namespace {

RuleTrouble trouble(const Sample& s, RuleNodeId condition) { return s.answer(condition).trouble; }

TEST(Hostile, EmptySpan) {
  Sample s(0);
  const RuleNodeId x = s.number(signal({{0, 1}}));
  const RuleNodeId on = s.held({});
  const RuleNodeId sent = s.happens({happening(0)});
  for (const RuleNodeId condition :
       {s.at_least(x, 5), s.always(s.at_least(x, 5), 0, 10), negation(s.book, on),
        spent_at_most(s.book, on, secs(1), secs(5)), times_at_most(s.book, sent, 0, secs(5)),
        over_span(s.book, RuleOperator::LastsAtLeast, s.at_least(x, 0), {}, secs(5)),
        over_span(s.book, RuleOperator::AtEach, sent, s.at_least(x, 5))}) {
    const RuleAnswer answer = s.answer(condition);
    EXPECT_EQ(answer.trouble, RuleTrouble::None);
    EXPECT_EQ(answer.verdict, Verdict::Holds);
    EXPECT_TRUE(answer.vacuous);
    EXPECT_FALSE(answer.has_margin);
  }
}

TEST(Hostile, WindowsOfNoLengthAndWithoutEnd) {
  Sample s(10);
  const RuleNodeId x = s.number(signal({{0, 1}, {10, 3}}));
  const RuleNodeId least = s.at_least(x, 2);
  EXPECT_EQ(s.answer(s.always(least, 0, 0)).margin, s.answer(least).margin);
  const RuleNodeId ever =
      windowed(s.book, RuleOperator::Sometime, least, longest_duration * -1, longest_duration);
  EXPECT_EQ(s.answer(ever).margin, 1);
  EXPECT_EQ(s.answer(s.always(least, 10, 20)).vacuous, true);
  const RuleAnswer nothing = s.answer(s.sometime(least, 10, 20));
  EXPECT_EQ(nothing.verdict, Verdict::Fails);
  EXPECT_FALSE(nothing.has_margin);
  const RuleNodeId on = s.held({spell(2, 5)});
  EXPECT_EQ(s.answer(spent_at_most(s.book, on, secs(0), secs(0))).margin, 0);
  EXPECT_EQ(s.answer(spent_at_most(s.book, on, secs(3), longest_duration)).margin, 0);
  const RuleNodeId sent = s.happens({happening(2), happening(3)});
  EXPECT_EQ(s.answer(times_at_most(s.book, sent, 0, secs(0))).margin, 0);
  EXPECT_EQ(s.answer(times_at_most(s.book, sent, 2, longest_duration)).margin, 0);
  EXPECT_EQ(s.answer(over_span(s.book, RuleOperator::Apart, sent, sent, longest_duration)).verdict,
            Verdict::Fails);
}

TEST(Hostile, SignalsThatAreNoSignals) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const double infinite = std::numeric_limits<double>::infinity();
  std::vector<Signal> bad(7, signal({{0, 1}, {5, 2}, {10, 3}}));
  bad[0].nominal[1] = nan;
  bad[1].lower[2] = nan;
  bad[2].upper[0] = bad[2].nominal[0] = infinite;
  bad[3].times[1] = at(20);
  bad[4].lower.pop_back();
  bad[5] = Signal{};
  bad[6].lower[1] = 2.5;
  for (const Signal& one : bad) {
    Sample s(10);
    const RuleNodeId broken = s.at_least(s.number(one), 0);
    const RuleNodeId sound = s.at_least(s.number(signal({{0, 1}})), 0);
    const RuleAnswer answer = s.answer(negation(s.book, either(s.book, sound, broken)));
    EXPECT_EQ(answer.trouble, RuleTrouble::UnusableSignal);
    EXPECT_EQ(answer.verdict, Verdict::Fails);
    // A rule that does not look at it has its answer.
    EXPECT_EQ(trouble(s, sound), RuleTrouble::None);
  }
}

TEST(Hostile, TimesOutOfOrder) {
  Sample s(10);
  const RuleNodeId crossed = s.held({spell(5, 8), spell(2, 3)});
  const RuleNodeId touching = s.held({spell(2, 5), spell(5, 8)});
  const RuleNodeId backwards = s.held({spell(8, 5)});
  EXPECT_EQ(trouble(s, crossed), RuleTrouble::UnusableTimes);
  EXPECT_EQ(trouble(s, backwards), RuleTrouble::UnusableTimes);
  EXPECT_EQ(trouble(s, touching), RuleTrouble::None);
  Occurrence far = happening(1);
  far.end = far.begin = {Instant{std::numeric_limits<std::int64_t>::max()}, at(1),
                         Instant{std::numeric_limits<std::int64_t>::max()}};
  const RuleNodeId beyond = s.happens({far});
  EXPECT_EQ(trouble(s, over_span(s.book, RuleOperator::AtMostTimes, beyond, {}, {}, 1)),
            RuleTrouble::UnusableTimes);
  s.evidence.end = at(-1);
  EXPECT_EQ(trouble(s, touching), RuleTrouble::UnusableTimes);
}

TEST(Hostile, FaultyBooks) {
  const auto kind = [](const RuleBook& book) { return fault(book).value().kind; };
  Sample s(10);
  const RuleNodeId x = s.number(signal({{0, 1}}));
  const RuleNodeId sent = s.happens({happening(2)});
  const RuleNodeId on = s.held({spell(2, 5)});
  ASSERT_FALSE(fault(s.book));
  const auto with = [&s](RuleOperator op, RuleNodeId a, RuleNodeId b, std::int64_t first = 0,
                         std::int64_t second = 0) {
    RuleBook book = s.book;
    RuleNode node;
    node.kind = op;
    node.a = a;
    node.b = b;
    node.first = secs(first);
    node.second = secs(second);
    book.nodes.add(node);
    return book;
  };
  EXPECT_EQ(kind(with(RuleOperator::And, on, {})), RuleFaultKind::NoSuchNode);
  EXPECT_EQ(kind(with(RuleOperator::And, on, RuleNodeId{99})), RuleFaultKind::NoSuchNode);
  EXPECT_EQ(kind(with(RuleOperator::Not, RuleNodeId{3}, {})), RuleFaultKind::NoSuchNode);  // itself
  EXPECT_EQ(kind(with(RuleOperator::And, on, x)), RuleFaultKind::WrongSort);
  EXPECT_EQ(kind(with(RuleOperator::TimeSince, on, {})), RuleFaultKind::WrongSort);
  EXPECT_EQ(kind(with(RuleOperator::AtLeast, on, {})), RuleFaultKind::WrongSort);
  EXPECT_EQ(kind(with(RuleOperator::Apart, x, sent)), RuleFaultKind::WrongSort);
  EXPECT_EQ(kind(with(RuleOperator::LastsAtMost, sent, {})), RuleFaultKind::WrongSort);
  EXPECT_EQ(kind(with(RuleOperator::Always, on, {}, 5, 4)), RuleFaultKind::BadDuration);
  EXPECT_EQ(kind(with(RuleOperator::Apart, on, on, -1)), RuleFaultKind::BadDuration);
  EXPECT_EQ(kind(with(RuleOperator::Spells, {}, {})), RuleFaultKind::NoSuchEntry);
  RuleBook book = s.book;
  compare(book, RuleOperator::AtLeast, x, std::numeric_limits<double>::quiet_NaN());
  EXPECT_EQ(kind(book), RuleFaultKind::BadLimit);
  book = s.book;
  book.rules.add({"rule", "", sent, no_origin});
  EXPECT_EQ(kind(book), RuleFaultKind::WrongSort);
  EXPECT_EQ(evaluate(book, s.evidence).front().trouble, RuleTrouble::FaultyBook);
  s.evidence.spells.clear();
  EXPECT_EQ(trouble(s, on), RuleTrouble::NoEvidence);
}

TEST(Hostile, DeepRules) {
  Sample s(10);
  RuleNodeId deep = s.at_least(s.number(signal({{0, 1}})), 0);
  for (int i = 0; i < 20000; ++i) deep = negation(s.book, deep);
  EXPECT_EQ(s.answer(read_moves_by_role(s.book, deep)).margin, 1);
  for (int i = 0; i < 200; ++i) deep = both(s.book, deep, deep);
  EXPECT_EQ(s.answer(deep).margin, 1);
}

TEST(Hostile, HugeNumbersCross) {
  Sample s(10);
  const RuleNodeId up = s.at_least(s.number(signal({{0, -1e149}, {10, 1e149}})), 0);
  const RuleNodeId down = s.at_least(s.number(signal({{0, 1e149}, {10, -1e149}})), 0);
  EXPECT_EQ(s.answer(either(s.book, up, down)).verdict, Verdict::Holds);
  EXPECT_LT(s.answer(negation(s.book, either(s.book, up, down))).margin, 0);
}

}  // namespace
}  // namespace cairn::test
