// Conflicts and mends, each tried out: what is named in conflict cannot be staged and can without any one of
// it, and each mend is the least of its kind that works. Whether a staging holds is asked of the table check,
// which shares nothing with the search.

#include <gtest/gtest.h>

#include <algorithm>
#include <random>

#include "compiler/uplink/uplink.h"

namespace cairn {
namespace {

Instant at(std::int64_t seconds) { return {(2'300'000'000 + seconds) * nanoseconds_per_second}; }

struct Case {
  Station station;
  std::vector<TimedCommand> commands;
  std::vector<CarriedEntry> carried;
  Instant earliest = at(100);

  [[nodiscard]] StagingInput input() const {
    return {&station, &commands, &carried, 0, at(0), earliest, 1.25, &published_leap_seconds()};
  }
  // Everything goes up, and the table holds it.
  [[nodiscard]] bool holds() const {
    const Staging staging = stage(input());
    Timeline timeline;
    timeline.begin = at(0);
    timeline.end = at(5000);
    timeline.commands = commands;
    const TableResult result = check_table(station, timeline, staging.uses);
    return std::all_of(result.findings.begin(), result.findings.end(), [](const Finding& finding) {
      return finding.code == "table/spacing" || finding.verdict == Verdict::Holds;
    });
  }
};

Case random_case(std::mt19937& random) {
  const auto below = [&random](int limit) {
    return static_cast<int>(random() % static_cast<unsigned>(limit));
  };
  Case made;
  Station& station = made.station;
  station.link.rate = 80;
  station.link.gap = {250'000'000};
  station.link.application_id = 291;
  station.table.entries = static_cast<std::uint32_t>(1 + below(4));
  station.table.bytes = below(2) == 0 ? 0 : static_cast<std::uint32_t>(20 + below(80));
  station.table.load_guard = seconds_to_duration(below(8));
  station.table.horizon = below(4) == 0 ? seconds_to_duration(200 + below(300)) : Duration{};
  CommandDefinition command;
  command.unit = station.units.add({"box", "", {}, no_origin});
  command.number = 7;
  station.commands.add(command);
  const AntennaId antenna = station.antennas.add({"west-dish", no_origin});
  int opens = 0;
  for (int i = 2 + below(4); i > 0; --i) {
    opens += 20 + below(200);
    station.windows.add({antenna, at(opens), at(opens + 5 + below(20)), no_origin});
    opens += 30;
  }
  int time = 120;
  for (int i = 1 + below(8); i > 0; --i) {
    time += below(80);
    made.commands.push_back({at(time), CommandId{0}, {}});
  }
  for (int i = below(3); i > 0; --i) made.carried.push_back({CommandId{0}, {}, at(100 + below(300)), 15, 3});
  return made;
}

TEST(Conflict, IsSmallestAndItsMendsWork) {
  std::mt19937 random(77);
  std::size_t conflicts = 0;
  std::size_t by_entries = 0;
  std::size_t by_time = 0;
  std::size_t by_window = 0;
  for (int round = 0; round < 3000; ++round) {
    const Case made = random_case(random);
    const auto conflict = find_conflict(made.input());
    ASSERT_EQ(conflict.has_value(), !made.holds()) << round;
    if (!conflict) continue;
    ++conflicts;
    ASSERT_FALSE(conflict->commands.empty());
    Case alone = made;
    alone.commands.clear();
    for (const TimedCommandId id : conflict->commands) alone.commands.push_back(made.commands[id.value]);
    EXPECT_FALSE(alone.holds()) << round;
    for (std::size_t i = 0; i < alone.commands.size() && alone.commands.size() > 1; ++i) {
      Case without = alone;
      without.commands.erase(without.commands.begin() + static_cast<std::ptrdiff_t>(i));
      EXPECT_TRUE(without.holds()) << round << ": without " << i;
    }
    if (conflict->entries) {
      Case mended = made;
      mended.station.table.entries = *conflict->entries;
      EXPECT_TRUE(mended.holds()) << round;
      --mended.station.table.entries;
      EXPECT_FALSE(mended.holds()) << round;
      ++by_entries;
    }
    if (conflict->bytes) {
      Case mended = made;
      mended.station.table.bytes = *conflict->bytes;
      EXPECT_TRUE(mended.holds()) << round;
      --mended.station.table.bytes;
      EXPECT_FALSE(mended.holds()) << round;
    }
    if (conflict->later) {
      Case mended = made;
      TimedCommand& last = mended.commands[conflict->commands.back().value];
      last.time = last.time + *conflict->later;
      std::stable_sort(mended.commands.begin(), mended.commands.end(),
                       [](const TimedCommand& a, const TimedCommand& b) { return a.time < b.time; });
      EXPECT_TRUE(mended.holds()) << round;
      ++by_time;
    }
    if (conflict->earlier) {
      Case mended = made;
      mended.earliest = made.station.windows[*conflict->earlier].opens;
      EXPECT_TRUE(mended.holds()) << round;
      ++by_window;
    }
  }
  EXPECT_GT(conflicts, 500U);
  EXPECT_GT(by_entries, 50U);
  EXPECT_GT(by_time, 200U);
  EXPECT_GT(by_window, 50U);
}

// Blocks are kept together where that costs nothing else: worked by hand.
TEST(Staging, KeepsBlocksTogether) {
  Case made;
  Station& station = made.station;
  station.link.rate = 800;
  station.link.application_id = 291;
  station.table.entries = 100;
  CommandDefinition command;
  command.unit = station.units.add({"box", "", {}, no_origin});
  station.commands.add(command);
  const AntennaId antenna = station.antennas.add({"west-dish", no_origin});
  // Room for three packets each.
  station.windows.add({antenna, at(100), {at(101).tai_nanoseconds + 100'000'000}, no_origin});
  station.windows.add({antenna, at(200), {at(201).tai_nanoseconds + 100'000'000}, no_origin});
  for (int i = 0; i < 5; ++i) made.commands.push_back({at(400 + i), CommandId{0}, {}});
  const std::vector<std::uint32_t> blocks{0, 0, 1, 1, 2};
  StagingInput input = made.input();
  const Staging plain = stage(input);
  ASSERT_EQ(plain.batches.size(), 2U);
  ASSERT_EQ(plain.batches[0].commands.size(), 3U);
  EXPECT_NE(plain.commands[2].window, plain.commands[3].window) << "in order the second block is split";
  input.blocks = &blocks;
  const Staging kept = stage(input);
  ASSERT_EQ(kept.batches.size(), 2U);
  EXPECT_EQ(kept.batches[0].commands.size(), 3U) << "as many windows left for another try";
  EXPECT_EQ(kept.commands[0].window, kept.commands[1].window);
  EXPECT_EQ(kept.commands[2].window, kept.commands[3].window);
}

}  // namespace
}  // namespace cairn
