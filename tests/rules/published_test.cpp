// Worked values of quantitative temporal logic.
//
// Semantics: A. Donze, O. Maler, "Robust satisfaction of temporal logic over real-valued signals", FORMATS
// 2010, LNCS 6246, pp. 92-106; G. Fainekos, G. Pappas, "Robustness of temporal logic specifications for
// continuous-time signals", Theoretical Computer Science 410 (2009) 4262-4291 (formulas from memory). The
// samples below are worked by hand from them; the signal holds each sample for a second.

#include <gtest/gtest.h>

#include <cmath>

#include "tests/rules/sample.h"

namespace cairn::test {
namespace {

struct Samples : ::testing::Test {
  Sample s{6};
  RuleNodeId x = s.number(steps({3, 5, 2, 4, 6, 1}));
};

TEST_F(Samples, AlwaysIsTheLeastDistance) {
  const RuleAnswer answer = s.at_begin(s.always(s.at_least(x, 1), 0, 3));
  EXPECT_EQ(answer.margin, 1);
  EXPECT_EQ(answer.verdict, Verdict::Holds);
}

TEST_F(Samples, SometimeIsTheGreatestDistance) {
  EXPECT_EQ(s.at_begin(s.sometime(s.at_least(x, 5), 2, 5)).margin, 1);
}

TEST_F(Samples, AlwaysOverAllFailsAtTheLastSample) {
  const RuleAnswer answer = s.answer(s.at_least(x, 2));
  EXPECT_EQ(answer.margin, -1);
  EXPECT_EQ(answer.verdict, Verdict::Fails);
  EXPECT_EQ(answer.time, at(5));
  EXPECT_EQ(answer.interval_begin, at(5));
  EXPECT_EQ(answer.interval_end, at(6));
}

// x(t) = |t - 0.5| over a second, here stretched to two: between samples it is lower than at any of them.
TEST(Published, ExtremesBetweenSamplesCount) {
  Sample s(2);
  const RuleNodeId x = s.number(signal({{0, 0.5}, {1, 0}, {2, 0.5}}));
  const RuleAnswer answer = s.answer(s.at_least(x, 0.2));
  EXPECT_DOUBLE_EQ(answer.margin, -0.2);
  EXPECT_EQ(answer.time, at(1));
  EXPECT_EQ(answer.interval_begin.tai_nanoseconds, 600'000'000);
  EXPECT_EQ(answer.interval_end.tai_nanoseconds, 1'400'000'000);
}

// A disturbance smaller than the margin changes no verdict (Fainekos and Pappas, the theorem the margin is
// named for).
TEST(Published, TheMarginIsWhatADisturbanceMayTake) {
  for (const double by : {0.9, 1.1}) {
    Sample s(6);
    const RuleNodeId x = s.number(steps({3 - by, 5 - by, 2 - by, 4 - by, 6 - by, 1 - by}));
    const RuleAnswer answer = s.at_begin(s.always(s.at_least(x, 1), 0, 3));
    EXPECT_EQ(answer.verdict, by < 1 ? Verdict::Holds : Verdict::Fails);
  }
}

}  // namespace
}  // namespace cairn::test
