// Link transmission units of CCSDS 231.0-B, found in a row of bits whose octets need not begin where a unit
// does.
//
// A start sequence counts with at most one wrong bit. How many codeblocks follow is told by the length field
// of the frame in them. Each codeblock has its syndrome computed as the sum of the remainders of x^k, bit by
// bit; a single wrong bit is the one whose remainder that is. The generator has the factor x + 1, so that two
// wrong bits never look like one.

#include <array>
#include <bit>
#include <cstring>

#include "compiler/uplink/decoder/layers.h"

namespace cairn {

namespace {

constexpr std::uint64_t tail = 0xC5C5'C5C5'C5C5'C579U;

// remainder[k]: x^k modulo x^7 + x^6 + x^2 + 1.
constexpr std::array<std::uint8_t, 63> make_remainders() {
  std::array<std::uint8_t, 63> remainders{};
  unsigned value = 1;
  for (std::uint8_t& remainder : remainders) {
    remainder = static_cast<std::uint8_t>(value);
    value <<= 1U;
    if ((value & 0x80U) != 0) value ^= 0xC5U;
  }
  return remainders;
}

constexpr std::array<std::uint8_t, 63> remainders = make_remainders();

// The sums of an octet's remainders, by its place in the block.
using OctetSums = std::array<std::array<std::uint8_t, 256>, 8>;
constexpr OctetSums make_octet_sums() {
  OctetSums sums{};
  for (std::size_t place = 0; place < 8; ++place) {
    for (std::size_t octet = 0; octet < 256; ++octet) {
      for (std::size_t bit = 0; bit < 8; ++bit) {
        // The block's most significant bit is x^62, its least significant one is the filler.
        const std::size_t from_end = (7 - place) * 8 + bit;
        if ((octet >> bit & 1U) != 0 && from_end > 0) {
          sums[place][octet] = static_cast<std::uint8_t>(sums[place][octet] ^ remainders[from_end - 1]);
        }
      }
    }
  }
  return sums;
}

constexpr OctetSums octet_sums = make_octet_sums();

unsigned syndrome(std::uint64_t block) {
  unsigned sum = 0x7F;  // the parity bits are sent complemented
  for (std::size_t place = 0; place < 8; ++place) sum ^= octet_sums[place][block >> (56 - 8 * place) & 0xFFU];
  return sum;
}

// The sequence that the station takes off again, eight bits at a time.
class Sequence {
 public:
  std::uint8_t octet() {
    unsigned value = 0;
    for (int bit = 0; bit < 8; ++bit) {
      const unsigned out = bits_[0];
      value = value << 1U | out;
      const unsigned next = bits_[6] ^ bits_[4] ^ bits_[3] ^ bits_[2] ^ bits_[1] ^ bits_[0];
      for (std::size_t i = 0; i + 1 < bits_.size(); ++i) bits_[i] = bits_[i + 1];
      bits_.back() = next;
    }
    return static_cast<std::uint8_t>(value);
  }

 private:
  std::array<unsigned, 8> bits_{1, 1, 1, 1, 1, 1, 1, 1};  // the oldest first
};

class UnitFinder {
 public:
  UnitFinder(std::span<const std::uint8_t> bytes, const UnitLayout& layout, Decoded& result)
      : bytes_(bytes), layout_(layout), result_(result), end_(bytes.size() * 8) {}

  std::vector<FoundFrame> run() {
    std::size_t at = 0;
    std::size_t quiet_from = 0;  // the end of the last unit
    while (at + 16 <= end_) {
      if (std::popcount(static_cast<unsigned>(bits(at, 16) ^ 0xEB90U)) > 1) {
        ++at;
        continue;
      }
      const std::size_t start = at;
      if (const auto end = read_unit(start)) {
        check_quiet(quiet_from, start);
        quiet_from = *end;
        at = *end;
      } else {
        ++at;
      }
    }
    check_quiet(quiet_from, end_);
    return std::move(frames_);
  }

 private:
  // Up to 64 bits; zeros behind the end.
  [[nodiscard]] std::uint64_t bits(std::size_t at, unsigned count) const {
    const std::size_t first = at / 8;
    const auto shift = static_cast<unsigned>(at % 8);
    std::uint64_t value = 0;
    for (std::size_t i = 0; i < 8; ++i) value = value << 8U | octet(first + i);
    if (shift != 0) value = value << shift | octet(first + 8) >> (8 - shift);
    return value >> (64 - count);
  }
  [[nodiscard]] std::uint64_t octet(std::size_t i) const { return i < bytes_.size() ? bytes_[i] : 0U; }

