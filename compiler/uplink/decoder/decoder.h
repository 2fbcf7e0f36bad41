// Bytes back to commands: an independent reader that shares no code with the encoder beyond the model.
//
// The translation check of every build rests on it: what it reads back must equal the numbered list.

#pragma once

#include <cstdint>
#include <expected>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "constraints/quantity/leap_seconds.h"
#include "constraints/station/station.h"
#include "constraints/timeline/timeline.h"

namespace cairn {

// Execute: a command that runs when it is received.
enum class RequestKind : std::uint8_t { Insert, Delete, Execute };

struct DecodedRequest {
  RequestKind kind = RequestKind::Insert;
  std::size_t offset = 0;  // in the bytes given: of the packet, its unit or frame, or its first word
  std::size_t size = 0;
  std::vector<std::uint8_t> octets;      // of the packet, or of its words, each once
  std::optional<std::uint8_t> frame;     // number of the first frame it came in, where frames are numbered
  std::uint16_t sequence_count = 0;      // of the packet; words have none
  Instant time;                          // Insert, and Delete by words: execution time
  CommandId command;                     // Insert, Execute, and Delete by words
  std::vector<ArgumentValue> arguments;  // Insert, Execute
  // Delete by packets: the request it withdraws; Insert and Execute: of the command's own packet.
  std::uint16_t target_sequence_count = 0;
};

// What is wrong with the bytes, and where.
struct DecodeProblem {
  std::size_t offset = 0;
  std::string message;  // lower case, no full stop
};

struct Decoded {
  std::vector<DecodedRequest> requests;
  std::vector<DecodeProblem> problems;
  std::vector<DecodeProblem> corrections;  // what was wrong and could be put right
};

// Reads packets, frames, link units or words one after another, as the station has them. After a bad one it
// goes on with the next, where it can tell where that begins. Of line noise it stands, in link units: one
// wrong bit in each codeblock and start sequence, six in a tail sequence, any octet offset; in words: copies
// outvoted by the others. Everything else is a problem and its request is left out. Never reads outside
// `bytes`.
Decoded decode(std::span<const std::uint8_t> bytes, const Station& station,
               const LeapSecondTable& leap_seconds);

}  // namespace cairn
