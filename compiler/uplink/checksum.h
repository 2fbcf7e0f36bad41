// Error control by table: CRC-16 of packets and frames, BCH(63,56) of link units.
//
// Each has a plain way, which follows the standard's shift register, and a fast way in a file of its own;
// both take and give the same, and tests/uplink holds them against each other. The encoder uses the fast
// ones.

#pragma once

#include <array>
#include <cstddef>
#include <cstdint>

namespace cairn {

inline constexpr std::uint16_t crc_preset = 0xFFFF;

// CRC-16, polynomial x^16 + x^12 + x^5 + 1, nothing reflected or inverted (ECSS-E-ST-70-41C annex B, CCSDS
// 232.0-B).
std::uint16_t crc16_plain(const std::uint8_t* data, std::size_t size, std::uint16_t preset = crc_preset);
std::uint16_t crc16_fast(const std::uint8_t* data, std::size_t size, std::uint16_t preset = crc_preset);

// The CRC is linear: what a change of an octet adds to it, by how many octets follow and by the bits that
// change.
inline constexpr std::size_t crc_rows = 32;
extern const std::array<std::array<std::uint16_t, 256>, crc_rows> crc16_parts;

// Codeblocks of CCSDS 231.0-B: from each seven octets at `data` eight at `out`, the last one holding seven
// complemented parity bits of x^7 + x^6 + x^2 + 1 and a filler bit 0. `out` may not overlap `data`.
void bch_encode_plain(const std::uint8_t* data, std::size_t blocks, std::uint8_t* out);
void bch_encode_fast(const std::uint8_t* data, std::size_t blocks, std::uint8_t* out);

}  // namespace cairn
