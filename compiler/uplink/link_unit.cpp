// Link transmission units, octet by octet.

#include "compiler/uplink/link_unit.h"

#include <algorithm>
#include <array>

#include "compiler/uplink/checksum.h"

namespace cairn {

namespace {

constexpr std::uint8_t alternating = 0x55;
constexpr std::array<std::uint8_t, 2> start_sequence{0xEB, 0x90};
constexpr std::array<std::uint8_t, 8> tail_sequence{0xC5, 0xC5, 0xC5, 0xC5, 0xC5, 0xC5, 0xC5, 0x79};
constexpr std::size_t information = 7;

// s[k] = s[k-2] + s[k-4] + s[k-5] + s[k-6] + s[k-7] + s[k-8]; after 255 bits it begins again, so that octets
// come back after 255 octets.
constexpr std::array<std::uint8_t, 255> make_sequence() {
  std::array<std::uint8_t, 255> sequence{};
  std::uint32_t state = 0xFF;  // s[k-1] in bit 0, s[k-8] in bit 7
  for (std::uint8_t& octet : sequence) {
    std::uint32_t value = 0;
    for (int bit = 0; bit < 8; ++bit) {
      const std::uint32_t out = state >> 7U & 1U;
      const std::uint32_t next =
          (state >> 1U ^ state >> 3U ^ state >> 4U ^ state >> 5U ^ state >> 6U ^ state >> 7U) & 1U;
      value = value << 1U | out;
      state = (state << 1U | next) & 0xFFU;
    }
    octet = static_cast<std::uint8_t>(value);
  }
  return sequence;
}

constexpr std::array<std::uint8_t, 255> random_sequence = make_sequence();

}  // namespace

void randomize(std::span<std::uint8_t> octets) {
  std::size_t at = 0;
  for (std::uint8_t& octet : octets) {
    octet = static_cast<std::uint8_t>(octet ^ random_sequence[at]);
    if (++at == random_sequence.size()) at = 0;
  }
}

std::size_t unit_octets(std::size_t frame) {
  return start_sequence.size() + (frame + information - 1) / information * 8 + tail_sequence.size();
}

void append_unit(const UnitLayout& layout, std::span<const std::uint8_t> frame, Bytes& out) {
  constexpr std::size_t longest = 1024;
  std::array<std::uint8_t, longest + information> data{};
  const std::size_t size = std::min(frame.size(), longest);
  std::copy_n(frame.begin(), size, data.begin());
  if (layout.randomized) randomize(std::span(data).first(size));
  const std::size_t blocks = (size + information - 1) / information;
  std::fill(data.begin() + static_cast<std::ptrdiff_t>(size),
            data.begin() + static_cast<std::ptrdiff_t>(blocks * information), alternating);
  out.insert(out.end(), start_sequence.begin(), start_sequence.end());
  const std::size_t at = out.size();
  out.resize(at + blocks * 8);
  bch_encode_fast(data.data(), blocks, out.data() + at);
  out.insert(out.end(), tail_sequence.begin(), tail_sequence.end());
}

void append_unit_on_air(const UnitLayout& layout, std::span<const std::uint8_t> frame, Bytes& out) {
  out.insert(out.end(), layout.acquisition, alternating);
  append_unit(layout, frame, out);
  out.insert(out.end(), layout.idle, alternating);
}

}  // namespace cairn
