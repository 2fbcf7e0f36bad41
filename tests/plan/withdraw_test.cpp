// Withdrawing entries of earlier loads, from staging to octets: read back by the independent decoder and
// played into a table by a simulation of its own.

#include <gmock/gmock.h>

#include <algorithm>
#include <random>
#include <set>

#include "compiler/plan/assemble.h"
#include "compiler/uplink/decoder/decoder.h"
#include "tests/uplink/random_plan.h"

namespace cairn {
namespace {

using ::testing::Contains;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;

constexpr std::int64_t day = 86'400;
Instant at(std::int64_t seconds) { return {(2'000'000'000 + seconds) * nanoseconds_per_second}; }

struct Case {
  Station station;
  std::vector<TimedCommand> commands;
  std::vector<CarriedEntry> carried;
  std::vector<CarriedEntry> withdrawn;
  Staging staging;

  void run() {
    StagingInput input{&station, &commands, &carried, 16'300, at(0), at(0), 1.3, &published_leap_seconds(),
                       250};
    input.withdrawn = &withdrawn;
    staging = stage(input);
  }
  [[nodiscard]] std::vector<std::string> check() const {
    return translation_check(station, commands, staging, published_leap_seconds(), carried);
  }
};

Case random_case(std::mt19937_64& random, LinkProfile profile) {
  Case made;
  RandomPlan plan = random_plan(random, profile, 24);
  made.station = std::move(plan.station);
  made.station.link.rate = 20'000;
  made.station.clock.coarse_octets = 4;
  made.station.clock.fine_octets = 2;
  made.station.table.entries = 100;
  made.station.table.load_guard = seconds_to_duration(30);
  const AntennaId antenna = made.station.antennas.add({"west-dish", no_origin});
  for (std::int64_t i = 0; i < 4; ++i) {
    made.station.windows.add(
        {antenna, at(i * 3'600), at(i * 3'600 + 1 + static_cast<std::int64_t>(random() % 200)), no_origin});
  }
  // No two of one command at the same time, so that words can tell them apart.
  std::set<std::int64_t> taken;
  std::uint16_t count = 100;
  for (TimedCommand& command : plan.commands) {
    std::int64_t second = 0;
    do {
      second = random() % 4 == 0 ? 2 + static_cast<std::int64_t>(random() % 60)
                                 : 20 + static_cast<std::int64_t>(random() % (day / 4));
    } while (!taken.insert(second).second);
    command.time = representable_time(made.station.clock, at(second), published_leap_seconds());
    const std::uint64_t fate = random() % 3;
    if (fate == 0) {
      made.commands.push_back(command);
      continue;
    }
    CarriedEntry entry{command.command, command.arguments, command.time, 20, count};
    count = static_cast<std::uint16_t>(count + 2);
    (fate == 1 ? made.carried : made.withdrawn).push_back(std::move(entry));
  }
  std::sort(made.commands.begin(), made.commands.end(),
            [](const TimedCommand& a, const TimedCommand& b) { return a.time < b.time; });
  made.run();
  return made;
}

// The table as the station holds it: what an entry is known by, and all that it is.
using Entry = std::tuple<std::uint32_t, Instant, std::uint32_t, std::vector<std::uint64_t>>;

Entry entry_of(CommandId command, Instant time, std::uint32_t count,
               const std::vector<ArgumentValue>& arguments) {
  std::vector<std::uint64_t> raw;
  for (const ArgumentValue& value : arguments) raw.push_back(value.raw);
  return {command.value, time, count, raw};
}

void play(const Bytes& bytes, const Station& station, std::multiset<Entry>& table) {
  const bool words = station.link.profile == LinkProfile::Word;
  const Decoded decoded = decode(bytes, station, published_leap_seconds());
  ASSERT_TRUE(decoded.problems.empty());
  for (const DecodedRequest& request : decoded.requests) {
    if (request.kind == RequestKind::Insert) {
      table.insert(entry_of(request.command, request.time, words ? 0U : request.target_sequence_count,
                            request.arguments));
      continue;
    }
    ASSERT_EQ(request.kind, RequestKind::Delete);
    const auto found = std::find_if(table.begin(), table.end(), [&](const Entry& entry) {
      return words ? std::get<0>(entry) == request.command.value && std::get<1>(entry) == request.time
                   : std::get<2>(entry) == request.target_sequence_count;
    });
    if (found != table.end()) table.erase(found);
  }
}

TEST(Withdraw, TheBatchesTakeOutExactlyThatAndTheBackoutPutsItBack) {
  std::mt19937_64 random(71);
  std::size_t done = 0;
  std::size_t without_window = 0;
  for (int round = 0; round < 400; ++round) {
    const Case made = random_case(random, round % 2 == 0 ? LinkProfile::Packet : LinkProfile::Word);
    const bool words = made.station.link.profile == LinkProfile::Word;
    ASSERT_THAT(made.check(), IsEmpty()) << round;
    const auto known = [&](const CarriedEntry& entry) {
      return entry_of(entry.command, entry.time, words ? 0U : entry.sequence_count, entry.arguments);
    };
    std::multiset<Entry> before;
    for (const CarriedEntry& entry : made.carried) before.insert(known(entry));
    std::multiset<Entry> after = before;
    ASSERT_EQ(made.staging.withdrawals.size(), made.withdrawn.size());
    for (const StagedWithdrawal& staged : made.staging.withdrawals) {
      before.insert(known(staged.entry));
      ++(staged.window.is_valid() ? done : without_window);
      if (!staged.window.is_valid()) after.insert(known(staged.entry));
    }
    for (std::size_t i = 0; i < made.commands.size(); ++i) {
      const StagedCommand& staged = made.staging.commands[i];
      if (!staged.window.is_valid()) continue;
      after.insert(entry_of(made.commands[i].command, made.commands[i].time,
                            words ? 0U : staged.sequence_count, made.commands[i].arguments));
    }
    std::multiset<Entry> table = before;
    for (const Batch& batch : made.staging.batches) play(batch.bytes, made.station, table);
    EXPECT_TRUE(table == after) << round;
    play(made.staging.backout, made.station, table);
    EXPECT_TRUE(table == before) << "sent after the load, " << round;
    table = before;
    play(made.staging.backout, made.station, table);
    EXPECT_TRUE(table == before) << "sent without the load, " << round;
  }
  EXPECT_GT(done, 500U);
  EXPECT_GT(without_window, 50U);
}

// One count after another in the order of transmission, nothing on top of another, inside its window, in
// time; and where there is none, no window would have done.
TEST(Withdraw, ItGoesUpAsEarlyAsCanBe) {
  std::mt19937_64 random(72);
  const Duration light = duration_from_seconds(1.3).value();
  for (int round = 0; round < 300; ++round) {
    const Case made = random_case(random, round % 2 == 0 ? LinkProfile::Packet : LinkProfile::Word);
    std::uint32_t count = 16'300;
    Instant free{};
    for (const Batch& batch : made.staging.batches) {
      EXPECT_NE(batch.commands.empty(), batch.withdrawals.empty());
      EXPECT_GE(batch.begin, free);
      free = batch.end + made.station.link.gap;
      for (const std::uint32_t index : batch.withdrawals) {
        const StagedWithdrawal& staged = made.staging.withdrawals[index];
        EXPECT_EQ(staged.sequence_count, count);
        count = (count + 1) % 16'384;
        EXPECT_GE(staged.transmit_begin, made.station.windows[staged.window].opens);
        EXPECT_LE(staged.transmit_end, made.station.windows[staged.window].closes);
        EXPECT_EQ(staged.received, staged.transmit_end + light);
        EXPECT_LE(staged.received + made.station.table.load_guard, staged.entry.time);
      }
      for (const TimedCommandId id : batch.commands) {
        EXPECT_EQ(made.staging.commands[id.value].sequence_count, count);
        count = (count + 2) % 16'384;
      }
    }
    for (const StagedWithdrawal& staged : made.staging.withdrawals) {
      if (staged.window.is_valid()) continue;
      // All were sent in the first window one after another: longer than a second each takes none of them.
      const auto earlier = std::count_if(
          made.staging.withdrawals.begin(), made.staging.withdrawals.end(), [&](const StagedWithdrawal& one) {
            return one.window.is_valid() && one.transmit_begin < staged.entry.time;
          });
      const Instant latest = staged.entry.time - made.station.table.load_guard - light;
      for (const Window& window : made.station.windows) {
        const Instant enough = window.opens + seconds_to_duration(earlier + 2);
        EXPECT_FALSE(enough <= latest && enough <= window.closes) << round;
      }
    }
  }
}

class Planted : public ::testing::Test {
 protected:
  void SetUp() override {
    std::mt19937_64 random(73);
    do {
      made_ = random_case(random, LinkProfile::Packet);
      std::erase_if(made_.withdrawn, [&](const CarriedEntry& entry) { return entry.time < at(4'000); });
      made_.station.link.frames.reset();
      made_.station.link.units.reset();
      made_.run();
    } while (made_.staging.batches.empty() || made_.staging.batches.front().withdrawals.size() < 2);
    ASSERT_THAT(made_.check(), IsEmpty());
  }
  Batch& batch() { return made_.staging.batches.front(); }
  Case made_;
};

TEST_F(Planted, EveryFlippedBitIsFound) {
  for (Bytes* bytes : {&batch().bytes, &made_.staging.backout}) {
    for (std::size_t octet = 0; octet < bytes->size(); ++octet) {
      for (unsigned bit = 0; bit < 8; ++bit) {
        (*bytes)[octet] ^= static_cast<std::uint8_t>(1U << bit);
        EXPECT_THAT(made_.check(), Not(IsEmpty())) << octet;
        (*bytes)[octet] ^= static_cast<std::uint8_t>(1U << bit);
      }
    }
  }
}

TEST_F(Planted, AnotherEntryIsFound) {
  made_.staging.withdrawals[batch().withdrawals[0]].entry.sequence_count += 2;
  EXPECT_THAT(made_.check(), Contains(HasSubstr("do not withdraw the entry that is listed")));
}

TEST_F(Planted, OneLeftOutIsFound) {
  batch().withdrawals.pop_back();
  EXPECT_THAT(made_.check(), Contains(HasSubstr("requests where")));
}

TEST_F(Planted, AnotherPacketInTheListIsFound) {
  made_.staging.withdrawals[batch().withdrawals[0]].packet.back() ^= 1U;
  EXPECT_THAT(made_.check(), Contains(HasSubstr("another packet than the batch")));
}

// Without the last packet an entry that was withdrawn stays away.
TEST_F(Planted, ABackoutThatPutsNothingBackIsFound) {
  const Decoded decoded = decode(made_.staging.backout, made_.station, published_leap_seconds());
  made_.staging.backout.resize(made_.staging.backout.size() - decoded.requests.back().size);
  EXPECT_THAT(made_.check(), Contains("the backout does not leave the table as it was"));
}

// What is put back has other arguments, in a packet that is whole.
TEST_F(Planted, ABackoutThatPutsAnotherEntryBackIsFound) {
  Case other = made_;
  for (CarriedEntry& entry : other.withdrawn) entry.time = entry.time + seconds_to_duration(60);
  other.run();
  made_.staging.backout = other.staging.backout;
  EXPECT_THAT(made_.check(), Contains("the backout loads what this load does not withdraw"));
}

}  // namespace
}  // namespace cairn
