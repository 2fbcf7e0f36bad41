// Occupancy against a brute-force simulator, and each finding's meaning.

#include "constraints/table/table.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <random>

namespace cairn {
namespace {

Instant at(std::int64_t seconds) { return {seconds * nanoseconds_per_second}; }

const Finding* find(const TableResult& result, std::string_view code) {
  for (const Finding& finding : result.findings) {
    if (finding.code == code) return &finding;
  }
  return nullptr;
}

TEST(Table, PeaksAgreeWithABruteForceSimulator) {
  std::mt19937 random(3);
  for (int round = 0; round < 300; ++round) {
    Station station;
    station.table.entries = 5;
    station.table.bytes = 60;
    Timeline timeline;
    timeline.end = at(100);
    std::vector<TableUse> uses;
    for (std::uint32_t i = 0; i < 14; ++i) {
      const auto aboard = static_cast<std::int64_t>(random() % 80);
      uses.push_back({TimedCommandId{i}, at(aboard),
                      at(aboard + 1 + static_cast<std::int64_t>(random() % 20)),
                      4 + static_cast<std::uint32_t>(random() % 20)});
    }
    double entries = 0;
    double bytes = 0;
    for (std::int64_t second = 0; second <= 100; ++second) {
      double now = 0;
      double size = 0;
      for (const TableUse& use : uses) {
        if (*use.aboard <= at(second) && at(second) < use.runs) {
          now += 1;
          size += use.bytes;
        }
      }
      entries = std::max(entries, now);
      bytes = std::max(bytes, size);
    }
    const TableResult result = check_table(station, timeline, uses);
    EXPECT_EQ(find(result, "table/entries")->value, entries);
    EXPECT_EQ(find(result, "table/bytes")->value, bytes);
    EXPECT_EQ(find(result, "table/entries")->verdict == Verdict::Fails, entries > 5);

    // Without its cause the peak fits.
    const Finding& finding = *find(result, "table/entries");
    EXPECT_EQ(static_cast<double>(finding.cause.size()), std::max(0.0, entries - 5));

    // The order of the uses carries no meaning.
    std::shuffle(uses.begin(), uses.end(), random);
    const TableResult again = check_table(station, timeline, uses);
    ASSERT_EQ(again.points.size(), result.points.size());
    for (std::size_t i = 0; i < again.points.size(); ++i) {
      EXPECT_EQ(again.points[i].entries, result.points[i].entries);
      EXPECT_EQ(again.points[i].bytes, result.points[i].bytes);
    }
  }
}

TEST(Table, LateSpacingAndHorizon) {
  Station station;
  station.table.entries = 10;
  station.table.load_guard = seconds_to_duration(10);
  station.table.least_spacing = seconds_to_duration(2);
  station.table.horizon = seconds_to_duration(50);
  Timeline timeline;
  timeline.end = at(1000);
  const auto verdict = [&](std::vector<TableUse> uses, std::string_view code) {
    return find(check_table(station, timeline, uses), code)->verdict;
  };
  EXPECT_EQ(verdict({{TimedCommandId{0}, at(0), at(10), 4}}, "table/late"), Verdict::Holds);
  EXPECT_EQ(verdict({{TimedCommandId{0}, at(1), at(10), 4}}, "table/late"), Verdict::Fails);
  EXPECT_EQ(verdict({{TimedCommandId{0}, std::nullopt, at(10), 4}}, "table/late"), Verdict::Fails);
  EXPECT_EQ(verdict({{TimedCommandId{0}, at(0), at(50), 4}}, "table/horizon"), Verdict::Holds);
  EXPECT_EQ(verdict({{TimedCommandId{0}, at(0), at(51), 4}}, "table/horizon"), Verdict::Fails);
  EXPECT_EQ(verdict({{TimedCommandId{0}, at(0), at(20), 4}, {TimedCommandId{1}, at(0), at(22), 4}},
                    "table/spacing"),
            Verdict::Holds);
  EXPECT_EQ(verdict({{TimedCommandId{0}, at(0), at(20), 4}, {TimedCommandId{1}, at(0), at(21), 4}},
                    "table/spacing"),
            Verdict::Fails);
}

TEST(Table, ImmediateCommandsTakeNoEntryAndNeedAWindow) {
  Station station;
  station.table.entries = 1;
  station.table.load_guard = seconds_to_duration(10);
  Timeline timeline;
  timeline.end = at(1000);
  const TableUse stored{TimedCommandId{0}, at(0), at(100), 4};
  TableUse now{TimedCommandId{1}, at(50), at(50), 0};
  now.immediate = true;
  now.contact = seconds_to_duration(3);
  const TableResult good = check_table(station, timeline, {stored, now});
  EXPECT_EQ(find(good, "table/entries")->value, 1);
  EXPECT_EQ(find(good, "table/late")->verdict, Verdict::Holds);
  EXPECT_EQ(find(good, "table/contact")->verdict, Verdict::Holds);
  EXPECT_DOUBLE_EQ(find(good, "table/contact")->margin, 3);

  now.contact = seconds_to_duration(-2);
  now.aboard.reset();
  const TableResult outside = check_table(station, timeline, {stored, now});
  EXPECT_EQ(find(outside, "table/contact")->verdict, Verdict::Fails);
  EXPECT_DOUBLE_EQ(find(outside, "table/contact")->margin, -2);
  EXPECT_EQ(find(outside, "table/contact")->cause, std::vector<TimedCommandId>{TimedCommandId{1}});

  now.contact.reset();
  const TableResult none = check_table(station, timeline, {stored, now});
  EXPECT_EQ(find(none, "table/contact")->verdict, Verdict::Fails);
  EXPECT_FALSE(find(none, "table/contact")->has_margin);
}

}  // namespace
}  // namespace cairn
