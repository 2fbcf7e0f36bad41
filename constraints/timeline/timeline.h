// The timeline: what the station will do, as one prediction that all checks read.
//
// Timed commands drive a state machine per part. The result is, for each part, a row of occupations (the part
// is in one state, or moving from one to another) and a list of electrical draws. Nothing re-simulates
// states. Every change carries the nominal time and the earliest and latest at which it may happen against
// the other events of the same station (half a clock tick, bounds of the moves' lengths). The clock's own
// deviation moves all events of a station together, so it is no part of these; where an event meets the
// outside (windows, the Sun, other stations) `clock_uncertainty` is added.

#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "constraints/station/station.h"

namespace cairn {

// Position in the list of timed commands.
struct TimedCommandTag;
using TimedCommandId = Id<TimedCommandTag>;

struct TimedCommand {
  Instant time;  // execution; of an immediate one, its receipt
  CommandId command;
  std::vector<ArgumentValue> arguments;  // one per definition's argument, in its order
  bool immediate = false;                // runs when it is received: never in the command table
};

// J that the storage holds, nominally, at least and at most.
struct HeldCharge {
  double nominal = 0;
  double least = 0;
  double most = 0;
};

// Where each part, heater and node stands when the load begins: the station model's initial values, or the
// end state that the previous plan predicted.
struct StartState {
  std::vector<StateId> parts;        // by PartId; invalid id: not known
  std::vector<double> temperatures;  // K, by NodeId
  std::vector<bool> heaters_on;      // by HeaterId
  // Between which each node lies, K; empty: at `temperatures` exactly.
  std::vector<double> lowest_temperatures;
  std::vector<double> highest_temperatures;
  std::vector<bool> heaters_unsure;   // by HeaterId: on or off, not known which; empty: all known
  std::vector<CommandId> once_spent;  // one-shot commands already used in the station's life
  std::optional<HeldCharge> charge = std::nullopt;  // none: no storage, or as the station file says
  // Temperatures and heaters are yet to be found: those that the parts' states lead to in the long run.
  bool in_balance = false;
};
StartState initial_state(const Station& station);

struct EventTime {
  Instant nominal;
  Instant earliest;
  Instant latest;
};

struct Occupation {
  PartId part;
  StateId state;      // while moving: the state that is being left; invalid id: not known
  StateId moving_to;  // invalid: the part rests in `state`
  EventTime begin;
  EventTime end;         // the timeline's end for the last one
  TimedCommandId cause;  // the command that began it; invalid: so from the start
};

// A constant draw from the bus over an interval, with its heat.
struct Draw {
  EventTime begin;
  EventTime end;
  Bounded load;  // W
  std::vector<HeatShare> heat;
  UnitId unit;
  PartId part;           // invalid for a pulse
  TimedCommandId cause;  // invalid: so from the start
};

// A command that could not do what it says in the state it meets.
enum class ConflictKind : std::uint8_t {
  NeedNotMet,    // a `needs` condition is false, or the part is moving
  NoSuchMove,    // the part's state has no move for this command
  StateUnknown,  // the part's state is not known at that time
  PartMoving,    // a move was still under way
  OnceSpent,     // a one-shot command for the second time
};
struct Conflict {
  ConflictKind kind = ConflictKind::NeedNotMet;
  TimedCommandId command;
  PartId part;             // whose state is wrong
  StateId found;           // invalid: unknown
  std::uint32_t need = 0;  // NeedNotMet: index into the definition's needs
  TimedCommandId earlier;  // the command that brought the part there, or spent the one-shot
  Instant time;
};

struct Timeline {
  Instant begin;
  Instant end;
  std::vector<TimedCommand> commands;                // rising by time, then by source order
  std::vector<std::vector<Occupation>> occupations;  // by PartId, each rising by time, gapless
  std::vector<Draw> draws;                           // rising by nominal begin
  std::vector<Conflict> conflicts;                   // rising by command
  std::vector<CommandId> once_spent;                 // at the end
};

// `commands` rising by time. A conflicting command changes nothing, so that one mistake stays one finding.
Timeline predict(const Station& station, const StartState& start, Instant begin, Instant end,
                 std::vector<TimedCommand> commands);

// The part's occupation at an instant (the later one at a boundary); nullptr outside the timeline.
const Occupation* occupation_at(const Timeline& timeline, PartId part, Instant time);

// By how much two executions of one station may be displaced against each other, each: half a tick.
Duration tick_uncertainty(const StationClock& clock);

// The greatest deviation from true time of a command executed at `time`: half a tick, and the rate error
// since the last correlation.
Duration clock_uncertainty(const StationClock& clock, Instant time);

}  // namespace cairn
