// The state machine of a station, driven command by command in time order.
//
// `predict` is built on it; the compiler uses it to find out where a unit stands when it plans a `bring`.

#pragma once

#include <vector>

#include "constraints/timeline/timeline.h"

namespace cairn {

// Whether the command's arguments ask for this move, in whatever state its part is.
bool is_selected(const Move& move, const TimedCommand& command);

struct Standing {
  StateId state;         // where the part rests, or what it is leaving; invalid: not known
  StateId moving_to;     // valid while a move is under way
  Instant until;         // nominal end of that move
  Instant until_latest;  // latest end of that move
  TimedCommandId cause;  // the command that brought it there; invalid: from the start
};

class StateTracker {
 public:
  StateTracker(const Station& station, const StartState& start);

  // How a part stands at `time`, all commands applied so far taken into account.
  [[nodiscard]] Standing standing(PartId part, Instant time) const;

  // What would go wrong if the command ran now; empty when it is legal.
  [[nodiscard]] std::vector<Conflict> conflicts(TimedCommandId id, const TimedCommand& command) const;

  // The moves the command makes in the present states (indices into its definition's moves).
  [[nodiscard]] std::vector<std::uint32_t> applicable_moves(const TimedCommand& command) const;

  // Runs the command if it is legal; returns its conflicts otherwise and changes nothing. Commands come in
  // rising time.
  std::vector<Conflict> apply(TimedCommandId id, const TimedCommand& command);

  [[nodiscard]] const std::vector<CommandId>& once_spent() const { return once_spent_; }

 private:
  struct PartStanding {
    StateId state;
    StateId moving_to;
    Instant until;
    Instant until_latest;
    TimedCommandId cause;
  };
  const Station* station_;
  std::vector<PartStanding> parts_;
  std::vector<CommandId> once_spent_;
  std::vector<TimedCommandId> once_by_;
};

}  // namespace cairn
