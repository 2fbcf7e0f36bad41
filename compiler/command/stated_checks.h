// What the load says about itself, held against the predictions: its rules, and the waivers that accept a
// failure.

#pragma once

#include "compiler/command/pipeline.h"

namespace cairn {

// One finding per rule of the load's book, behind those of the checks, in the book's order.
void check_rules(Compiled& compiled, const CheckInput& input);

// Marks what a waiver accepts. A waiver that does not say enough, or accepts nothing, is reported.
void apply_waivers(Compiled& compiled, const LeapSecondTable& leap_seconds, Diagnostics& diagnostics);

// The stated rule that a finding answers; nullptr for the findings of the checks.
const StatedRule* stated_rule(const Compiled& compiled, const Finding& finding);

}  // namespace cairn
