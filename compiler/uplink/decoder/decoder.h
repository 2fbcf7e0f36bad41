// Bytes back to commands: an independent reader that shares no code with the encoder beyond the model.
//
// The translation check of every build rests on it: what it reads back must equal the numbered list.

#pragma once

#include <cstdint>
#include <expected>
#include <span>
#include <string>
#include <vector>

#include "constraints/quantity/leap_seconds.h"
#include "constraints/station/station.h"
#include "constraints/timeline/timeline.h"

namespace cairn {

enum class RequestKind : std::uint8_t { Insert, Delete };

struct DecodedRequest {
  RequestKind kind = RequestKind::Insert;
  std::size_t offset = 0;  // in the bytes given
  std::size_t size = 0;
  std::uint16_t sequence_count = 0;
  Instant time;                          // Insert: execution time
  CommandId command;                     // Insert
  std::vector<ArgumentValue> arguments;  // Insert
  std::uint16_t target_sequence_count = 0;  // Delete: the request it withdraws
};

// What is wrong with the bytes, and where.
struct DecodeProblem {
  std::size_t offset = 0;
  std::string message;  // lower case, no full stop
};

struct Decoded {
  std::vector<DecodedRequest> requests;
  std::vector<DecodeProblem> problems;
};

// Reads packets one after another. After a bad packet whose length is plausible it goes on with the next;
// otherwise it stops. Never reads outside `bytes`.
Decoded decode(std::span<const std::uint8_t> bytes, const Station& station, const LeapSecondTable& leap_seconds);

}  // namespace cairn
