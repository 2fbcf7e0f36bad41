// Safe commanding: what must go before a hazardous command, when commands are inhibited, what waits for the
// last resort.
//
// Two executions of one station are displaced against each other by half a tick each; against windows, marks
// and events the clock's whole deviation counts.
//
// Reports: commanding/not-armed, commanding/left-armed (two-step commands), commanding/inhibited,
// commanding/no-window,
//          commanding/last-resort

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "constraints/table/table.h"
#include "constraints/timeline/timeline.h"
#include "constraints/verdict.h"

namespace cairn {

struct NamedInstant {
  std::string name;
  Instant time;
};

struct CommandingInput {
  const Station* station = nullptr;
  const Timeline* timeline = nullptr;
  const std::vector<CarriedEntry>* carried = nullptr;  // entries of earlier loads run and count too
  const std::vector<NamedInstant>* marks = nullptr;
  std::optional<Instant> last_uplink;  // last bit of this load; none: nothing goes up
};

// One finding for each command that is wrong; for each inhibit, each two-step command and the last resort one
// that holds, with the least margin, when nothing is.
std::vector<Finding> check_commanding(const CommandingInput& input);

}  // namespace cairn
