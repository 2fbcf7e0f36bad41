// Well-formed UTF-8 as table 3-7 of the Unicode Standard has it.
//
// Plain text is skipped eight bytes at a time; the rest is decided by the lead byte and the range of the
// second.

#include "compiler/syntax/utf8.h"

#include <cstdint>
#include <cstring>

namespace cairn {
namespace {

struct Form {
  std::size_t length;  // 0: not a lead byte
  unsigned second_low;
  unsigned second_high;
};

Form form_of(unsigned lead) {
  if (lead >= 0xC2U && lead <= 0xDFU) return {2, 0x80U, 0xBFU};
  if (lead == 0xE0U) return {3, 0xA0U, 0xBFU};
  if (lead == 0xEDU) return {3, 0x80U, 0x9FU};
  if (lead >= 0xE1U && lead <= 0xEFU) return {3, 0x80U, 0xBFU};
  if (lead == 0xF0U) return {4, 0x90U, 0xBFU};
  if (lead >= 0xF1U && lead <= 0xF3U) return {4, 0x80U, 0xBFU};
  if (lead == 0xF4U) return {4, 0x80U, 0x8FU};
  return {0, 0, 0};
}

}  // namespace

std::optional<std::size_t> first_bad_byte(std::string_view text) {
  constexpr std::uint64_t ones = 0x0101010101010101U;
  constexpr std::uint64_t highs = 0x8080808080808080U;
  std::size_t at = 0;
  while (at < text.size()) {
    if (at + 8 <= text.size()) {
      std::uint64_t word = 0;
      std::memcpy(&word, text.data() + at, 8);
      if ((word & highs) == 0 && ((word - ones) & highs) == 0) {
        at += 8;
        continue;
      }
    }
    const auto lead = static_cast<unsigned char>(text[at]);
    if (lead == 0) return at;
    if (lead < 0x80U) {
      ++at;
      continue;
    }
    const Form form = form_of(lead);
    if (form.length == 0 || at + form.length > text.size()) return at;
    for (std::size_t i = 1; i < form.length; ++i) {
      const auto byte = static_cast<unsigned char>(text[at + i]);
      const unsigned low = i == 1 ? form.second_low : 0x80U;
      const unsigned high = i == 1 ? form.second_high : 0xBFU;
      if (byte < low || byte > high) return at;
    }
    at += form.length;
  }
  return std::nullopt;
}

}  // namespace cairn
