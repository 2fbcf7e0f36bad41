// Requests on air, in the profile of the station: how long they are, and their octets.

#pragma once

#include <span>

#include "compiler/uplink/frame.h"
#include "compiler/uplink/uplink.h"

namespace cairn {

struct RequestSize {
  std::uint32_t entry = 0;  // octets in the command table
  std::size_t request = 0;  // octets of the packet, or of its words, each once
  std::size_t on_air = 0;   // octets sent, all that surrounds it included
};

// Of loading a command; it does not hang on the values of its arguments.
RequestSize load_size(const Station& station, const CommandDefinition& command);

// Of an immediate command: its own request, and no entry.
RequestSize immediate_size(const Station& station, const CommandDefinition& command);

// Octets on air of what withdraws an entry: no entry, and no arguments of the command.
std::size_t withdrawal_on_air(const Station& station);

// Octets on air of a row of packets that goes up together.
std::size_t octets_on_air(const CommandLink& link, std::size_t packets);

// Adds to `out` what goes on air for these packets (or words, each once): several only where they may share a
// frame.
void append_on_air(const CommandLink& link, FrameType type, const Bytes& requests, std::uint8_t& frame_count,
                   Bytes& out);

}  // namespace cairn
