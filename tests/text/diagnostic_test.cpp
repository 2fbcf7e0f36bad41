// Collecting diagnostics: one mistake one message, counts, order.

#include "compiler/text/diagnostic.h"

#include <gtest/gtest.h>

namespace cairn {
namespace {

constexpr DiagnosticKind<std::string> wrong{"area/wrong", Severity::Error, "`{}` is wrong"};
constexpr DiagnosticKind<> doubtful{"area/doubtful", Severity::Warning, "this is doubtful"};

struct Fixture : testing::Test {
  SourceFiles files;
  FileId a = files.add("a.cairn", "send camera.expose\n");
  FileId b = files.add("b.cairn", "send vane.turn\n");
  Diagnostics diagnostics;
};

using Diagnosing = Fixture;

TEST_F(Diagnosing, ARepeatIsDroppedWithItsDetails) {
  diagnostics.report(wrong, {a, 0, 4}, "send").hint("first");
  diagnostics.report(wrong, {a, 0, 4}, "again").hint("second").under("x").cause({a, 5, 6}, "y");
  ASSERT_EQ(diagnostics.all().size(), 1U);
  EXPECT_EQ(diagnostics.all()[0].message, "`send` is wrong");
  EXPECT_EQ(diagnostics.all()[0].hints, std::vector<std::string>{"first"});
  EXPECT_TRUE(diagnostics.all()[0].labels.empty());
  EXPECT_EQ(diagnostics.error_count(), 1U);
}

TEST_F(Diagnosing, AnotherCodeOrPlaceIsNoRepeat) {
  diagnostics.report(wrong, {a, 0, 4}, "send");
  diagnostics.report(doubtful, {a, 0, 4});
  diagnostics.report(wrong, {a, 0, 5}, "send");
  diagnostics.report(wrong, {a, 1, 4}, "send");
  diagnostics.report(wrong, {b, 0, 4}, "send");
  EXPECT_EQ(diagnostics.all().size(), 5U);
}

TEST_F(Diagnosing, WithoutAPlaceEachCounts) {
  diagnostics.report(wrong, {}, "one.cairn");
  diagnostics.report(wrong, {}, "two.cairn");
  EXPECT_EQ(diagnostics.error_count(), 2U);
}

TEST_F(Diagnosing, OnlyErrorsAreErrors) {
  diagnostics.report(doubtful, {a, 0, 4});
  EXPECT_FALSE(diagnostics.has_errors());
  diagnostics.report(wrong, {a, 0, 4}, "send");
  EXPECT_TRUE(diagnostics.has_errors());
  EXPECT_EQ(diagnostics.error_count(), 1U);
}

TEST_F(Diagnosing, AppendDropsRepeatsToo) {
  diagnostics.report(wrong, {a, 0, 4}, "send");
  Diagnostics other;
  other.report(wrong, {a, 0, 4}, "send");
  other.report(wrong, {b, 0, 4}, "send").hint("kept");
  diagnostics.append(std::move(other));
  ASSERT_EQ(diagnostics.all().size(), 2U);
  EXPECT_EQ(diagnostics.error_count(), 2U);
  EXPECT_EQ(diagnostics.all()[1].hints.size(), 1U);
}

TEST_F(Diagnosing, DropTakesBackACode) {
  diagnostics.report(wrong, {a, 0, 4}, "send");
  diagnostics.report(doubtful, {a, 0, 4});
  diagnostics.drop("area/wrong");
  EXPECT_FALSE(diagnostics.has_errors());
  ASSERT_EQ(diagnostics.all().size(), 1U);
  EXPECT_EQ(diagnostics.all()[0].code, "area/doubtful");
}

TEST_F(Diagnosing, SortsByFilePlaceAndCode) {
  diagnostics.report(wrong, {b, 0, 4}, "5");
  diagnostics.report(wrong, {a, 5, 11}, "4");
  diagnostics.report(wrong, {a, 5, 6}, "3");
  diagnostics.report(wrong, {a, 0, 4}, "2");
  diagnostics.report(doubtful, {a, 0, 4});
  diagnostics.report(wrong, {}, "0");
  diagnostics.sort(files);
  std::string order;
  for (const Diagnostic& diagnostic : diagnostics.all()) order += diagnostic.message + "\n";
  EXPECT_EQ(order,
            "`0` is wrong\nthis is doubtful\n`2` is wrong\n`3` is wrong\n`4` is wrong\n`5` is wrong\n");
}

TEST_F(Diagnosing, LabelsWithoutAPlaceAreLeftOut) {
  diagnostics.report(wrong, {a, 0, 4}, "send").context({}, "nowhere").cause({b, 0, 4}, "there");
  ASSERT_EQ(diagnostics.all()[0].labels.size(), 1U);
  EXPECT_EQ(diagnostics.all()[0].labels[0].text, "there");
}

}  // namespace
}  // namespace cairn
