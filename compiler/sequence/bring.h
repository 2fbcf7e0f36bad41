// The shortest legal chain of commands that brings a part to a state.
//
// Dijkstra over the part's states; a path's rank is its total time, then its number of commands, then the
// dictionary order of its commands. Every step is tried on a copy of the state tracker as it stands after the
// steps before it, so that preconditions and side moves of the chain itself count.

#pragma once

#include <string>
#include <vector>

#include "constraints/timeline/state_tracker.h"

namespace cairn {

struct BringStep {
  TimedCommand command;  // at its time
};

// A state that a part should be in first.
struct BringFirst {
  PartId part;
  StateId state;
};

// A command that would have led on but may not be used where it was tried.
struct BlockedStep {
  CommandId command;
  StateId from;
  std::string why;  // "needs `relay is low`"
  Origin origin = no_origin;
  PartId needs;             // valid: it would do if this part
  std::vector<StateId> in;  // were in one of these
};

struct BringPlan {
  bool found = false;
  bool start_known = true;
  StateId start;                 // invalid: not known
  Instant ends;                  // when the last move has ended
  std::vector<BringStep> steps;  // empty when found: already there
  std::vector<StateId> reachable;
  std::vector<BlockedStep> blocked;
};

BringPlan plan_bring(const Station& station, const StateTracker& tracker, PartId part, StateId goal,
                     Instant now);

// The `bring`s that would make this one possible if they came before it: the fewest, at most three, each
// possible itself. Empty when none are found.
std::vector<BringFirst> brings_before(const Station& station, const StateTracker& tracker, PartId part,
                                      StateId goal, Instant now);

// The next tick at or after an instant, and the nearest one.
Instant ceil_to_tick(Instant time, Duration tick);
Instant round_to_tick(Instant time, Duration tick);

}  // namespace cairn
