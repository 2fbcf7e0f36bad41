// Arithmetic of courses against values worked by hand.

#include "constraints/rules/course.h"

#include <gtest/gtest.h>

#include "constraints/rules/occurrences.h"
#include "tests/rules/sample.h"

namespace cairn::test {
namespace {

Course course(RuleTime end, std::initializer_list<Piece> pieces) {
  Course result(end);
  for (const Piece& piece : pieces) result.append(piece.begin, piece.first, piece.last);
  return result;
}

TEST(Course, ZeroHasASign) {
  EXPECT_TRUE(is_met(0.0));
  EXPECT_FALSE(is_met(-0.0));
  EXPECT_TRUE(is_less(-0.0, 0.0));
  EXPECT_FALSE(is_less(0.0, -0.0));
}

TEST(Course, CrossingsAreKnots) {
  RuleEffort effort;
  const Course up = course(10, {{0, 0, 10}});
  const Course down = course(10, {{0, 10, 0}});
  const Course least = lesser(up, down, effort);
  EXPECT_EQ(least.pieces().size(), 2U);
  EXPECT_EQ(least.at(5), 5);
  EXPECT_EQ(greater(up, down, effort).at(5), 5);
  EXPECT_EQ(greater(up, down, effort).at(2), 8);
}

TEST(Course, WindowsAreClosedAndCutToTheSpan) {
  RuleEffort effort;
  const Course step = course(10, {{0, 0, 0}, {4, 1, 1}, {5, 0, 0}});
  // 1 over [4, 5): within [t, t + 2] from t = 2 on; at t = 5 it is over.
  const Course ahead = greatest_within(step, 0, 2, effort);
  EXPECT_EQ(ahead.at(1), 0);
  EXPECT_EQ(ahead.at(2), 1);
  EXPECT_EQ(ahead.at(4), 1);
  EXPECT_EQ(ahead.at(5), 0);
  const Course behind = greatest_within(step, -2, 0, effort);
  EXPECT_EQ(behind.at(3), 0);
  EXPECT_EQ(behind.at(4), 1);
  EXPECT_EQ(behind.at(6), 1);
  EXPECT_EQ(behind.at(7), 0);
  // Nothing is left of a window beyond the end.
  EXPECT_EQ(greatest_within(step, 10, 12, effort).at(0), -surely);
  EXPECT_EQ(least_within(step, 10, 12, effort).at(0), surely);
  EXPECT_EQ(greatest_within(step, 8, 20, effort).at(1), 0);
  EXPECT_EQ(greatest_within(step, 8, 20, effort).at(2), -surely);
}

TEST(Course, WhatIsReachedJustBeforeAJumpCounts) {
  RuleEffort effort;
  const Course saw = course(10, {{0, 0, 4}, {4, 0, 6}});
  EXPECT_EQ(greatest_within(saw, 0, 4, effort).at(0), 4);
  EXPECT_EQ(greatest_within(saw, 0, 3, effort).at(0), 3);
  EXPECT_EQ(greatest_within(saw, 0, 100, effort).at(0), 6);
  const Extreme extreme = least(negated(saw), 0, 4, false, effort);
  EXPECT_EQ(extreme.value, -4);
  EXPECT_EQ(extreme.time, 4);
  EXPECT_TRUE(extreme.just_before);
}

TEST(Course, StretchesWhereItIsMet) {
  RuleEffort effort;
  const Course saw = course(10, {{0, -2, 2}, {4, -1, -1}, {6, 0, 2}, {8, -0.0, -0.0}});
  EXPECT_EQ(met_stretches(saw, effort), (std::vector<Stretch>{{2, 4}, {6, 8}}));
}

TEST(Occurrences, CutFromConditionsThatMayHold) {
  RuleEffort effort;
  const RuleSpan span{at(0), secs(100).nanoseconds};
  const auto held = [&](std::initializer_list<std::pair<std::int64_t, std::int64_t>> spans) {
    std::vector<Stretch> stretches;
    for (const auto& [begin, end] : spans)
      stretches.push_back({secs(begin).nanoseconds, secs(end).nanoseconds});
    return truth(stretches, span.length, effort);
  };
  // May hold 10 to 50 and 60 to 70; for nominal values 12 to 20, 30 to 48; in any case 14 to 16, 17 to 19.
  const Bands bands{held({{14, 16}, {17, 19}}), held({{12, 20}, {30, 48}}), held({{10, 50}, {60, 70}})};
  const std::vector<Occurrence> found = occurrences_of(bands, span, effort);
  ASSERT_EQ(found.size(), 3U);
  EXPECT_EQ(found[0].existence, Existence::Sure);
  EXPECT_EQ(found[0].begin.earliest, at(10));
  EXPECT_EQ(found[0].begin.nominal, at(12));
  EXPECT_EQ(found[0].begin.latest, at(14));
  EXPECT_EQ(found[0].end.earliest, at(19));
  EXPECT_EQ(found[0].end.nominal, at(20));
  EXPECT_EQ(found[0].end.latest, at(30));  // up to its neighbour
  EXPECT_EQ(found[1].existence, Existence::Nominal);
  EXPECT_EQ(found[1].begin.earliest, at(20));
  EXPECT_EQ(found[1].begin.nominal, at(30));
  EXPECT_EQ(found[1].end.latest, at(50));
  EXPECT_EQ(found[2].existence, Existence::Possible);
  EXPECT_EQ(found[2].begin.earliest, at(60));
  EXPECT_EQ(found[2].end.latest, at(70));
}

TEST(Course, EmptySpan) {
  RuleEffort effort;
  const Course none(0);
  EXPECT_TRUE(met_stretches(none, effort).empty());
  EXPECT_TRUE(greatest_within(none, 0, 5, effort).pieces().empty());
  EXPECT_EQ(least(none, 0, 0, false, effort).value, surely);
}

}  // namespace
}  // namespace cairn::test
