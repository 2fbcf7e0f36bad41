// decode(encode(x)) = x, and nothing that is not what was encoded passes for it.

#include "compiler/uplink/decoder/decoder.h"

#include <gtest/gtest.h>

#include <random>

#include "compiler/uplink/checksum.h"
#include "compiler/uplink/packet.h"

namespace cairn {
namespace {

struct Case {
  Station station;
  std::vector<TimedCommand> commands;
  Bytes bytes;
};

Case random_case(std::mt19937_64& random, std::size_t count) {
  Case made;
  Station& station = made.station;
  station.link.application_id = static_cast<std::uint16_t>(random() % 2047);
  station.link.source_id = static_cast<std::uint16_t>(random());
  station.clock.time_code = random() % 2 == 0 ? TimeCodeForm::Unsegmented : TimeCodeForm::DaySegmented;
  station.clock.fine_octets = static_cast<int>(random() % 6);
  station.clock.coarse_octets = 4 + static_cast<int>(random() % 2);
  station.clock.preamble = random() % 2 == 0;
  station.clock.tick = {1'000'000};
  const UnitId unit = station.units.add({"box", "", {}, no_origin});
  for (std::uint16_t i = 0; i < 8; ++i) {
    CommandDefinition command;
    command.unit = unit;
    command.number = static_cast<std::uint16_t>(i * 1000 + 7);
    for (std::size_t a = random() % 5; a > 0; --a) {
      ArgumentDefinition argument;
      argument.encoding.width = 1 + static_cast<int>(random() % 64);
      argument.encoding.is_signed = random() % 2 == 0;
      command.arguments.push_back(argument);
    }
    station.commands.add(command);
  }
  for (std::size_t i = 0; i < count; ++i) {
    TimedCommand command;
    command.command = CommandId{static_cast<std::uint32_t>(random() % 8)};
    const Instant time{450'000'000'000'000'000 +
                       static_cast<std::int64_t>(random() % 2'000'000'000'000'000'000ULL)};
    command.time = representable_time(station.clock, time, published_leap_seconds());
    for (const ArgumentDefinition& argument : station.commands[command.command].arguments) {
      const int width = argument.encoding.width;
      const std::uint64_t raw = random() >> (64 - width);
      command.arguments.push_back({decode_argument(argument, raw), raw});
    }
    const auto sequence = static_cast<std::uint16_t>(2 * i % 16384);
    const Bytes packet = insert_packet(station, command.time, request_packet(station, command, sequence),
                                       static_cast<std::uint16_t>(sequence + 1), published_leap_seconds());
    made.bytes.insert(made.bytes.end(), packet.begin(), packet.end());
    made.commands.push_back(std::move(command));
  }
  return made;
}

TEST(Decoder, ReadsBackWhatWasEncoded) {
  std::mt19937_64 random(9);
  for (int round = 0; round < 1000; ++round) {
    const Case made = random_case(random, 20);
    const Decoded decoded = decode(made.bytes, made.station, published_leap_seconds());
    ASSERT_TRUE(decoded.problems.empty()) << decoded.problems.front().message;
    ASSERT_EQ(decoded.requests.size(), made.commands.size());
    for (std::size_t i = 0; i < made.commands.size(); ++i) {
      const DecodedRequest& request = decoded.requests[i];
      EXPECT_EQ(request.kind, RequestKind::Insert);
      EXPECT_EQ(request.time, made.commands[i].time);
      EXPECT_EQ(request.command, made.commands[i].command);
      EXPECT_EQ(request.sequence_count, 2 * i + 1);
      ASSERT_EQ(request.arguments.size(), made.commands[i].arguments.size());
      for (std::size_t a = 0; a < request.arguments.size(); ++a) {
        EXPECT_EQ(request.arguments[a].raw, made.commands[i].arguments[a].raw);
        EXPECT_EQ(request.arguments[a].number, made.commands[i].arguments[a].number);
      }
    }
  }
}

TEST(Decoder, EveryFlippedBitIsSeen) {
  std::mt19937_64 random(10);
  for (int round = 0; round < 10; ++round) {
    const Case made = random_case(random, 3);
    for (std::size_t bit = 0; bit < made.bytes.size() * 8; ++bit) {
      Bytes flipped = made.bytes;
      flipped[bit / 8] = static_cast<std::uint8_t>(flipped[bit / 8] ^ (1U << (bit % 8)));
      EXPECT_FALSE(decode(flipped, made.station, published_leap_seconds()).problems.empty()) << bit;
    }
  }
}

TEST(Decoder, TruncationIsSeenUnlessItFallsBetweenPackets) {
  std::mt19937_64 random(11);
  const Case made = random_case(random, 4);
  const Decoded whole = decode(made.bytes, made.station, published_leap_seconds());
  for (std::size_t size = 0; size < made.bytes.size(); ++size) {
    const Decoded cut = decode(std::span(made.bytes).first(size), made.station, published_leap_seconds());
    bool between = size == 0;
    for (const DecodedRequest& request : whole.requests) between = between || request.offset == size;
    EXPECT_EQ(cut.problems.empty(), between) << size;
  }
}

// Octets changed and error controls set right again, so that the damage gets past them: inside and outside
// packet, lengths included. Whatever is accepted is still something that the station could be sent.
TEST(Decoder, DamageBehindAGoodErrorControlIsReadWithCare) {
  std::mt19937_64 random(12);
  const auto seal = [](Bytes& bytes, std::size_t from, std::size_t to) {
    const std::uint16_t sum = crc16_fast(bytes.data() + from, to - from - 2);
    bytes[to - 2] = static_cast<std::uint8_t>(sum >> 8U);
    bytes[to - 1] = static_cast<std::uint8_t>(sum & 0xFFU);
  };
  int refused = 0;
  for (int round = 0; round < 20'000; ++round) {
    const Case made = random_case(random, 1);
    Bytes bytes = made.bytes;
    const std::size_t inner =
        bytes.size() - 2 - request_packet(made.station, made.commands.front(), 0).size();
    for (std::size_t hits = 1 + random() % 3; hits > 0; --hits) {
      bytes[random() % bytes.size()] = static_cast<std::uint8_t>(random());
    }
    if (random() % 3 == 0) bytes.resize(std::max<std::size_t>(inner + 2, random() % bytes.size()));
    if (random() % 2 == 0 && bytes.size() >= 7) {
      bytes[4] = static_cast<std::uint8_t>((bytes.size() - 7) >> 8U);
      bytes[5] = static_cast<std::uint8_t>((bytes.size() - 7) & 0xFFU);
    }
    if (bytes.size() >= inner + 4) seal(bytes, inner, bytes.size() - 2);
    seal(bytes, 0, bytes.size());
    const Bytes exact(bytes);  // no spare capacity behind the last octet
    const Decoded decoded = decode(exact, made.station, published_leap_seconds());
    refused += decoded.problems.empty() ? 0 : 1;
    for (const DecodeProblem& problem : decoded.problems) {
      EXPECT_LT(problem.offset, exact.size());
      EXPECT_FALSE(problem.message.empty());
    }
    for (const DecodedRequest& request : decoded.requests) {
      EXPECT_LE(request.offset + request.size, exact.size());
      if (request.kind == RequestKind::Insert) {
        EXPECT_EQ(request.arguments.size(), made.station.commands[request.command].arguments.size());
      }
    }
  }
  EXPECT_GT(refused, 10'000);
}

TEST(Decoder, NoiseIsNoLoad) {
  std::mt19937_64 random(13);
  const Case made = random_case(random, 1);
  for (int round = 0; round < 20'000; ++round) {
    Bytes noise(random() % 64);
    for (std::uint8_t& octet : noise) octet = static_cast<std::uint8_t>(random());
    const Decoded decoded = decode(noise, made.station, published_leap_seconds());
    EXPECT_TRUE(decoded.requests.empty());
    EXPECT_EQ(decoded.problems.empty(), noise.empty());
  }
}

TEST(Decoder, DeleteRequestsNameWhatTheyWithdraw) {
  Station station;
  station.link = {1000, {}, {}, {}, 291, 5, no_origin};
  const Decoded decoded = decode(delete_packet(station, 4242, 17), station, published_leap_seconds());
  ASSERT_EQ(decoded.requests.size(), 1U);
  EXPECT_EQ(decoded.requests[0].kind, RequestKind::Delete);
  EXPECT_EQ(decoded.requests[0].target_sequence_count, 4242);
  EXPECT_EQ(decoded.requests[0].sequence_count, 17);
}

}  // namespace
}  // namespace cairn
