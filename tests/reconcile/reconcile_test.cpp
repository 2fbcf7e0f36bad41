// What became of a plan's commands, from reports made by hand.

#include "compiler/review/reconcile/reconcile.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/plan/made_plan.h"

namespace cairn::test {
namespace {

using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;

struct Held {
  std::unique_ptr<MadePlan> made = make_plan();
  PlanDocument plan = read_plan(made->text).value();
  PlanEntries entries = read_entries(made->text, made->station.station, published_leap_seconds()).value();
  std::vector<VerificationReport> reports;
  Instant now = parse_utc("2031-05-14T12:00:00Z", published_leap_seconds()).value();

  [[nodiscard]] std::uint16_t own(std::size_t command) const {
    return entries.commands[command].sequence_count;
  }
  void loaded(std::size_t command, bool is_success = true) {
    reports.push_back({static_cast<std::uint16_t>((own(command) + 1U) % 16384), ReportStage::Acceptance,
                       is_success, "", ""});
  }
  void ran(std::size_t command, bool is_success = true) {
    reports.push_back({own(command), ReportStage::Start, true, "", ""});
    reports.push_back({own(command), ReportStage::Completion, is_success, "", is_success ? "" : "stuck"});
  }
  [[nodiscard]] Reconciliation answer() const {
    ReconcileInput input;
    input.station = &made->station.station;
    input.start = &made->start;
    input.begin = entries.begin;
    input.end = entries.end;
    input.now = now;
    input.commands = entries.commands;
    input.has_window = entries.has_window;
    input.reports = &reports;
    return reconcile(input);
  }
  [[nodiscard]] bool is_over(std::size_t command) const { return entries.commands[command].time <= now; }
};

TEST(Reconcile, AllAsPlanned) {
  Held held;
  for (std::size_t i = 0; i < held.entries.commands.size(); ++i) {
    held.loaded(i);
    if (held.is_over(i)) held.ran(i);
  }
  const Reconciliation answer = held.answer();
  ASSERT_GE(answer.commands.size(), 8U);
  for (std::size_t i = 0; i < answer.commands.size(); ++i) {
    EXPECT_EQ(answer.commands[i].fate, held.is_over(i) ? Fate::Ran : Fate::Waiting) << i;
    EXPECT_THAT(answer.commands[i].broken, IsEmpty()) << i;
  }
  EXPECT_THAT(answer.strangers, IsEmpty());
  EXPECT_THAT(recovery_load(held.plan, answer, held.now, std::nullopt, published_leap_seconds()),
              Not(HasSubstr("send")));
}

TEST(Reconcile, EachFateHasItsReports) {
  Held held;
  held.loaded(0);
  held.ran(0);
  held.loaded(1);
  held.ran(1, false);
  held.loaded(2, false);
  held.loaded(3);
  held.reports.push_back({16'000, ReportStage::Acceptance, true, "", ""});
  const Reconciliation answer = held.answer();
  EXPECT_EQ(answer.commands[0].fate, Fate::Ran);
  EXPECT_EQ(answer.commands[1].fate, Fate::Failed);
  EXPECT_EQ(answer.commands[1].detail, "stuck");
  EXPECT_EQ(answer.commands[2].fate, Fate::Rejected);
  ASSERT_TRUE(held.is_over(3));
  EXPECT_EQ(answer.commands[3].fate, Fate::Overdue);
  EXPECT_EQ(answer.commands[4].fate, Fate::NotArrived);
  EXPECT_THAT(answer.strangers, ::testing::ElementsAre(16'000));
}

// The post's release is freed in two commands: without the first one the second cannot run, and is told so.
TEST(Reconcile, WhatWaitsIsPredictedAnew) {
  Held held;
  const std::size_t last = held.entries.commands.size() - 1;
  for (std::size_t i = 0; i <= last; ++i) {
    if (i == last - 1) continue;  // release.arm is lost
    held.loaded(i);
    if (held.is_over(i)) held.ran(i);
  }
  const Reconciliation answer = held.answer();
  EXPECT_EQ(answer.commands[last - 1].fate, Fate::NotArrived);
  EXPECT_EQ(answer.commands[last].fate, Fate::Waiting);
  EXPECT_THAT(answer.commands[last].broken, Not(IsEmpty()));
  const std::string load = recovery_load(held.plan, answer, held.now, std::nullopt, published_leap_seconds());
  EXPECT_THAT(load, HasSubstr("at 2031-05-14T22:00:00Z { send release.arm }"));
  EXPECT_THAT(load, HasSubstr("load \"elder-7-day-recovery\" for elder"));
}

TEST(Reconcile, WhatWasMissedIsLeftToPeopleOrMoved) {
  Held held;
  for (std::size_t i = 0; i < held.entries.commands.size(); ++i) {
    if (i < 2) continue;
    held.loaded(i);
    if (held.is_over(i)) held.ran(i);
  }
  const Reconciliation answer = held.answer();
  ASSERT_TRUE(held.is_over(1));
  const LeapSecondTable& table = published_leap_seconds();
  const std::string left = recovery_load(held.plan, answer, held.now, std::nullopt, table);
  EXPECT_THAT(left, HasSubstr("# send camera.cover position=open"));
  const Instant from = parse_utc("2031-05-14T15:00:00Z", table).value();
  const std::string moved = recovery_load(held.plan, answer, held.now, from, table);
  EXPECT_THAT(moved, HasSubstr("at 2031-05-14T15:00:00Z { send camera.cover position=open }"));
  const Duration apart = held.entries.commands[1].time - held.entries.commands[0].time;
  EXPECT_THAT(moved, HasSubstr("at " + format_utc(from + apart, table) + " { send "));
}

}  // namespace
}  // namespace cairn::test
