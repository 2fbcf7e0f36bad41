// Mutually exclusive modes: commands legal where they run, forbidden combinations never met.
//
// Two states whose intervals may overlap, event times taken at their earliest and latest, do overlap; a part
// on the move counts as being in both the state it leaves and the one it goes to.
//
// Reports: modes/need, modes/no-move, modes/unknown-state, modes/moving, modes/once (commands);
//          modes/exclusion (combinations), one finding per exclusion with the least margin

#pragma once

#include <vector>

#include "constraints/timeline/timeline.h"
#include "constraints/verdict.h"

namespace cairn {

std::vector<Finding> check_modes(const Station& station, const Timeline& timeline);

}  // namespace cairn
