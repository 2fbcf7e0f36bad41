// Every form on small timelines, worked by hand; open and closed ends one by one. Common practice, no source:
// the forms are ours, their meaning stands in docs/checks.md.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "tests/rules/sample.h"

namespace cairn::test {
namespace {

using ::testing::ElementsAre;

struct Forms : ::testing::Test {
  Sample s{100};

  RuleAnswer form(RuleOperator kind, RuleNodeId a, RuleNodeId b = {}, std::int64_t first = 0,
                  double limit = 0) {
    return s.answer(over_span(s.book, kind, a, b, secs(first), limit));
  }
  void expect(const RuleAnswer& answer, Verdict verdict, double margin, std::int64_t time) {
    EXPECT_EQ(answer.verdict, verdict);
    EXPECT_TRUE(answer.has_margin);
    EXPECT_DOUBLE_EQ(answer.margin, margin);
    EXPECT_EQ(answer.time, at(time));
  }
};

TEST_F(Forms, ApartCountsFromTheEndOfOneToTheBeginOfTheOther) {
  const RuleNodeId a = s.held({spell(10, 20), spell(60, 70)});
  const RuleNodeId b = s.held({spell(35, 40)});
  expect(form(RuleOperator::Apart, a, b, 10), Verdict::Holds, 5, 20);
  expect(form(RuleOperator::Apart, a, b, 15), Verdict::Holds, 0, 20);  // exactly so far apart is enough
  expect(form(RuleOperator::Apart, a, b, 16), Verdict::Fails, -1, 20);
  expect(form(RuleOperator::Apart, a, a, 50), Verdict::Fails, -10, 20);
  const RuleNodeId within = s.held({spell(12, 15)});
  expect(form(RuleOperator::Apart, a, within, 1), Verdict::Fails, -4, 12);  // together for 3 s
  const RuleAnswer none = form(RuleOperator::Apart, within, within, 5);
  EXPECT_EQ(none.verdict, Verdict::Holds);
  EXPECT_TRUE(none.vacuous);
  EXPECT_FALSE(none.has_margin);
}

TEST_F(Forms, ApartNamesTheTwoCommands) {
  const RuleNodeId a = s.happens({happening(10, 3), happening(50, 7), happening(55, 8)});
  const RuleAnswer answer = form(RuleOperator::Apart, a, a, 10);
  expect(answer, Verdict::Fails, -5, 50);
  EXPECT_EQ(answer.interval_end, at(55));
  EXPECT_THAT(answer.commands, ElementsAre(TimedCommandId{7}, TimedCommandId{8}));
}

TEST_F(Forms, OnlyAfterAStateHasHeld) {
  const RuleNodeId a = s.happens({happening(30, 1)});
  expect(form(RuleOperator::OnlyAfter, a, s.held({spell(10, 40)}), 15), Verdict::Holds, 5, 30);
  expect(form(RuleOperator::OnlyAfter, a, s.held({spell(10, 40)}), 20), Verdict::Holds, 0, 30);
  expect(form(RuleOperator::OnlyAfter, a, s.held({spell(10, 40)}), 21), Verdict::Fails, -1, 30);
  // What ends at that instant has held until then; what has ended before has not.
  expect(form(RuleOperator::OnlyAfter, a, s.held({spell(10, 30)}), 15), Verdict::Holds, 5, 30);
  expect(form(RuleOperator::OnlyAfter, a, s.held({spell(10, 29)}), 15), Verdict::Fails, -15, 30);
  // Not at all, with no time asked for: missed by nothing, and missed.
  expect(form(RuleOperator::OnlyAfter, a, s.held({spell(40, 50)}), 0), Verdict::Fails, 0, 30);
  // Since before the span: as long as need be.
  EXPECT_EQ(form(RuleOperator::OnlyAfter, a, s.held({spell(0, 50)}), 90).verdict, Verdict::Holds);
}

TEST_F(Forms, OnlyAfterAnEvent) {
  const RuleNodeId a = s.held({spell(30, 40), spell(60, 70)});
  expect(form(RuleOperator::OnlyAfter, a, s.happens({happening(25), happening(50)}), 3), Verdict::Holds, 2,
         30);
  expect(form(RuleOperator::OnlyAfter, a, s.happens({happening(50)}), 0), Verdict::Fails, -20, 30);
  const RuleAnswer none = form(RuleOperator::OnlyAfter, a, s.happens({}), 0);
  EXPECT_EQ(none.verdict, Verdict::Fails);
  EXPECT_FALSE(none.has_margin);
  EXPECT_FALSE(none.vacuous);
  EXPECT_EQ(form(RuleOperator::OnlyAfter, a, s.happens({}, 1), 0).verdict, Verdict::Holds);  // long before
  // What holds since before the span does not begin in it.
  EXPECT_TRUE(form(RuleOperator::OnlyAfter, s.held({spell(0, 10)}), s.happens({}), 0).vacuous);
}

TEST_F(Forms, FollowedBy) {
  const RuleNodeId a = s.held({spell(10, 20)});
  expect(form(RuleOperator::FollowedBy, a, s.happens({happening(25)}), 5), Verdict::Holds, 0, 20);
  expect(form(RuleOperator::FollowedBy, a, s.happens({happening(25)}), 4), Verdict::Fails, -1, 20);
  expect(form(RuleOperator::FollowedBy, a, s.happens({happening(20)}), 4), Verdict::Holds, 4, 20);  // at once
  // A state that holds at the end already answers at once; one that has just ended does not.
  expect(form(RuleOperator::FollowedBy, a, s.held({spell(5, 21)}), 4), Verdict::Holds, 4, 20);
  EXPECT_EQ(form(RuleOperator::FollowedBy, a, s.held({spell(5, 20)}), 4).verdict, Verdict::Fails);
  // Never, within the span: no distance; it must come in this load.
  const RuleNodeId late = s.held({spell(10, 98)});
  const RuleAnswer none = form(RuleOperator::FollowedBy, late, s.happens({happening(97)}), 10);
  EXPECT_EQ(none.verdict, Verdict::Fails);
  EXPECT_FALSE(none.has_margin);
  EXPECT_EQ(none.interval_begin, at(98));
  EXPECT_EQ(none.interval_end, at(100));
  // What goes on when the span ends has not ended.
  EXPECT_TRUE(form(RuleOperator::FollowedBy, s.held({spell(90, 100)}), s.happens({}), 10).vacuous);
  // By itself: by the next one.
  const RuleNodeId twice = s.happens({happening(10), happening(14)});
  EXPECT_EQ(form(RuleOperator::FollowedBy, twice, twice, 5).verdict, Verdict::Fails);
}

TEST_F(Forms, Dwell) {
  const RuleNodeId a = s.held({spell(0, 3), spell(10, 18), spell(30, 50), spell(95, 100)});
  expect(form(RuleOperator::LastsAtLeast, a, {}, 8), Verdict::Holds, 0, 10);
  expect(form(RuleOperator::LastsAtLeast, a, {}, 9), Verdict::Fails, -1,
         10);  // those at the ends are not judged
  expect(form(RuleOperator::LastsAtMost, a, {}, 20), Verdict::Holds, 0, 30);
  const RuleAnswer answer = form(RuleOperator::LastsAtMost, a, {}, 15);
  expect(answer, Verdict::Fails, -5, 30);
  EXPECT_EQ(answer.interval_end, at(50));
  // At the ends of the span what is seen of them counts.
  expect(form(RuleOperator::LastsAtMost, s.held({spell(90, 100)}), {}, 8), Verdict::Fails, -2, 90);
}

TEST_F(Forms, OnlyInside) {
  const RuleNodeId zone = s.held({spell(10, 30), spell(50, 80)});
  expect(form(RuleOperator::OnlyInside, s.held({spell(15, 25)}), zone), Verdict::Holds, 5, 15);
  expect(form(RuleOperator::OnlyInside, s.held({spell(10, 30)}), zone), Verdict::Holds, 0, 10);
  expect(form(RuleOperator::OnlyInside, s.held({spell(9, 30)}), zone), Verdict::Fails, -1, 9);
  expect(form(RuleOperator::OnlyInside, s.held({spell(28, 60)}), zone), Verdict::Fails, -22, 28);
  // An event at the begin is inside, one at the end is not.
  expect(form(RuleOperator::OnlyInside, s.happens({happening(10)}), zone), Verdict::Holds, 0, 10);
  expect(form(RuleOperator::OnlyInside, s.happens({happening(30)}), zone), Verdict::Fails, 0, 30);
  expect(form(RuleOperator::OnlyInside, s.happens({happening(45)}), zone), Verdict::Fails, -5, 45);
  const RuleAnswer none = form(RuleOperator::OnlyInside, s.happens({happening(45)}), s.held({}));
  EXPECT_EQ(none.verdict, Verdict::Fails);
  EXPECT_FALSE(none.has_margin);
}

TEST_F(Forms, OnlyInsideAtBothEnds) {
  // It may come at the very begin, which is inside, and at the very end, which is not.
  Occurrence sent = happening(20);
  sent.begin = sent.end = around(20, 10, 10);
  const RuleNodeId zone = s.held({spell(10, 30)});
  expect(form(RuleOperator::OnlyInside, s.happens({sent}), zone), Verdict::Unproven, 0, 10);
}

TEST_F(Forms, NeverInside) {
  const RuleNodeId zone = s.held({spell(10, 30), spell(50, 80)});
  expect(form(RuleOperator::NeverInside, s.held({spell(33, 45)}), zone), Verdict::Holds, 3, 33);
  expect(form(RuleOperator::NeverInside, s.held({spell(30, 50)}), zone), Verdict::Holds, 0, 30);
  expect(form(RuleOperator::NeverInside, s.held({spell(29, 45)}), zone), Verdict::Fails, -1, 29);
  expect(form(RuleOperator::NeverInside, s.happens({happening(10)}), zone), Verdict::Fails, 0, 10);
  expect(form(RuleOperator::NeverInside, s.happens({happening(30)}), zone), Verdict::Holds, 0, 30);
  expect(form(RuleOperator::NeverInside, s.happens({happening(28)}), zone), Verdict::Fails, -2, 28);
  EXPECT_TRUE(form(RuleOperator::NeverInside, s.happens({happening(28)}), s.held({})).vacuous);
}

TEST_F(Forms, CountsAndOrder) {
  const RuleNodeId once = s.happens({happening(10, 1), happening(40, 4)});
  const RuleAnswer twice = form(RuleOperator::AtMostTimes, once, {}, 0, 1);
  expect(twice, Verdict::Fails, -1, 40);
  EXPECT_EQ(twice.dimension, dimensions::count);
  EXPECT_THAT(twice.commands, ElementsAre(TimedCommandId{1}, TimedCommandId{4}));
  expect(form(RuleOperator::AtMostTimes, once, {}, 0, 3), Verdict::Holds, 1, 40);
  // Used up by an earlier load.
  expect(form(RuleOperator::AtMostTimes, s.happens({happening(10)}, 1), {}, 0, 1), Verdict::Fails, -1, 10);
  EXPECT_EQ(form(RuleOperator::NeverAfter, once, s.happens({happening(40)})).verdict, Verdict::Holds);
  expect(form(RuleOperator::NeverAfter, once, s.happens({happening(15), happening(60)})), Verdict::Fails, -25,
         15);
  expect(form(RuleOperator::NeverAfter, s.held({spell(5, 20)}), s.happens({happening(20)})), Verdict::Holds,
         0, 20);
  EXPECT_TRUE(form(RuleOperator::NeverAfter, once, s.happens({})).vacuous);
}

TEST_F(Forms, AtEachEventCountsWhatItMeets) {
  const RuleNodeId open = s.held({spell(10, 20)});
  EXPECT_EQ(form(RuleOperator::AtEach, s.happens({happening(20)}), open).verdict, Verdict::Holds);
  EXPECT_EQ(form(RuleOperator::AtEach, s.happens({happening(10)}), open).verdict, Verdict::Fails);
  const RuleNodeId reserve = s.number(signal({{0, 9}, {50, 9}, {50, 4}, {100, 4}}));
  expect(form(RuleOperator::AtEach, s.happens({happening(50)}), s.at_least(reserve, 6)), Verdict::Holds, 3,
         50);
  expect(form(RuleOperator::AtEach, s.happens({happening(51, 2)}), s.at_least(reserve, 6)), Verdict::Fails,
         -2, 51);
}

TEST_F(Forms, DutyInAnyWindow) {
  // 12 s in [10, 22), 8 s in [30, 38): at most 16 s in any 20 s, from t - 20 to t, worst at 38.
  const RuleNodeId on = s.held({spell(10, 22), spell(30, 38)});
  const RuleAnswer answer = s.answer(spent_at_most(s.book, on, secs(12), secs(20)));
  expect(answer, Verdict::Holds, 0, 22);
  const RuleAnswer tight = s.answer(spent_at_most(s.book, on, secs(11), secs(20)));
  expect(tight, Verdict::Fails, -1, 22);
  EXPECT_EQ(tight.dimension, dimensions::duration);
  expect(s.answer(spent_at_most(s.book, on, secs(14), secs(25))), Verdict::Fails, -3, 35);
  expect(s.answer(spent_at_most(s.book, on, secs(20), secs(28))), Verdict::Holds, 0, 38);
}

TEST_F(Forms, TimesAreExactToTheNanosecond) {
  // Lines through many seconds, read in between: no rounding may push a limit that is just met.
  for (std::int64_t end = 20; end < 100; ++end) {
    Sample one(100);
    const RuleNodeId on = one.held({spell(3, end)});
    const RuleAnswer duty = one.answer(spent_at_most(one.book, on, secs(7), secs(7)));
    ASSERT_EQ(duty.margin, 0) << end;
    ASSERT_EQ(duty.verdict, Verdict::Holds) << end;
    // Halfway between two events is as far as one can be from both.
    const RuleNodeId sent = one.happens({happening(0), happening(end)});
    const double half = static_cast<double>(end) / 2;
    const RuleNodeId since = one.at_most(number_of(one.book, RuleOperator::TimeSince, sent), half);
    const RuleNodeId until = one.at_most(number_of(one.book, RuleOperator::TimeUntil, sent), half);
    const RuleNodeId between = one.held({spell(0, end)});
    const RuleAnswer near = one.answer(whilst(one.book, between, either(one.book, since, until)));
    ASSERT_EQ(near.margin, 0) << end;
    ASSERT_EQ(near.verdict, Verdict::Holds) << end;
  }
}

TEST_F(Forms, RateInAnyWindow) {
  const RuleNodeId sent = s.happens({happening(10, 0), happening(20, 1), happening(29, 2)});
  // Half-open: two that lie exactly the window's length apart are not both within one.
  expect(s.answer(times_at_most(s.book, sent, 1, secs(9))), Verdict::Holds, 0, 10);
  const RuleAnswer answer = s.answer(times_at_most(s.book, sent, 1, secs(10)));
  expect(answer, Verdict::Fails, -1, 29);
  EXPECT_EQ(answer.dimension, dimensions::count);
  EXPECT_THAT(answer.commands, ElementsAre(TimedCommandId{1}, TimedCommandId{2}));
  expect(s.answer(times_at_most(s.book, sent, 2, secs(19))), Verdict::Holds, 0, 20);
  expect(s.answer(times_at_most(s.book, sent, 2, secs(20))), Verdict::Fails, -1, 29);
  // Beginnings of a state count alike.
  const RuleNodeId on = s.held({spell(10, 15), spell(20, 25)});
  EXPECT_EQ(s.answer(times_at_most(s.book, on, 1, secs(10))).verdict, Verdict::Holds);
  EXPECT_EQ(s.answer(times_at_most(s.book, on, 1, secs(11))).verdict, Verdict::Fails);
}

TEST_F(Forms, TimesSinceAndUntil) {
  const RuleNodeId sent = s.happens({happening(20), happening(60)});
  const RuleNodeId on = s.held({spell(30, 50)});
  const auto since = number_of(s.book, RuleOperator::TimeSince, sent);
  expect(s.answer(whilst(s.book, on, s.at_least(since, 5))), Verdict::Holds, 5, 30);
  expect(s.answer(whilst(s.book, on, s.at_most(since, 25))), Verdict::Fails, -5, 50);
  const auto until = number_of(s.book, RuleOperator::TimeUntil, sent);
  expect(s.answer(whilst(s.book, on, s.at_least(until, 12))), Verdict::Fails, -2, 50);
  const auto held = number_of(s.book, RuleOperator::TimeHeld, on);
  expect(s.answer(s.at_most(held, 18)), Verdict::Fails, -2, 50);
}

TEST_F(Forms, WhileAndBetweenMarks) {
  const RuleNodeId reserve = s.number(signal({{0, 10}, {100, 0}}));
  const RuleNodeId from_to = s.held({spell(20, 50)});
  expect(s.answer(whilst(s.book, from_to, s.at_least(reserve, 4))), Verdict::Holds, 1, 50);
  const RuleAnswer fails = s.answer(whilst(s.book, from_to, s.at_least(reserve, 6)));
  expect(fails, Verdict::Fails, -1, 50);
  EXPECT_EQ(fails.interval_begin, at(40));
  EXPECT_EQ(fails.interval_end, at(50));
  EXPECT_EQ(fails.dimension, dimensions::power);
}

// ---- the three words ------------------------------------------------------------------------------------

TEST_F(Forms, TheBoundsOfASignalMakeItUnproven) {
  Signal uncertain = signal({{0, 8}, {50, 6.5}, {100, 8}});
  for (double& value : uncertain.lower) value -= 1;
  for (double& value : uncertain.upper) value += 1;
  const RuleNodeId reserve = s.number(uncertain);
  const RuleAnswer holds = s.answer(s.at_least(reserve, 5));
  expect(holds, Verdict::Holds, 0.5, 50);
  EXPECT_DOUBLE_EQ(holds.nominal_margin, 1.5);
  EXPECT_EQ(holds.assurance, Assurance::Guaranteed);
  const RuleAnswer unproven = s.answer(s.at_least(reserve, 6));
  expect(unproven, Verdict::Unproven, -0.5, 50);
  EXPECT_DOUBLE_EQ(unproven.nominal_margin, 0.5);
  expect(s.answer(s.at_least(reserve, 7)), Verdict::Fails, -0.5, 50);
  // At most: the upper bound counts.
  expect(s.answer(s.at_most(reserve, 8.5)), Verdict::Unproven, -0.5, 0);
}

TEST_F(Forms, UncertainTimesMakeItUnproven) {
  Occurrence first = spell(10, 20);
  first.end = around(20, 2, 3);
  const RuleNodeId a = s.held({first});
  const RuleNodeId b = s.held({spell(30, 40)});
  expect(form(RuleOperator::Apart, a, b, 7), Verdict::Holds, 0, 23);
  expect(form(RuleOperator::Apart, a, b, 8), Verdict::Unproven, -1, 23);
  expect(form(RuleOperator::Apart, a, b, 11), Verdict::Fails, -1, 20);
  expect(form(RuleOperator::LastsAtLeast, a, {}, 9), Verdict::Unproven, -1, 10);
  expect(form(RuleOperator::LastsAtMost, a, {}, 12), Verdict::Unproven, -1, 10);
  expect(form(RuleOperator::FollowedBy, a, b, 12), Verdict::Holds, 0, 18);
  expect(form(RuleOperator::FollowedBy, a, b, 11), Verdict::Unproven, -1, 18);
}

TEST_F(Forms, ACommandAndWhatItBringsAboutAreDisplacedTogether) {
  // Command 5 at 20 begins a spell that must last 10 s; both are off by up to 1 s, in the same direction.
  Occurrence sent = happening(20, 5);
  sent.begin = sent.end = around(20, 1, 1);
  Occurrence pulse;
  pulse.begin = around(20, 1, 1);
  pulse.end = around(30, 1, 1);
  pulse.begun_by = pulse.ended_by = TimedCommandId{5};
  const RuleNodeId event = s.happens({sent});
  const RuleNodeId on = s.held({pulse});
  expect(form(RuleOperator::LastsAtLeast, on, {}, 10), Verdict::Holds, 0, 19);
  expect(form(RuleOperator::LastsAtMost, on, {}, 10), Verdict::Holds, 0, 21);
  expect(form(RuleOperator::FollowedBy, event, on, 0), Verdict::Holds, 0, 19);
}

// The command of number `command` at that time, and a spell that it begins and another one ends.
Occurrence sent(std::int64_t time, std::uint32_t command) {
  Occurrence o = happening(time, command);
  o.begin = o.end = around(time, 1, 1);
  return o;
}
Occurrence brought(std::int64_t begin, std::uint32_t begun_by, std::int64_t end, std::uint32_t ended_by) {
  Occurrence o;
  o.begin = around(begin, 1, 1);
  o.end = around(end, 1, 1);
  o.begun_by = TimedCommandId{begun_by};
  o.ended_by = TimedCommandId{ended_by};
  return o;
}

TEST_F(Forms, ACommandMeetsWhatItEndsAndNotWhatItBegins) {
  s.evidence.tick = secs(1);
  const RuleNodeId begins = s.happens({sent(20, 1)});
  const RuleNodeId ends = s.happens({sent(40, 2)});
  const RuleNodeId on = s.held({brought(20, 1, 40, 2)});
  // The same made of more than one state.
  const RuleNodeId made = both(s.book, on, negation(s.book, s.held({spell(60, 70)})));
  for (const RuleNodeId zone : {on, made}) {
    expect(form(RuleOperator::OnlyInside, ends, zone), Verdict::Holds, 18, 39);
    expect(form(RuleOperator::NeverInside, ends, zone), Verdict::Fails, -20, 40);
    EXPECT_EQ(form(RuleOperator::OnlyInside, begins, zone).verdict, Verdict::Fails);
    EXPECT_TRUE(form(RuleOperator::NeverInside, begins, zone).vacuous);
    EXPECT_EQ(form(RuleOperator::OnlyAfter, ends, zone, 15).verdict, Verdict::Holds);
    EXPECT_EQ(form(RuleOperator::OnlyAfter, begins, zone, 0).verdict, Verdict::Fails);
    EXPECT_EQ(form(RuleOperator::AtEach, ends, zone).verdict, Verdict::Holds);
    EXPECT_EQ(form(RuleOperator::AtEach, begins, zone).verdict, Verdict::Fails);
    EXPECT_EQ(form(RuleOperator::NeverAfter, begins, zone).verdict, Verdict::Holds);
  }
  // Another command at the same time may come first.
  const RuleNodeId other = s.happens({sent(40, 7)});
  EXPECT_EQ(form(RuleOperator::OnlyInside, other, on).verdict, Verdict::Fails);
  EXPECT_EQ(form(RuleOperator::NeverInside, other, on).verdict, Verdict::Unproven);
}

TEST_F(Forms, OneCommandBeginsTwoStatesAtOnce) {
  s.evidence.tick = secs(1);
  const RuleNodeId a = s.held({brought(20, 1, 30, 2)});
  const RuleNodeId b = s.held({brought(20, 1, 50, 3)});
  expect(form(RuleOperator::OnlyInside, a, b), Verdict::Holds, 0, 19);
}

TEST_F(Forms, JoinedPartsKeepTheirOwnMargins) {
  const RuleNodeId reserve = s.number(signal({{0, 10}, {100, 5}}));
  const RuleNodeId warm = s.number(signal({{0, 280}, {100, 270}}, dimensions::temperature_difference));
  const RuleNodeId power = s.at_least(reserve, 4);
  const RuleNodeId heat = s.at_least(warm, 273);
  const RuleAnswer joined = s.answer(both(s.book, power, heat));
  expect(joined, Verdict::Fails, -3, 100);
  EXPECT_EQ(joined.dimension, dimensions::temperature_difference);
  // Either of the two: no common measure, so none is told.
  const RuleAnswer alternative = s.answer(either(s.book, power, heat));
  EXPECT_EQ(alternative.verdict, Verdict::Holds);
  EXPECT_FALSE(alternative.has_margin);
}

}  // namespace
}  // namespace cairn::test
