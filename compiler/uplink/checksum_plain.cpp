// The error controls as the standards draw them: one bit at a time through a shift register.

#include "compiler/uplink/checksum.h"

namespace cairn {

std::uint16_t crc16_plain(const std::uint8_t* data, std::size_t size, std::uint16_t preset) {
  std::uint32_t value = preset;
  for (std::size_t i = 0; i < size; ++i) {
    value ^= static_cast<std::uint32_t>(data[i]) << 8U;
    for (int bit = 0; bit < 8; ++bit) {
      value = (value & 0x8000U) != 0 ? (value << 1U) ^ 0x1021U : value << 1U;
    }
    value &= 0xFFFFU;
  }
  return static_cast<std::uint16_t>(value);
}

void bch_encode_plain(const std::uint8_t* data, std::size_t blocks, std::uint8_t* out) {
  constexpr std::uint32_t generator = 0x45;  // x^6 + x^2 + 1; x^7 falls out of the register
  for (std::size_t block = 0; block < blocks; ++block) {
    std::uint32_t parity = 0;
    for (int octet = 0; octet < 7; ++octet) {
      for (unsigned bit = 8; bit-- > 0;) {
        const std::uint32_t feedback = (parity >> 6U ^ static_cast<std::uint32_t>(*data) >> bit) & 1U;
        parity = (parity << 1U & 0x7FU) ^ (feedback != 0 ? generator : 0U);
      }
      *out++ = *data++;
    }
    *out++ = static_cast<std::uint8_t>((parity ^ 0x7FU) << 1U);
  }
}

}  // namespace cairn
