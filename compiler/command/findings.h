// Failing findings as diagnostics: where in the load the cause stands, where the model sets the limit, what
// mends.

#pragma once

#include "compiler/command/pipeline.h"

namespace cairn {

void report_findings(const Compiled& compiled, const LeapSecondTable& leap_seconds, Diagnostics& diagnostics);

}  // namespace cairn
