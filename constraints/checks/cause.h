// The cause of a failing power or heat finding: a small set of commands without which it would hold.

#pragma once

#include "constraints/checks/checks.h"

namespace cairn {

// Fills `finding.cause` by checking again with commands withheld; leaves it empty when no set of the commands
// tried mends it (the cause lies in the station or the start, not in the load).
void find_cause(const CheckInput& input, Finding& finding);

}  // namespace cairn
