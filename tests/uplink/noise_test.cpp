// Wrong bits on the line: every single and every double one in 200 link units is corrected or told of, as
// BCH(63,56) promises (its generator has the factor x + 1 and its distance is 4); damaged words never pass
// for others.

#include <gtest/gtest.h>

#include <algorithm>
#include <array>

#include "compiler/uplink/decoder/layers.h"
#include "compiler/uplink/frame.h"
#include "compiler/uplink/link_unit.h"
#include "tests/uplink/random_plan.h"

namespace cairn {
namespace {

void flip(Bytes& bytes, std::size_t bit) {
  bytes[bit / 8] = static_cast<std::uint8_t>(bytes[bit / 8] ^ (1U << (7 - bit % 8)));
}

// One short packet in a unit of its own.
struct Unit {
  Station station;
  Bytes bytes;
  Decoded good;
};

Unit random_unit(std::mt19937_64& random) {
  Unit made;
  Station& station = made.station;
  station.link.application_id = 5;
  station.link.frames = FrameLayout{.spacecraft_id = static_cast<std::uint16_t>(random() % 1024),
                                    .error_control = random() % 2 == 0};
  station.link.units = UnitLayout{random() % 2 == 0, 2, 1};
  std::uint8_t frame = static_cast<std::uint8_t>(random());
  append_on_air(station.link, FrameType::InSequence,
                delete_packet(station, static_cast<std::uint16_t>(random() % 16384), 7), frame, made.bytes);
  made.good = decode(made.bytes, station, published_leap_seconds());
  return made;
}

bool is_as_sent(const Unit& made, const Decoded& decoded) {
  return decoded.requests.size() == 1 && made.good.requests.size() == 1 &&
         decoded.requests[0].octets == made.good.requests[0].octets &&
         decoded.requests[0].frame == made.good.requests[0].frame;
}

TEST(Noise, EverySingleWrongBitIsCorrected) {
  std::mt19937_64 random(1);
  for (int round = 0; round < 200; ++round) {
    const Unit made = random_unit(random);
    ASSERT_TRUE(made.good.problems.empty());
    ASSERT_EQ(made.good.requests.size(), 1U);
    const std::size_t alternating = 2 * 8;  // before the unit; the last octet comes after it
    for (std::size_t bit = 0; bit < made.bytes.size() * 8; ++bit) {
      Bytes wrong = made.bytes;
      flip(wrong, bit);
      const Decoded decoded = decode(wrong, made.station, published_leap_seconds());
      ASSERT_TRUE(decoded.problems.empty()) << bit << ": " << decoded.problems.front().message;
      ASSERT_TRUE(is_as_sent(made, decoded)) << bit;
      const bool in_unit = bit >= alternating && bit < (made.bytes.size() - 1) * 8;
      // The filler bit of a codeblock stands outside the code.
      const std::size_t in_blocks = bit - alternating - 16;
      const bool is_filler =
          in_unit && bit >= alternating + 16 && in_blocks % 64 == 63 && bit < (made.bytes.size() - 9) * 8;
      ASSERT_EQ(decoded.corrections.size(), in_unit && !is_filler ? 1U : 0U) << bit;
    }
  }
}

// All pairs from the start sequence to the end of the tail, in 200 units: the frame is as sent, or its loss
// is told of.
TEST(Noise, EveryDoubleWrongBitIsCorrectedOrToldOf) {
  std::mt19937_64 random(2);
  std::size_t lost = 0;
  std::size_t corrected = 0;
  for (int round = 0; round < 200; ++round) {
    const UnitLayout layout{random() % 2 == 0, 1, 1};
    std::uint8_t count = static_cast<std::uint8_t>(random());
    Bytes data(1 + random() % 8);
    for (std::uint8_t& octet : data) octet = static_cast<std::uint8_t>(random());
    const Bytes frame =
        make_frames({.spacecraft_id = 99, .segments = false}, FrameType::InSequence, data, count).at(0);
    Bytes sent;
    append_unit_on_air(layout, frame, sent);
    Bytes wrong = sent;
    for (std::size_t one = 8; one < (sent.size() - 1) * 8; ++one) {
      flip(wrong, one);
      for (std::size_t other = one + 1; other < (sent.size() - 1) * 8; ++other) {
        flip(wrong, other);
        Decoded told;
        const std::vector<FoundFrame> frames = find_units(wrong, layout, told);
        const bool same = frames.size() == 1 && frames[0].octets == frame;
        ASSERT_TRUE(same || !told.problems.empty()) << one << ", " << other;
        for (const FoundFrame& found : frames) {
          ASSERT_TRUE(found.octets == frame || check_sum(found.octets) != 0) << one << ", " << other;
        }
        (same ? corrected : lost) += 1;
        flip(wrong, other);
      }
      flip(wrong, one);
    }
  }
  EXPECT_GT(lost, 500'000U);
  EXPECT_GT(corrected, lost);
}

// The remainders of single wrong bits, by the plain register over all 63 bits: none is zero, no two are
// equal, and no two add up to a third.
TEST(Noise, NoTwoWrongBitsOfACodeblockLookLikeOne) {
  std::array<unsigned, 63> single{};
  for (std::size_t place = 0; place < single.size(); ++place) {
    unsigned value = 0;
    for (std::size_t bit = single.size(); bit-- > 0;) {
      const bool overflows = (value & 0x40U) != 0;
      value = (value << 1U & 0x7FU) | (bit == place ? 1U : 0U);
      if (overflows) value ^= 0x45U;
    }
    single[place] = value;
  }
  for (std::size_t one = 0; one < single.size(); ++one) {
    EXPECT_NE(single[one], 0U);
    for (std::size_t other = one + 1; other < single.size(); ++other) {
      EXPECT_NE(single[one], single[other]);
      for (const unsigned third : single) EXPECT_NE(single[one] ^ single[other], third);
    }
  }
}

TEST(Noise, UnitsAreFoundAtAnyBitOffset) {
  std::mt19937_64 random(4);
  for (int round = 0; round < 50; ++round) {
    const Unit made = random_unit(random);
    for (std::size_t shift = 0; shift < 24; ++shift) {
      Bytes moved(made.bytes.size() + 4);
      std::fill(moved.begin(), moved.end(), std::uint8_t{0});
      for (std::size_t bit = 0; bit < made.bytes.size() * 8; ++bit) {
        if ((made.bytes[bit / 8] >> (7 - bit % 8) & 1) != 0) flip(moved, bit + shift);
      }
      EXPECT_TRUE(is_as_sent(made, decode(moved, made.station, published_leap_seconds()))) << shift;
    }
  }
}

TEST(Noise, GarbageIsToldOfAndNeverRead) {
  std::mt19937_64 random(5);
  for (const LinkProfile profile : {LinkProfile::Packet, LinkProfile::Word}) {
    for (int round = 0; round < 5000; ++round) {
      const RandomPlan plan = random_plan(random, profile, 1);
      if (profile == LinkProfile::Word && plan.station.link.words.address_width < 8) continue;
      Bytes noise(16 + random() % 200);
      for (std::uint8_t& octet : noise) octet = static_cast<std::uint8_t>(random());
      const Decoded decoded = decode(noise, plan.station, published_leap_seconds());
      EXPECT_FALSE(decoded.problems.empty());
      EXPECT_TRUE(decoded.requests.empty());
      for (const DecodeProblem& problem : decoded.problems) EXPECT_LE(problem.offset, noise.size());
    }
  }
}

// Cut anywhere, damaged anywhere: the requests that are read are those that were sent.
TEST(Noise, DamagedWordsNeverPassForOthers) {
  std::mt19937_64 random(6);
  std::size_t saved = 0;
  for (int round = 0; round < 3000; ++round) {
    RandomPlan plan = random_plan(random, LinkProfile::Word, 3);
    const Bytes bytes = encoded(plan, 0);
    Bytes wrong = bytes;
    flip(wrong, random() % (wrong.size() * 8));
    const Decoded decoded = decode(wrong, plan.station, published_leap_seconds());
    EXPECT_FALSE(decoded.problems.empty() && decoded.corrections.empty());
    for (const DecodedRequest& request : decoded.requests) {
      const bool was_sent =
          std::any_of(plan.commands.begin(), plan.commands.end(), [&](const TimedCommand& command) {
            return command.command == request.command && command.time == request.time;
          });
      EXPECT_TRUE(was_sent);
    }
    if (plan.station.link.words.repeats > 1) {
      EXPECT_EQ(decoded.requests.size(), 3U) << "another copy says it";
      ++saved;
    }
    Bytes cut(wrong.begin(), wrong.begin() + static_cast<std::ptrdiff_t>(random() % wrong.size()));
    (void)decode(cut, plan.station, published_leap_seconds());
  }
  EXPECT_GT(saved, 1000U);
}

// COP-1's receiving side (232.1-B-2 section 6.1: a frame is taken when its number is the one expected) over
// what a load sends, begun anywhere: all taken, none out of turn.
TEST(Frames, AreTakenInOrderByTheReceivingSide) {
  std::mt19937_64 random(7);
  for (int round = 0; round < 300; ++round) {
    RandomPlan plan = random_plan(random, LinkProfile::Packet, 20);
    plan.station.link.frames = FrameLayout{.spacecraft_id = 7, .longest = 30};
    plan.station.link.units.reset();
    const auto first = static_cast<std::uint8_t>(random());
    const Bytes bytes = encoded(plan, first);
    auto expected = first;
    for (std::size_t at = 0; at < bytes.size();) {
      EXPECT_EQ(bytes[at + 4], expected++);
      at += ((bytes[at + 2] & 3U) << 8U | bytes[at + 3]) + 1U;
    }
    EXPECT_TRUE(decode(bytes, plan.station, published_leap_seconds()).problems.empty());
    // A frame that is lost is missed.
    const std::size_t size = ((bytes[2] & 3U) << 8U | bytes[3]) + 1U;
    if (size == bytes.size()) continue;
    const Bytes rest(bytes.begin() + static_cast<std::ptrdiff_t>(2 * size), bytes.end());
    Bytes gap(bytes.begin(), bytes.begin() + static_cast<std::ptrdiff_t>(size));
    gap.insert(gap.end(), rest.begin(), rest.end());
    EXPECT_FALSE(decode(gap, plan.station, published_leap_seconds()).problems.empty());
  }
}

}  // namespace
}  // namespace cairn
