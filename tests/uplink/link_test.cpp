// Frames and link units against published octets; the plain error controls against the fast ones and against
// a third computation by polynomial division. Sources stand beside each value.

#include <gtest/gtest.h>

#include <random>

#include "compiler/uplink/checksum.h"
#include "compiler/uplink/frame.h"
#include "compiler/uplink/link_unit.h"
#include "tests/uplink/hex.h"

namespace cairn {
namespace {

Bytes random_bytes(std::mt19937_64& random, std::size_t size) {
  Bytes bytes(size);
  for (std::uint8_t& octet : bytes) octet = static_cast<std::uint8_t>(random());
  return bytes;
}

Bytes unit_of(const UnitLayout& layout, const Bytes& frame) {
  Bytes unit;
  append_unit(layout, frame, unit);
  return unit;
}

std::uint8_t parity_of(std::string_view seven) {
  Bytes out(8);
  bch_encode_plain(hex(seven).data(), 1, out.data());
  return out[7];
}

// Computed twice elsewhere (integer division in Python; Galois-field deconvolution in
// octave-communications 1.2.4); the first two also in a published vector file that derives them from
// 231.0-B-4 sections 3.2 and 3.3.
TEST(Codeblock, PublishedParity) {
  EXPECT_EQ(parity_of("00000000000000"), 0xFE);
  EXPECT_EQ(parity_of("01020304050607"), 0x70);
  EXPECT_EQ(parity_of("FFFFFFFFFFFFFF"), 0x86);
  EXPECT_EQ(parity_of("0123456789ABCD"), 0x90);
  EXPECT_EQ(parity_of("C5C5C5C5C5C5C5"), 0xFE);  // C5 is the generator itself
}

// The remainder of data * x^7 by x^7 + x^6 + x^2 + 1, by long division over a row of bits.
std::uint8_t divided(std::span<const std::uint8_t> seven) {
  std::vector<int> bits;
  for (const std::uint8_t octet : seven) {
    for (int bit = 7; bit >= 0; --bit) bits.push_back(octet >> bit & 1);
  }
  bits.resize(63);
  const int generator[] = {1, 1, 0, 0, 0, 1, 0, 1};
  for (std::size_t i = 0; i < 56; ++i) {
    if (bits[i] == 0) continue;
    for (std::size_t k = 0; k < 8; ++k) bits[i + k] ^= generator[k];
  }
  unsigned parity = 0;
  for (std::size_t i = 56; i < 63; ++i) parity = parity << 1U | static_cast<unsigned>(1 - bits[i]);
  return static_cast<std::uint8_t>(parity << 1U);
}

TEST(Codeblock, PlainFastAndDivisionAgree) {
  std::mt19937_64 random(63);
  for (int round = 0; round < 3000; ++round) {
    const std::size_t blocks = 1 + random() % 40;
    const Bytes data = random_bytes(random, blocks * 7);
    Bytes plain(blocks * 8);
    Bytes fast(blocks * 8);
    bch_encode_plain(data.data(), blocks, plain.data());
    bch_encode_fast(data.data(), blocks, fast.data());
    ASSERT_EQ(plain, fast);
    const std::size_t one = random() % blocks;
    EXPECT_EQ(plain[one * 8 + 7], divided(std::span(data).subspan(one * 7, 7)));
  }
}

TEST(Crc, PlainAndFastAgreeAtEveryLength) {
  std::mt19937_64 random(16);
  for (std::size_t size = 0; size < 300; ++size) {
    const Bytes data = random_bytes(random, size);
    const auto preset = static_cast<std::uint16_t>(random());
    EXPECT_EQ(crc16_plain(data.data(), size), crc16_fast(data.data(), size));
    EXPECT_EQ(crc16_plain(data.data(), size, preset), crc16_fast(data.data(), size, preset));
    // In two parts.
    const std::size_t cut = size == 0 ? 0 : random() % size;
    EXPECT_EQ(crc16_fast(data.data() + cut, size - cut, crc16_fast(data.data(), cut)),
              crc16_plain(data.data(), size));
  }
}

// First 40 bits: a published vector file citing 231.0-B-4 section 6.2, page 6-1. All 32 octets: a published
// dissector script, and the plain recurrence. The wrong way round it would begin FF 78, the telemetry
// sequence FF 48.
TEST(Randomizer, PublishedOctets) {
  Bytes octets(32);
  randomize(octets);
  EXPECT_EQ(octets, hex("FF399E5A68E906F56C892FA1315E08C052A8BBAE4EC2C7ED66DC38D4F886503D"));
  Bytes longer(255 + 32);
  randomize(longer);
  EXPECT_TRUE(std::equal(octets.begin(), octets.end(), longer.begin() + 255)) << "its period is 255 bits";
}

// The randomized unit in the unit tests of a public coding library: the only one from outside. Its fill is
// not randomized.
TEST(LinkUnit, PublishedRandomizedUnit) {
  const Bytes frame = hex("007B040E00 0102030405060708090A");
  EXPECT_EQ(unit_of({.randomized = true}, frame),
            hex("EB90 FF429A5468E804BE F6688C29A63957C2 0255555555555556 C5C5C5C5C5C5C579"));
  const FrameLayout layout{.spacecraft_id = 123, .channel = 1, .segments = false, .error_control = false};
  std::uint8_t count = 0;
  const std::vector<Bytes> frames =
      make_frames(layout, FrameType::InSequence, hex("0102030405060708090A"), count);
  ASSERT_EQ(frames.size(), 1U);
  EXPECT_EQ(frames[0], frame);
  EXPECT_EQ(count, 1);
}

// Worked from the published layouts with generic CRC and polynomial libraries (crcmod 1.7, plain Python).
TEST(LinkUnit, WorkedChainFromPacketToUnit) {
  const Bytes packet = hex("1923C04200062F1101000050A5");
  const FrameLayout layout{.spacecraft_id = 42, .channel = 1};
  std::uint8_t count = 0;
  const std::vector<Bytes> frames = make_frames(layout, FrameType::InSequence, packet, count);
  ASSERT_EQ(frames.size(), 1U);
  EXPECT_EQ(frames[0], hex("002A041400C01923C04200062F1101000050A5F30F"));
  EXPECT_EQ(unit_of({}, frames[0]),
            hex("EB90 002A041400C0191E 23C04200062F110E 01000050A5F30F48 C5C5C5C5C5C5C579"));
  EXPECT_EQ(unit_of({.randomized = true}, frames[0]),
            hex("EB90 FF139A4E68291F46 D6ACCB2FA71E4F42 09C052F81E5D419C C5C5C5C5C5C5C579"));
  // Fill of the last codeblock.
  EXPECT_EQ(unit_of({}, hex("302A0407000020E7")),
            hex("EB90 302A040700002064 E7555555555555A2 C5C5C5C5C5C5C579"));
}

// Worked values, as above: 2 + 8 * ceil(n / 7) + 8.
TEST(LinkUnit, Lengths) {
  EXPECT_EQ(unit_octets(1), 18U);
  EXPECT_EQ(unit_octets(7), 18U);
  EXPECT_EQ(unit_octets(8), 26U);
  EXPECT_EQ(unit_octets(256), 306U);
  EXPECT_EQ(unit_octets(1024), 1186U);
  for (const std::size_t size : {1U, 6U, 7U, 8U, 100U, 1023U, 1024U}) {
    EXPECT_EQ(unit_of({}, Bytes(size)).size(), unit_octets(size));
  }
}

// A vector file citing 232.0-B-4 section 4.1.2, figure 4-2: bypass, spacecraft 42, channel 5. Its number of
// 77 is what a frame of that type must not have (202.0-B-2), so ours is 0 there.
TEST(Frame, BypassHeader) {
  const FrameLayout layout{.spacecraft_id = 42, .channel = 5, .segments = false, .error_control = false};
  std::uint8_t count = 77;
  EXPECT_EQ(make_frames(layout, FrameType::Bypass, hex("AABBCC"), count)[0], hex("202A140700AABBCC"));
  EXPECT_EQ(count, 77) << "frames that bypass the numbering leave it alone";
  EXPECT_EQ(make_frames(layout, FrameType::InSequence, hex("AABBCC"), count)[0], hex("002A14074DAABBCC"));
}

TEST(Frame, LongPacketsAreCutAndNumbersWrap) {
  const FrameLayout layout{.spacecraft_id = 1, .channel = 2, .access_point = 9, .longest = 20};
  const std::size_t room = frame_room(layout);
  ASSERT_EQ(room, 12U);
  std::mt19937_64 random(232);
  std::uint8_t count = 254;
  for (std::size_t size = 1; size < 100; ++size) {
    const Bytes packet = random_bytes(random, size);
    const std::uint8_t before = count;
    const std::vector<Bytes> frames = make_frames(layout, FrameType::InSequence, packet, count);
    const FrameCut cut = cut_into_frames(layout, size);
    ASSERT_EQ(frames.size(), (size + room - 1) / room);
    ASSERT_EQ(frames.size(), cut.frames);
    EXPECT_EQ(frames.back().size(), cut.last);
    Bytes together;
    for (std::size_t i = 0; i < frames.size(); ++i) {
      const Bytes& frame = frames[i];
      EXPECT_LE(frame.size(), layout.longest);
      EXPECT_EQ(frame[4], static_cast<std::uint8_t>(before + i));
      const unsigned flags = frames.size() == 1 ? 3U : i == 0 ? 1U : i + 1 == frames.size() ? 2U : 0U;
      EXPECT_EQ(frame[5], flags << 6U | 9U);
      EXPECT_EQ(crc16_plain(frame.data(), frame.size()), 0);
      together.insert(together.end(), frame.begin() + 6, frame.end() - 2);
    }
    EXPECT_EQ(together, packet);
  }
}

}  // namespace
}  // namespace cairn