  void problem(std::size_t at, std::string message) {
    result_.problems.push_back({at / 8, std::move(message)});
  }
  void correction(std::size_t at, std::string message) {
    result_.corrections.push_back({at / 8, std::move(message)});
  }

  // Between units there are alternating bits only; a few wrong ones do no harm.
  void check_quiet(std::size_t from, std::size_t to) {
    std::size_t wrong = 0;
    for (std::size_t at = from + 1; at < to; ++at) wrong += bits(at - 1, 2) % 3 == 0 ? 1U : 0U;
    if (wrong > 4 + (to - from) / 16) {
      problem(from, std::to_string((to - from + 7) / 8) +
                        " octets are neither a link unit nor the alternating bits between units");
    }
  }

  // The end of the unit that starts here; nullopt when there is nothing like one.
  std::optional<std::size_t> read_unit(std::size_t start) {
    const std::uint64_t found = bits(start, 16);
    const std::size_t begin = start + 16;
    std::vector<std::uint8_t> octets;
    std::size_t wanted = 5;  // until the length field has been read
    std::vector<DecodeProblem> corrections;
    if (found != 0xEB90U) corrections.push_back({start / 8, "one bit of the start sequence was wrong"});
    Sequence sequence;
    std::size_t at = begin;
    for (; octets.size() < wanted; at += 64) {
      if (at + 64 > end_) {
        if (octets.empty()) return std::nullopt;
        give_up(start, corrections,
                "the link unit is cut off after " + std::to_string((at - begin) / 64) + " codeblocks");
        return end_;
      }
      std::uint64_t block = bits(at, 64);
      const unsigned sum = syndrome(block);
      if (sum != 0) {
        const std::optional<unsigned> place = wrong_bit(sum);
        if (!place) {
          // Nothing of a unit has been read yet: more likely not one at all.
          if (octets.empty() && found != 0xEB90U) return std::nullopt;
          give_up(start, corrections,
                  "codeblock " + std::to_string((at - begin) / 64 + 1) +
                      " of a link unit has more wrong bits than can be corrected; the unit is lost");
          return at + 64;
        }
        block ^= std::uint64_t{1} << (*place + 1);
        corrections.push_back(
            {at / 8, "one bit of codeblock " + std::to_string((at - begin) / 64 + 1) + " was wrong"});
      }
      for (unsigned shift = 56; shift > 0; shift -= 8) {
        const unsigned random = layout_.randomized ? sequence.octet() : 0U;
        octets.push_back(static_cast<std::uint8_t>((block >> shift & 0xFFU) ^ random));
      }
      if (at == begin) wanted = ((static_cast<std::size_t>(octets[2]) & 3U) << 8U | octets[3]) + 1U;
      if (wanted < 6) {
        give_up(
            start, corrections,
            "the frame in a link unit says it has " + std::to_string(wanted) + " octets; the unit is lost");
        return at + 64;
      }
    }
    octets.resize(wanted);
    constexpr int most_wrong_in_tail = 6;
    const int wrong = at + 64 <= end_ ? std::popcount(bits(at, 64) ^ tail) : 64;
    if (wrong == 0) {
      at += 64;
    } else if (wrong <= most_wrong_in_tail) {
      corrections.push_back({at / 8, std::to_string(wrong) + " bits of the tail sequence were wrong"});
      at += 64;
    } else {
      problem(at, "no tail sequence follows the codeblocks of the frame");
    }
    result_.corrections.insert(result_.corrections.end(), corrections.begin(), corrections.end());
    frames_.push_back({start / 8, (at + 7) / 8 - start / 8, std::move(octets)});
    return at;
  }

  void give_up(std::size_t start, const std::vector<DecodeProblem>& corrections, std::string message) {
    result_.corrections.insert(result_.corrections.end(), corrections.begin(), corrections.end());
    problem(start, std::move(message));
  }

  // Which power of x has this remainder.
  static std::optional<unsigned> wrong_bit(unsigned sum) {
    for (unsigned k = 0; k < remainders.size(); ++k) {
      if (remainders[k] == sum) return k;
    }
    return std::nullopt;
  }

  std::span<const std::uint8_t> bytes_;
  const UnitLayout& layout_;
  Decoded& result_;
  std::size_t end_;
  std::vector<FoundFrame> frames_;
};

}  // namespace

std::vector<FoundFrame> find_units(std::span<const std::uint8_t> bytes, const UnitLayout& layout,
                                   Decoded& result) {
  return UnitFinder(bytes, layout, result).run();
}

}  // namespace cairn
