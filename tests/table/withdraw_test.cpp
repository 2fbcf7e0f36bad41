// Entries that a later load withdraws: how long they count, and whether they are gone in time.

#include <gtest/gtest.h>

#include <algorithm>
#include <random>

#include "constraints/table/table.h"

namespace cairn {
namespace {

Instant at(std::int64_t seconds) { return {seconds * nanoseconds_per_second}; }

Station post() {
  Station station;
  CommandDefinition command;
  command.unit = station.units.add({"box", "", {}, no_origin});
  command.name = "turn";
  station.commands.add(command);
  station.table.entries = 5;
  station.table.load_guard = seconds_to_duration(10);
  return station;
}

TableUse withdrawn_use(Instant aboard, Instant runs, std::optional<Instant> received) {
  TableUse use{{}, aboard, runs, 10, CommandId{0}};
  use.to_withdraw = true;
  use.withdrawn = received;
  return use;
}

std::vector<Finding> of_code(const TableResult& result, std::string_view code) {
  std::vector<Finding> found;
  for (const Finding& finding : result.findings) {
    if (finding.code == code) found.push_back(finding);
  }
  return found;
}

// Second by second: aboard, not run, and not yet withdrawn.
TEST(TableWithdraw, AnEntryCountsUntilItIsWithdrawn) {
  std::mt19937 random(61);
  int lower = 0;
  for (int round = 0; round < 300; ++round) {
    const Station station = post();
    Timeline timeline;
    timeline.end = at(100);
    std::vector<TableUse> uses;
    for (int i = 0; i < 12; ++i) {
      const auto runs = static_cast<std::int64_t>(1 + random() % 99);
      std::optional<Instant> received;
      if (random() % 3 != 0) received = at(static_cast<std::int64_t>(random() % 120));
      uses.push_back(withdrawn_use(at(0), at(runs), received));
    }
    double most = 0;
    double most_if_they_ran = 0;
    for (std::int64_t second = 0; second <= 100; ++second) {
      double now = 0;
      double if_they_ran = 0;
      for (const TableUse& use : uses) {
        if (at(second) >= use.runs) continue;
        if_they_ran += 1;
        if (!use.withdrawn || at(second) < *use.withdrawn) now += 1;
      }
      most = std::max(most, now);
      most_if_they_ran = std::max(most_if_they_ran, if_they_ran);
    }
    lower += most < most_if_they_ran ? 1 : 0;
    EXPECT_EQ(of_code(check_table(station, timeline, uses), "table/entries").front().value, most);
  }
  EXPECT_GT(lower, 10);
}

TEST(TableWithdraw, ItMustBeGoneAsLongBeforeAsLoadingMust) {
  const Station station = post();
  Timeline timeline;
  timeline.end = at(100);
  for (const std::int64_t received : {39, 40, 41}) {
    const auto found = of_code(check_table(station, timeline, {withdrawn_use(at(0), at(50), at(received))}),
                               "table/withdraw");
    ASSERT_EQ(found.size(), 1U);
    EXPECT_EQ(found.front().verdict, received <= 40 ? Verdict::Holds : Verdict::Fails) << received;
    EXPECT_EQ(found.front().margin, static_cast<double>(40 - received));
    EXPECT_EQ(found.front().subject, "box.turn");
  }
  const auto never =
      of_code(check_table(station, timeline, {withdrawn_use(at(0), at(50), std::nullopt)}), "table/withdraw");
  ASSERT_EQ(never.size(), 1U);
  EXPECT_EQ(never.front().verdict, Verdict::Fails);
  EXPECT_FALSE(never.front().has_margin);
  EXPECT_TRUE(of_code(check_table(station, timeline, {TableUse{{}, at(0), at(50), 10, CommandId{0}}}),
                      "table/withdraw")
                  .empty());
}

// It does not run: nothing can come too close to it, and it clears no table.
TEST(TableWithdraw, WhatIsWithdrawnDoesNothing) {
  Station station = post();
  station.table.least_spacing = seconds_to_duration(5);
  station.commands[CommandId{0}].table = TableOperation::Clear;
  Timeline timeline;
  timeline.end = at(100);
  timeline.commands.push_back({at(52), CommandId{0}, {}});
  CommandDefinition other;
  other.unit = UnitId{0};
  other.name = "hold";
  timeline.commands.front().command = station.commands.add(other);
  const TableUse ours{TimedCommandId{0}, at(10), at(52), 10};
  for (const bool gone : {false, true}) {
    TableUse earlier = withdrawn_use(at(0), at(50), gone ? std::optional(at(20)) : std::nullopt);
    const TableResult result = check_table(station, timeline, {earlier, ours});
    const auto spacing = of_code(result, "table/spacing");
    EXPECT_EQ(!spacing.empty() && spacing.front().verdict == Verdict::Fails, !gone);
    const auto lost = of_code(result, "table/lost");
    EXPECT_EQ(!lost.empty() && lost.front().verdict == Verdict::Fails, !gone);
  }
}

}  // namespace
}  // namespace cairn
