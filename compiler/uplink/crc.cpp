// Packet error control: CRC-16, polynomial 0x1021, preset all ones (ECSS-E-ST-70-41C annex B, CCSDS 232.0-B).

#include <array>

#include "compiler/uplink/uplink.h"

namespace cairn {

namespace {

constexpr std::array<std::uint16_t, 256> make_table() {
  std::array<std::uint16_t, 256> table{};
  for (std::size_t i = 0; i < table.size(); ++i) {
    auto value = static_cast<std::uint32_t>(i << 8U);
    for (int bit = 0; bit < 8; ++bit) {
      value = (value & 0x8000U) != 0 ? (value << 1U) ^ 0x1021U : value << 1U;
    }
    table[i] = static_cast<std::uint16_t>(value & 0xFFFFU);
  }
  return table;
}

constexpr std::array<std::uint16_t, 256> table = make_table();

}  // namespace

std::uint16_t packet_crc(const std::uint8_t* data, std::size_t size) {
  std::uint32_t crc = 0xFFFF;
  for (std::size_t i = 0; i < size; ++i) {
    crc = ((crc << 8U) & 0xFFFFU) ^ table[((crc >> 8U) ^ data[i]) & 0xFFU];
  }
  return static_cast<std::uint16_t>(crc);
}

}  // namespace cairn
