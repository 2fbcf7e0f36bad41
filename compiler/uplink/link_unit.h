// CCSDS 231.0-B link transmission units: start sequence, BCH(63,56) codeblocks, tail sequence.
//
// One frame in each unit. The randomizer runs over the frame only and starts anew with each unit; what fills
// up the last codeblock stays as it is (the published randomized unit of tests/uplink shows both).

#pragma once

#include <span>

#include "compiler/uplink/uplink.h"

namespace cairn {

// Octets of a unit that carries a frame of this many.
std::size_t unit_octets(std::size_t frame);

// Adds the unit of one frame to `out`.
void append_unit(const UnitLayout& layout, std::span<const std::uint8_t> frame, Bytes& out);

// The same with the alternating bits before and after it: what goes on air.
void append_unit_on_air(const UnitLayout& layout, std::span<const std::uint8_t> frame, Bytes& out);

// The same to where there is room for it and eight octets more, which may be written over; gives the place
// behind it. The frame is randomized and filled up in place, and has room for eight octets more, too.
std::uint8_t* write_unit_on_air(const UnitLayout& layout, std::uint8_t* frame, std::size_t size,
                                std::uint8_t* out);

// x^8 + x^6 + x^4 + x^3 + x^2 + x + 1 from all ones, added to `octets` from the sequence's beginning.
void randomize(std::span<std::uint8_t> octets);

}  // namespace cairn
