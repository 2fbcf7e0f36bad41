// CCSDS 232.0-B transfer frames: packets cut into frames, or several in one.
//
// Header 5 octets, segment header where the station has one, data, error control where the station has it.
// docs/uplink-format.md has the tables and says how we know them.

#pragma once

#include <span>

#include "compiler/uplink/uplink.h"

namespace cairn {

// Octets of packets that one frame holds.
std::size_t frame_room(const FrameLayout& layout);

// How many frames a row of packet octets takes, and the octets of the last of them (all others are as long as
// can be).
struct FrameCut {
  std::size_t frames = 0;
  std::size_t last = 0;
};
FrameCut cut_into_frames(const FrameLayout& layout, std::size_t octets);

// Type AD (taken in order, numbered from `count` on, which moves on modulo 256) or BD (number 0).
enum class FrameType : std::uint8_t { InSequence, Bypass };

// The frames of these octets: one packet, or several whole ones that fit a frame together.
std::vector<Bytes> make_frames(const FrameLayout& layout, FrameType type,
                               std::span<const std::uint8_t> packets, std::uint8_t& count);

}  // namespace cairn
