// A begin in balance: the temperatures that a station comes to when it has stood for long as it begins.

#pragma once

#include "constraints/heat/heat.h"

namespace cairn {

// `start` with the temperatures, their bounds and the heaters' states that the initial states of the parts
// lead to under the Sun as it stands at `time`: worked out over fourteen times the network's longest time
// constant before it. Where a thermostat works there is no rest: then these are of some moment of its cycle,
// and the bounds of all its moments.
StartState in_balance(const Station& station, const StartState& start, const Sky& sky, Instant time);

}  // namespace cairn
