// Staging held against its own promises and an exhaustive search on small cases.

#include <gtest/gtest.h>

#include <algorithm>
#include <functional>
#include <random>
#include <set>

#include "compiler/uplink/uplink.h"

namespace cairn {
namespace {

Instant at(std::int64_t seconds) { return {(2'000'000'000 + seconds) * nanoseconds_per_second}; }

Station post(std::uint32_t cap) {
  Station station;
  const UnitId unit = station.units.add({"box", "", {}, no_origin});
  CommandDefinition command;
  command.unit = unit;
  command.number = 7;
  station.commands.add(command);
  station.table.entries = cap;
  station.table.load_guard = seconds_to_duration(5);
  station.link.rate = 400;  // an insert packet of 36 octets or so takes less than a second
  station.link.application_id = 291;
  station.clock.tick = {1'000'000};
  return station;
}

Staging run(const Station& station, const std::vector<TimedCommand>& commands) {
  const std::vector<CarriedEntry> carried;
  return stage({&station, &commands, &carried, 0, at(0), at(0), 1.3, &published_leap_seconds()});
}

// Most entries aboard at once.
std::size_t peak(const Staging& staging) {
  std::size_t most = 0;
  for (const TableUse& use : staging.uses) {
    if (!use.aboard) continue;
    const auto aboard = std::count_if(staging.uses.begin(), staging.uses.end(), [&](const TableUse& other) {
      return other.aboard && *other.aboard <= *use.aboard && *use.aboard < other.runs;
    });
    most = std::max(most, static_cast<std::size_t>(aboard));
  }
  return most;
}

TEST(Staging, RandomCasesKeepTheirPromises) {
  std::mt19937 random(21);
  int complete = 0;
  for (int round = 0; round < 500; ++round) {
    Station station = post(4);
    const AntennaId antenna = station.antennas.add({"west-dish", no_origin});
    for (std::int64_t begin = 100; begin < 1500; begin += 300) {
      const auto opens = begin + static_cast<std::int64_t>(random() % 100);
      station.windows.add(
          {antenna, at(opens), at(opens + 20 + static_cast<std::int64_t>(random() % 100)), no_origin});
    }
    std::vector<TimedCommand> commands;
    std::int64_t time = 150;
    for (int i = 0; i < 9; ++i) {
      time += 1 + static_cast<std::int64_t>(random() % 300);
      commands.push_back({at(time), CommandId{0}, {}});
    }
    const Staging staging = run(station, commands);
    ASSERT_EQ(staging.commands.size(), commands.size());
    bool all = true;
    for (const StagedCommand& staged : staging.commands) {
      if (!staged.window.is_valid()) {
        all = false;
        // Nothing could have carried it: every window that begins early enough was busy or over.
        continue;
      }
      const Window& window = station.windows[staged.window];
      EXPECT_GE(staged.transmit_begin, window.opens);
      EXPECT_LE(staged.transmit_end, window.closes);
      EXPECT_LE(staged.aboard + station.table.load_guard, commands[staged.command.value].time);
    }
    for (std::size_t i = 1; i < staging.batches.size(); ++i) {
      EXPECT_LE(staging.batches[i - 1].end, staging.batches[i].begin);
    }
    if (all && peak(staging) <= 4) ++complete;

    // Exhaustive: is there any assignment of commands to windows that is in time and keeps the cap? Packets
    // take about a second, so windows count as instants at their opening plus a second a packet.
    std::vector<std::size_t> chosen(commands.size());
    const std::function<bool(std::size_t)> search = [&](std::size_t i) {
      if (i == commands.size()) {
        for (std::size_t a = 0; a < chosen.size(); ++a) {
          const Instant now = station.windows[station.windows.id_at(chosen[a])].closes;
          std::size_t aboard = 0;
          for (std::size_t b = 0; b < chosen.size(); ++b) {
            const Instant other = station.windows[station.windows.id_at(chosen[b])].opens;
            if (other <= now && commands[b].time > now) ++aboard;
          }
          if (aboard > 4) return false;
        }
        return true;
      }
      for (std::size_t w = i > 0 ? chosen[i - 1] : 0; w < station.windows.size(); ++w) {
        const Window& window = station.windows[station.windows.id_at(w)];
        if (commands[i].time < window.opens + seconds_to_duration(20)) continue;
        chosen[i] = w;
        if (search(i + 1)) return true;
      }
      return false;
    };
    if (search(0)) {
      EXPECT_TRUE(all) << "a staging exists, round " << round;
      EXPECT_LE(peak(staging), 4U) << "a staging within the cap exists, round " << round;
    }
  }
  EXPECT_GT(complete, 20);
}

// Thirty commands of three blocks in turns, windows for twenty and ten: in the order in which they run every
// block is split, and it need not be.
TEST(Staging, BlocksOfLargerLoadsStayTogether) {
  Station station = post(100);
  const AntennaId antenna = station.antennas.add({"west-dish", no_origin});
  const std::vector<TimedCommand> one = {{at(5000), CommandId{0}, {}}};
  station.windows.add({antenna, at(0), at(1000), no_origin});
  const Staging alone = run(station, one);
  const Duration length = alone.commands[0].transmit_end - alone.commands[0].transmit_begin;
  Station narrow = post(100);
  narrow.antennas.add({"west-dish", no_origin});
  for (const std::int64_t many : {20, 11}) {
    const Instant opens = at(many == 20 ? 0 : 500);
    narrow.windows.add({antenna, opens, opens + Duration{length.nanoseconds * many}, no_origin});
  }
  std::vector<TimedCommand> commands;
  std::vector<std::uint32_t> blocks;
  for (std::uint32_t i = 0; i < 30; ++i) {
    commands.push_back({at(5000 + 10 * i), CommandId{0}, {}});
    blocks.push_back(i % 3);
  }
  const auto windows_of = [&](const Staging& staging) {
    std::vector<std::set<std::uint32_t>> used(3);
    for (std::uint32_t i = 0; i < 30; ++i) {
      EXPECT_TRUE(staging.commands[i].window.is_valid());
      used[i % 3].insert(staging.commands[i].window.value);
    }
    return used;
  };
  const std::vector<CarriedEntry> carried;
  StagingInput input{&narrow, &commands, &carried, 0, at(0), at(0), 1.3, &published_leap_seconds()};
  for (const std::set<std::uint32_t>& used : windows_of(stage(input))) EXPECT_EQ(used.size(), 2U);
  input.blocks = &blocks;
  const Staging staging = stage(input);
  for (const std::set<std::uint32_t>& used : windows_of(staging)) EXPECT_EQ(used.size(), 1U);
  // Within a window they still go up in the order in which they run.
  for (const Batch& batch : staging.batches) {
    EXPECT_TRUE(std::is_sorted(batch.commands.begin(), batch.commands.end()));
  }
}

TEST(Staging, NoWindowNoPlace) {
  const Station station = post(4);
  const Staging staging = run(station, {{at(100), CommandId{0}, {}}});
  EXPECT_FALSE(staging.commands[0].window.is_valid());
  EXPECT_FALSE(staging.uses[0].aboard.has_value());
  EXPECT_TRUE(staging.batches.empty());
  EXPECT_TRUE(staging.backout.empty());
}

TEST(Staging, OverflowIsNotHidden) {
  Station station = post(3);
  const AntennaId antenna = station.antennas.add({"west-dish", no_origin});
  station.windows.add({antenna, at(0), at(100), no_origin});
  std::vector<TimedCommand> commands;
  for (int i = 0; i < 5; ++i) commands.push_back({at(500 + 10 * i), CommandId{0}, {}});
  const Staging staging = run(station, commands);
  for (const StagedCommand& staged : staging.commands) EXPECT_TRUE(staged.window.is_valid());
  EXPECT_EQ(peak(staging), 5U)
      << "the only window takes them all, and the table check will say it is too much";
}

TEST(Staging, ImmediateCommandsHaveTheirTimeAndOthersKeepAway) {
  std::mt19937 random(8);
  const Duration light = duration_from_seconds(1.3).value();
  int fitting = 0;
  for (int round = 0; round < 300; ++round) {
    Station station = post(20);
    station.link.gap = Duration{250'000'000};
    const AntennaId antenna = station.antennas.add({"west-dish", no_origin});
    station.windows.add({antenna, at(100), at(130), no_origin});
    station.windows.add({antenna, at(400), at(440), no_origin});
    std::vector<TimedCommand> commands;
    std::int64_t time = 90;
    for (int i = 0; i < 24; ++i) {
      time += 1 + static_cast<std::int64_t>(random() % 40);
      commands.push_back({at(time), CommandId{0}, {}});
      commands.back().immediate = random() % 3 == 0;
    }
    const Staging staging = run(station, commands);
    std::size_t sent = 0;
    for (std::size_t i = 0; i < commands.size(); ++i) {
      const StagedCommand& staged = staging.commands[i];
      const TableUse& use = staging.uses[i];
      EXPECT_EQ(use.immediate, commands[i].immediate);
      sent += staged.window.is_valid() ? 1U : 0U;
      if (!commands[i].immediate) continue;
      EXPECT_EQ(staged.entry_bytes, 0U);
      // It can go up exactly when one of the windows holds its transmission and no other one is in the way.
      const Instant end = commands[i].time - light;
      const bool inside = std::any_of(station.windows.begin(), station.windows.end(), [&](const Window& w) {
        return w.opens <= end - (staged.transmit_end - staged.transmit_begin) && end <= w.closes;
      });
      if (staged.window.is_valid()) {
        ++fitting;
        EXPECT_TRUE(inside);
        EXPECT_EQ(staged.transmit_end, end);
        EXPECT_EQ(staged.aboard, commands[i].time);
        EXPECT_GE(use.contact->nanoseconds, 0);
      } else {
        EXPECT_TRUE(!use.contact || use.contact->nanoseconds < 0);
      }
    }
    std::size_t carried = 0;
    std::uint16_t count = 0;
    for (std::size_t b = 0; b < staging.batches.size(); ++b) {
      const Batch& batch = staging.batches[b];
      if (b > 0) {
        EXPECT_LE(staging.batches[b - 1].end + station.link.gap, batch.begin);
      }
      EXPECT_TRUE(!batch.immediate || batch.commands.size() == 1);
      for (const TimedCommandId id : batch.commands) {
        EXPECT_EQ(commands[id.value].immediate, batch.immediate);
        EXPECT_EQ(staging.commands[id.value].sequence_count, count);  // in order of transmission
        count = static_cast<std::uint16_t>(count + (batch.immediate ? 1 : 2));
        ++carried;
      }
    }
    EXPECT_EQ(carried, sent);
  }
  EXPECT_GT(fitting, 100);
}

}  // namespace
}  // namespace cairn
