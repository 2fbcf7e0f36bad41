// Whether temperatures hang on anything uncertain.

#pragma once

#include "constraints/station/station.h"
#include "constraints/timeline/timeline.h"

namespace cairn {

// Whether nothing that bears on temperatures is uncertain: no number, no time of an event, no begin.
bool is_exact(const Station& station, const StartState& start, const Timeline& timeline);

}  // namespace cairn
