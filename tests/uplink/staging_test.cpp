// Staging held against its own promises and an exhaustive search on small cases.

#include <gtest/gtest.h>

#include <algorithm>
#include <functional>
#include <random>

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

}  // namespace
}  // namespace cairn
