// Link transmission units, octet by octet.

#include "compiler/uplink/link_unit.h"

#include <algorithm>
#include <array>
#include <cstring>

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
  for (std::size_t from = 0; from < octets.size(); from += random_sequence.size()) {
    const std::size_t count = std::min(random_sequence.size(), octets.size() - from);
    std::uint8_t* at = octets.data() + from;
    for (std::size_t i = 0; i < count; ++i) at[i] = static_cast<std::uint8_t>(at[i] ^ random_sequence[i]);
  }
}

std::size_t unit_octets(std::size_t frame) {
  return start_sequence.size() + (frame + information - 1) / information * 8 + tail_sequence.size();
}

namespace {

std::uint8_t* write_unit(const UnitLayout& layout, std::uint8_t* frame, std::size_t size, std::uint8_t* out) {
  if (layout.randomized) randomize({frame, size});
  const std::size_t blocks = (size + information - 1) / information;
  std::fill(frame + size, frame + blocks * information, alternating);
  out = std::copy(start_sequence.begin(), start_sequence.end(), out);
  bch_encode_fast(frame, blocks, out);
  return std::copy(tail_sequence.begin(), tail_sequence.end(), out + blocks * 8);
}

}  // namespace

namespace {

// Eight octets at a time; the last of them may lie behind, where other octets come next.
std::uint8_t* fill_alternating(std::uint8_t* at, std::size_t count) {
  constexpr std::size_t together = 8;
  for (std::size_t i = 0; i < count; i += together) std::memset(at + i, alternating, together);
  return at + count;
}

}  // namespace

std::uint8_t* write_unit_on_air(const UnitLayout& layout, std::uint8_t* frame, std::size_t size,
                                std::uint8_t* out) {
  out = fill_alternating(out, layout.acquisition);
  if (layout.randomized) randomize({frame, size});
  const std::size_t blocks = (size + information - 1) / information;
  std::memset(frame + size, alternating, information + 1);
  std::memcpy(out, start_sequence.data(), start_sequence.size());
  out += start_sequence.size();
  bch_encode_fast(frame, blocks, out);
  out += blocks * 8;
  std::memcpy(out, tail_sequence.data(), tail_sequence.size());
  return fill_alternating(out + tail_sequence.size(), layout.idle);
}

void append_unit(const UnitLayout& layout, std::span<const std::uint8_t> frame, Bytes& out) {
  Bytes copy(frame.begin(), frame.end());
  const std::size_t at = out.size();
  out.resize(at + unit_octets(frame.size()));
  copy.resize(frame.size() + information);
  write_unit(layout, copy.data(), frame.size(), out.data() + at);
}

void append_unit_on_air(const UnitLayout& layout, std::span<const std::uint8_t> frame, Bytes& out) {
  out.insert(out.end(), layout.acquisition, alternating);
  append_unit(layout, frame, out);
  out.insert(out.end(), layout.idle, alternating);
}

}  // namespace cairn
