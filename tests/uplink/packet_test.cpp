// Octets against published vectors; sources beside each.

#include "compiler/uplink/packet.h"

#include <gtest/gtest.h>

#include <random>

#include "compiler/uplink/checksum.h"

namespace cairn {
namespace {

Bytes hex(std::string_view text) {
  Bytes out;
  for (std::size_t i = 0; i + 1 < text.size(); i += 2) {
    out.push_back(static_cast<std::uint8_t>(std::stoi(std::string(text.substr(i, 2)), nullptr, 16)));
  }
  return out;
}

std::uint16_t crc(const Bytes& bytes) { return crc16_fast(bytes.data(), bytes.size()); }

// ECSS-E-ST-70-41C annex B (and ECSS-E-70-41A annex A); 29B1 from the published parameter table of the CRC.
TEST(Crc, PublishedVectors) {
  EXPECT_EQ(crc(hex("0000")), 0x1D0F);
  EXPECT_EQ(crc(hex("000000")), 0xCC9C);
  EXPECT_EQ(crc(hex("ABCDEF01")), 0x04A2);
  EXPECT_EQ(crc(hex("1456F89A0001")), 0x7FD5);
  EXPECT_EQ(crc(hex("313233343536373839")), 0x29B1);
  EXPECT_EQ(crc({}), 0xFFFF);
}

TEST(Crc, ResidueIsZeroAndEverySingleBitCounts) {
  std::mt19937 random(2);
  for (int round = 0; round < 200; ++round) {
    Bytes bytes(1 + random() % 60);
    for (auto& byte : bytes) byte = static_cast<std::uint8_t>(random());
    const std::uint16_t sum = crc(bytes);
    bytes.push_back(static_cast<std::uint8_t>(sum >> 8));
    bytes.push_back(static_cast<std::uint8_t>(sum & 0xFF));
    EXPECT_EQ(crc(bytes), 0);
    for (std::size_t bit = 0; bit < bytes.size() * 8; ++bit) {
      Bytes flipped = bytes;
      flipped[bit / 8] = static_cast<std::uint8_t>(flipped[bit / 8] ^ (1U << (bit % 8)));
      EXPECT_NE(crc(flipped), 0);
    }
  }
}

// CCSDS 301.0-B-4 codes, worked from the leap-second table by exact arithmetic and checked with ERFA 2.0.0.
TEST(TimeCode, WorkedValues) {
  const LeapSecondTable& table = published_leap_seconds();
  const struct {
    const char* utc;
    const char* unsegmented;
    const char* day_segmented;
  } rows[] = {{"1972-01-01T00:00:00Z", "1F1A54C58A000000", "4113F9000000000000"},
              {"1988-01-18T17:20:43.123456Z", "1F3884A1031F9ACF", "412ADE03B8CE7301C8"},
              {"2016-12-31T23:59:60.5Z", "1F6EFAA524800000", "41542D05265DF40000"},
              {"2017-01-01T00:00:00Z", "1F6EFAA525000000", "41542E000000000000"},
              {"2031-07-04T06:30:15.25Z", "1F8A425A1C400000", "4168DF016549D20000"}};
  StationClock unsegmented;
  unsegmented.fine_octets = 3;
  StationClock segmented;
  segmented.time_code = TimeCodeForm::DaySegmented;
  for (const auto& row : rows) {
    const Instant time = parse_utc(row.utc, table).value();
    EXPECT_EQ(time_code(unsegmented, time, table), hex(row.unsegmented)) << row.utc;
    EXPECT_EQ(time_code(segmented, time, table), hex(row.day_segmented)) << row.utc;
  }
}

// What is representable is unchanged by a second rounding, and never later than the tick asked for.
TEST(TimeCode, RepresentableTimeIsStable) {
  std::mt19937_64 random(4);
  const LeapSecondTable& table = published_leap_seconds();
  for (int i = 0; i < 5000; ++i) {
    StationClock clock;
    clock.tick = {1'000'000};
    clock.fine_octets = static_cast<int>(random() % 4);
    clock.time_code = random() % 2 == 0 ? TimeCodeForm::Unsegmented : TimeCodeForm::DaySegmented;
    const Instant time{static_cast<std::int64_t>(random() % 2'300'000'000'000'000'000ULL) +
                       450'000'000'000'000'000};
    const Instant once = representable_time(clock, time, table);
    StationClock finest = clock;
    finest.tick = {1};
    EXPECT_EQ(representable_time(finest, once, table), once);
    const Instant tick{(time.tai_nanoseconds + 500'000) / 1'000'000 * 1'000'000};
    EXPECT_EQ(time_code(clock, once, table), time_code(clock, tick, table));
    EXPECT_LE((once - time).nanoseconds, 500'000);
  }
}

// CCSDS 133.0-B-2 header and 41C header: the published check vector 1923C04200062F1101000050A5 has the same
// shape; here the request of our own layout is taken apart by hand.
TEST(Packet, RequestLayout) {
  Station station;
  station.link.application_id = 0x123;
  station.link.source_id = 7;
  const UnitId unit = station.units.add({"vane", "", {}, no_origin});
  CommandDefinition command;
  command.unit = unit;
  command.number = 0x0215;
  ArgumentDefinition argument;
  argument.encoding.width = 4;
  command.arguments = {argument, argument, argument};
  const CommandId id = station.commands.add(command);
  const Bytes packet = request_packet(station, {{}, id, {{10, 0xA}, {5, 0x5}, {12, 0xC}}}, 0x42);
  Bytes expected =
      hex("1923C042000A"
          "2F80010007"
          "0215"
          "A5C0");
  const std::uint16_t sum = crc(expected);
  expected.push_back(static_cast<std::uint8_t>(sum >> 8));
  expected.push_back(static_cast<std::uint8_t>(sum & 0xFF));
  EXPECT_EQ(packet, expected);
}

}  // namespace
}  // namespace cairn
