// The command table played through instant by instant, entry by entry, against the check's one sweep.

#include <gtest/gtest.h>

#include <algorithm>
#include <random>
#include <set>

#include "constraints/table/table.h"

namespace cairn {
namespace {

Instant at(std::int64_t seconds) { return {(2'300'000'000 + seconds) * nanoseconds_per_second}; }

struct Case {
  Station station;
  Timeline timeline;
  std::vector<TableUse> uses;
};

Case random_case(std::mt19937& random, bool with_operations) {
  Case made;
  made.station.table.entries = 1000;
  made.station.table.bytes = 1'000'000;
  const UnitId unit = made.station.units.add({"box", "", {}, no_origin});
  for (const TableOperation operation :
       {TableOperation::None, TableOperation::Clear, TableOperation::Disable, TableOperation::Enable}) {
    CommandDefinition command;
    command.unit = unit;
    command.number = static_cast<std::uint16_t>(operation);
    command.table = operation;
    made.station.commands.add(command);
  }
  made.timeline.begin = at(0);
  made.timeline.end = at(1000);
  // Times of their own for all that happens, so that no order is left open.
  std::vector<std::int64_t> times(60);
  for (std::size_t i = 0; i < times.size(); ++i) times[i] = static_cast<std::int64_t>(i) * 10;
  std::shuffle(times.begin(), times.end(), random);
  for (std::size_t i = random() % 15; i > 0; --i) {
    std::int64_t aboard = times.back();
    times.pop_back();
    std::int64_t runs = times.back();
    times.pop_back();
    if (aboard > runs) std::swap(aboard, runs);
    const CommandId kind{with_operations && random() % 4 == 0 ? static_cast<std::uint32_t>(1 + random() % 3)
                                                              : 0U};
    TableUse use;
    use.aboard = at(aboard);
    use.runs = at(runs);
    use.bytes = 10 + static_cast<std::uint32_t>(random() % 50);
    if (random() % 3 == 0) {
      use.definition = kind;
    } else {
      use.command = TimedCommandId{static_cast<std::uint32_t>(made.timeline.commands.size())};
      made.timeline.commands.push_back({at(runs), kind, {}});
    }
    made.uses.push_back(use);
  }
  return made;
}

// What happens second by second.
struct Played {
  std::size_t peak_entries = 0;
  std::uint64_t peak_bytes = 0;
  std::set<std::size_t> lost;  // by use
};

Played play(const Case& made) {
  Played played;
  std::set<std::size_t> table;
  bool enabled = true;
  for (std::int64_t second = 0; second <= 600; ++second) {
    std::vector<std::size_t> due;
    for (const std::size_t i : table) {
      if (made.uses[i].runs == at(second)) due.push_back(i);
    }
    for (const std::size_t i : due) {
      if (!table.contains(i)) continue;
      table.erase(i);
      const TableUse& use = made.uses[i];
      const CommandId kind =
          use.command.is_valid() ? made.timeline.commands[use.command.value].command : use.definition;
      const TableOperation operation = made.station.commands[kind].table;
      if (operation == TableOperation::None && !enabled) played.lost.insert(i);
      if (operation == TableOperation::Clear) {
        played.lost.insert(table.begin(), table.end());
        table.clear();
      }
      if (operation == TableOperation::Disable) enabled = false;
      if (operation == TableOperation::Enable) enabled = true;
    }
    for (std::size_t i = 0; i < made.uses.size(); ++i) {
      if (made.uses[i].aboard == at(second)) table.insert(i);
    }
    std::uint64_t bytes = 0;
    for (const std::size_t i : table) bytes += made.uses[i].bytes;
    played.peak_entries = std::max(played.peak_entries, table.size());
    played.peak_bytes = std::max(played.peak_bytes, bytes);
  }
  return played;
}

TEST(TableSimulator, PeaksAreThoseOfTheTablePlayedThrough) {
  std::mt19937 random(1);
  for (int round = 0; round < 2000; ++round) {
    const Case made = random_case(random, false);
    const Played played = play(made);
    std::uint32_t entries = 0;
    std::uint32_t bytes = 0;
    for (const TablePoint& point : check_table(made.station, made.timeline, made.uses).points) {
      entries = std::max(entries, point.entries);
      bytes = std::max(bytes, point.bytes);
    }
    EXPECT_EQ(entries, played.peak_entries) << round;
    EXPECT_EQ(bytes, played.peak_bytes) << round;
    EXPECT_TRUE(played.lost.empty());
  }
}

TEST(TableSimulator, WhatOperationsTakeAwayIsFound) {
  std::mt19937 random(2);
  std::size_t lost = 0;
  for (int round = 0; round < 5000; ++round) {
    const Case made = random_case(random, true);
    const Played played = play(made);
    std::multiset<Instant> expected;
    for (const std::size_t i : played.lost) expected.insert(made.uses[i].runs);
    std::multiset<Instant> found;
    for (const Finding& finding : check_table(made.station, made.timeline, made.uses).findings) {
      if (finding.code == "table/lost" && finding.verdict == Verdict::Fails) found.insert(finding.time);
    }
    ASSERT_EQ(found, expected) << round;
    lost += expected.size();
  }
  EXPECT_GT(lost, 3000U);
}

TEST(TimeTag, BeyondTheCodeFails) {
  for (const TimeCodeForm form : {TimeCodeForm::Unsegmented, TimeCodeForm::DaySegmented}) {
    Case made;
    made.station.table.entries = 10;
    made.station.clock.time_code = form;
    CommandDefinition command;
    command.unit = made.station.units.add({"box", "", {}, no_origin});
    made.station.commands.add(command);
    // 2^32 s after 1958; 2^16 days less the leap seconds' room.
    const std::int64_t last = form == TimeCodeForm::Unsegmented ? 4'294'967'295 : 65'535LL * 86'400 - 1;
    for (const std::int64_t second : {last, last + 1}) {
      made.timeline.begin = made.timeline.end = {second * nanoseconds_per_second};
      made.timeline.commands = {{made.timeline.begin, CommandId{0}, {}}};
      bool fails = false;
      for (const Finding& finding : check_table(made.station, made.timeline, {}).findings) {
        fails = fails || finding.code == "table/time-tag";
      }
      EXPECT_EQ(fails, second > last);
    }
  }
}

}  // namespace
}  // namespace cairn
