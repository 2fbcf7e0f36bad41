// A row of commands as what goes on air: request by request, in the groups in which they share a frame.
//
// The plain way makes each packet, frame and unit for itself. The fast way, in a file of its own, writes them
// straight into place and looks up what the nested error controls have in common; tests/uplink holds the two
// against each other.

#pragma once

#include <span>

#include "compiler/uplink/frame.h"
#include "compiler/uplink/uplink.h"

namespace cairn {

struct BatchInput {
  const Station* station = nullptr;
  const LeapSecondTable* leap_seconds = nullptr;
  std::span<const TimedCommand* const> commands;  // in order of transmission
  // Where each group of commands that go up together ends, rising; the last one is the number of commands.
  std::span<const std::size_t> group_ends;
  std::uint32_t first_sequence_count = 0;  // of the first command's own packet; two for each command
  std::uint8_t first_frame_count = 0;
};

struct EncodedBatch {
  Bytes on_air;
  Bytes requests;  // the insert packets, or words each once, one after another
  std::vector<std::size_t> request_ends;
  std::vector<std::uint8_t>
      frames;  // by group, the number of its first frame; 0 where frames are not numbered
  std::uint8_t next_frame_count = 0;
};

// Frames of a batch are numbered.
bool has_numbered_frames(const CommandLink& link);

// One immediate command: its own packet, or its words.
void encode_immediate(const Station& station, const TimedCommand& command, std::uint16_t sequence_count,
                      std::uint8_t first_frame_count, const LeapSecondTable& leap_seconds,
                      EncodedBatch& result);

// What `result` held before is overwritten; its memory is used again.
void encode_batch_plain(const BatchInput& input, EncodedBatch& result);
void encode_batch_fast(const BatchInput& input, EncodedBatch& result);

}  // namespace cairn
