// From timed commands to bytes: which window carries which command, and the packets that do it.
//
// Packets are CCSDS 133.0-B space packets with the 16-bit packet error control of ECSS-E-ST-70-41C (CRC,
// polynomial 0x1021, preset all ones). A stored command travels as one service 11 "insert activities" request
// holding its execution time (the station's CCSDS 301.0-B time code) and the command's own request packet.
// Stations take packets bare, in frames or in link units; those with simple decoders take command words
// instead.

#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "constraints/quantity/leap_seconds.h"
#include "constraints/table/table.h"
#include "constraints/timeline/timeline.h"

namespace cairn {

using Bytes = std::vector<std::uint8_t>;

// One stored command, encoded and given to a window.
struct StagedCommand {
  TimedCommandId command;
  WindowId window;         // invalid: no window can carry it in time
  Instant transmit_begin;  // at the antenna
  Instant transmit_end;
  Instant aboard;  // transmit_end + light time
  // Of the command's own request packet, by which it can be withdrawn; the insert packet has the next count.
  std::uint16_t sequence_count = 0;
  // Of the first frame that carries it; none where frames are not numbered.
  std::optional<std::uint8_t> frame = std::nullopt;
  std::uint32_t entry_bytes = 0;  // in the command table: the inner request packet
  // The whole insert packet (of an immediate command its own), or its words, each once; empty without a
  // window.
  Bytes packet;
};

// A request that takes an entry of an earlier load out of the table; it is done when it is received.
struct StagedWithdrawal {
  CarriedEntry entry;
  WindowId window;  // invalid: none can carry it in time
  Instant transmit_begin;
  Instant transmit_end;
  Instant received;
  std::uint16_t sequence_count = 0;  // of the request itself
  std::optional<std::uint8_t> frame = std::nullopt;
  Bytes packet;  // or its words, each once; empty without a window
};

// What goes up in one go. A window has several where an immediate command, or what withdraws entries, goes up
// between stored ones.
struct Batch {
  WindowId window;
  Instant begin;                         // first bit leaves the antenna
  Instant end;                           // last bit
  std::vector<TimedCommandId> commands;  // in order of transmission
  Bytes bytes;                           // what goes on air, one request after another
  bool immediate = false;                // one command that runs when it is received, at `end` + light time
  // Instead of commands: entries of earlier loads that it withdraws, by their place in the staging's.
  std::vector<std::uint32_t> withdrawals = {};
};

struct Staging {
  std::vector<StagedCommand> commands;  // one per timed command, in their order
  std::vector<Batch> batches;           // in order of transmission; no empty ones
  // Delete requests for every stored command of this load; then, for each entry that it withdraws, one more
  // and the entry itself again, so that it is there once whether or not it had been withdrawn.
  Bytes backout;
  std::uint16_t next_sequence_count = 0;
  std::uint8_t next_frame_count = 0;  // of frames of type AD; the backout travels in frames of type BD
  std::vector<TableUse> uses;         // for the table check, carried entries included
  std::vector<StagedWithdrawal> withdrawals = {};  // as asked for, in that order
};

struct StagingInput {
  const Station* station = nullptr;
  const std::vector<TimedCommand>* commands = nullptr;
  const std::vector<CarriedEntry>* carried = nullptr;
  std::uint16_t first_sequence_count = 0;
  Instant begin;            // of the load: windows before it are not used... see `earliest_uplink`
  Instant earliest_uplink;  // no window before this instant is used
  double light_time = 0;    // s, greatest over the load's span
  const LeapSecondTable* leap_seconds = nullptr;
  std::uint8_t first_frame_count = 0;
  const std::vector<std::uint32_t>* blocks =
      nullptr;  // by command: which belong together; none: nothing does
  // Entries of earlier loads that this one takes out of the table; they are not among `carried`.
  const std::vector<CarriedEntry>* withdrawn = nullptr;
};

// Why not all of a load can be staged, and what would change that; each mend was tried and works by itself.
struct StagingConflict {
  std::vector<TimedCommandId> commands;  // without any one of them the others could be staged
  std::vector<WindowId> windows;         // that could carry one of them
  std::optional<std::uint32_t> entries;  // a cap on entries that is great enough
  std::optional<std::uint32_t> bytes;    // a cap on bytes
  std::optional<Duration> later;         // the last of the commands run so much later
  std::optional<WindowId> earlier;       // a window before the first one used
};

// nullopt when all commands find a window and the table holds them.
std::optional<StagingConflict> find_conflict(const StagingInput& input);

// Encodes and stages. Never fails for a timeline whose arguments were range-checked: a command that no window
// can carry in time stays without one, and the table check reports it.
Staging stage(const StagingInput& input);

// The execution time rounded to the station's tick and to what its time code can say; what is sent is exactly
// this.
Instant representable_time(const StationClock& clock, Instant time, const LeapSecondTable& leap_seconds);

}  // namespace cairn
