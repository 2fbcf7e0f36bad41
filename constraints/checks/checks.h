// All checks over one timeline: the list of checks, and the causes of what fails.
//
// The cause of a failing check is a small set of commands without which it would hold, found by checking
// again with commands withheld (after Zeller and Hildebrandt 2002).

#pragma once

#include <vector>

#include "constraints/commanding/commanding.h"
#include "constraints/heat/heat.h"
#include "constraints/modes/modes.h"
#include "constraints/power/power.h"
#include "constraints/table/table.h"

namespace cairn {

struct CheckInput {
  const Station* station = nullptr;
  const StartState* start = nullptr;
  const Timeline* timeline = nullptr;
  const Sky* sky = nullptr;
  const std::vector<TableUse>* table_uses = nullptr;
  HeatOptions heat;
  const std::vector<CarriedEntry>* carried = nullptr;  // entries of earlier loads; none: there are none
  const std::vector<NamedInstant>* marks = nullptr;
  std::optional<Instant> last_uplink = std::nullopt;
};

struct CheckResults {
  PowerResult power;
  HeatResult heat;
  TableResult table;
  std::vector<Finding>
      findings;  // of every check: power, heat, modes, commanding, table; each in model or time order
  StartState start_state;  // as given, temperatures in balance where that was asked for
  StartState end_state;
};

CheckResults run_checks(const CheckInput& input);

// How the station stands at the end of the timeline, as `end_state` above; judges nothing and needs no
// `table_uses`.
StartState state_at_end(const CheckInput& input);

// The worst word among the findings that no waiver accepts; Holds when there are none.
Verdict overall(const std::vector<Finding>& findings);

}  // namespace cairn
