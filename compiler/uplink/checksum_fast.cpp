// The error controls many octets at a time: both are linear, so each octet's part can be looked up by its
// place and all parts added. Sixteen places for the CRC, seven for a codeblock; eight-octet loads and stores
// where they help.

#include <array>
#include <bit>
#include <cstring>

#include "compiler/uplink/checksum.h"

namespace cairn {

namespace {

constexpr std::size_t slices = 16;
using CrcTable = std::array<std::uint16_t, 256>;

// Row k: the part of an octet that k more octets follow.
constexpr std::array<CrcTable, crc_rows> make_crc_tables() {
  std::array<CrcTable, crc_rows> tables{};
  for (std::size_t octet = 0; octet < 256; ++octet) {
    auto value = static_cast<std::uint32_t>(octet << 8U);
    for (int bit = 0; bit < 8; ++bit) {
      value = ((value & 0x8000U) != 0 ? (value << 1U) ^ 0x1021U : value << 1U) & 0xFFFFU;
    }
    tables[0][octet] = static_cast<std::uint16_t>(value);
  }
  for (std::size_t row = 1; row < crc_rows; ++row) {
    for (std::size_t octet = 0; octet < 256; ++octet) {
      const std::uint32_t before = tables[row - 1][octet];
      tables[row][octet] = static_cast<std::uint16_t>((before << 8U & 0xFFFFU) ^ tables[0][before >> 8U]);
    }
  }
  return tables;
}

using ParityTable = std::array<std::uint8_t, 256>;

// The parity of an octet at its place in the block, already in the bits of the eighth octet.
constexpr std::array<ParityTable, 7> make_parity_tables() {
  std::array<ParityTable, 7> tables{};
  for (std::size_t place = 0; place < 7; ++place) {
    for (std::size_t octet = 0; octet < 256; ++octet) {
      std::uint32_t parity = 0;
      for (std::size_t bit = 0; bit < 8 * (7 - place); ++bit) {
        const std::uint32_t input = bit < 8 ? static_cast<std::uint32_t>(octet >> (7 - bit)) & 1U : 0U;
        const std::uint32_t feedback = (parity >> 6U & 1U) ^ input;
        parity = (parity << 1U & 0x7FU) ^ (feedback != 0 ? 0x45U : 0U);
      }
      tables[place][octet] = static_cast<std::uint8_t>(parity << 1U);
    }
  }
  return tables;
}

alignas(64) constexpr std::array<ParityTable, 7> parity_tables = make_parity_tables();

std::uint8_t parity_octet(const std::uint8_t* data) {
  std::uint32_t parity = 0xFEU;
  for (std::size_t i = 0; i < 7; ++i) parity ^= parity_tables[i][data[i]];
  return static_cast<std::uint8_t>(parity);
}

}  // namespace

alignas(64) constexpr std::array<CrcTable, crc_rows> crc16_parts = make_crc_tables();

namespace {

constexpr const std::array<CrcTable, crc_rows>& crc_tables = crc16_parts;

// One step over `count` octets, at least two. The register is added last: everything else can be looked up
// before the step before has ended.
std::uint32_t crc_step(const std::uint8_t* data, std::size_t count, std::uint32_t crc) {
  std::uint32_t rest = 0;
  for (std::size_t i = 2; i < count; ++i) rest ^= crc_tables[count - 1 - i][data[i]];
  return crc_tables[count - 1][data[0] ^ crc >> 8U] ^ (crc_tables[count - 2][data[1] ^ (crc & 0xFFU)] ^ rest);
}

// The same over sixteen octets from two loads.
std::uint32_t crc_step_of_sixteen(const std::uint8_t* data, std::uint32_t crc) {
  if constexpr (std::endian::native == std::endian::little) {
    std::uint64_t first = 0;
    std::uint64_t second = 0;
    std::memcpy(&first, data, 8);
    std::memcpy(&second, data + 8, 8);
    std::uint32_t one = 0;
    std::uint32_t other = 0;
#pragma GCC unroll 8
    for (unsigned i = 2; i < 8; ++i) one ^= crc_tables[15 - i][first >> (8 * i) & 0xFFU];
#pragma GCC unroll 8
    for (unsigned i = 0; i < 8; ++i) other ^= crc_tables[7 - i][second >> (8 * i) & 0xFFU];
    return crc_tables[15][(first ^ crc >> 8U) & 0xFFU] ^
           (crc_tables[14][(first >> 8U ^ crc) & 0xFFU] ^ (one ^ other));
  } else {
    return crc_step(data, slices, crc);
  }
}

}  // namespace

std::uint16_t crc16_fast(const std::uint8_t* data, std::size_t size, std::uint16_t preset) {
  std::uint32_t crc = preset;
  for (; size >= slices; size -= slices, data += slices) crc = crc_step_of_sixteen(data, crc);
  if (size > 1) {
    crc = crc_step(data, size, crc);
  } else if (size == 1) {
    crc = (crc << 8U & 0xFFFFU) ^ crc_tables[0][crc >> 8U ^ *data];
  }
  return static_cast<std::uint16_t>(crc);
}

void bch_encode_fast(const std::uint8_t* data, std::size_t blocks, std::uint8_t* out) {
  if constexpr (std::endian::native == std::endian::little) {
    // Eight octets are read and written at once; the last block has no eighth octet to read.
    for (; blocks > 1; --blocks, data += 7, out += 8) {
      std::uint64_t block = 0;
      std::memcpy(&block, data, 8);
      std::uint64_t parity = 0xFEU;
#pragma GCC unroll 7
      for (std::size_t i = 0; i < 7; ++i) parity ^= parity_tables[i][block >> (8 * i) & 0xFFU];
      block = (block & 0x00FF'FFFF'FFFF'FFFFU) | parity << 56U;
      std::memcpy(out, &block, 8);
    }
  }
  for (; blocks > 0; --blocks, data += 7, out += 8) {
    std::memcpy(out, data, 7);
    out[7] = parity_octet(data);
  }
}

}  // namespace cairn
