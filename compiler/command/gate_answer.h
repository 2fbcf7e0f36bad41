// How sign, verify and gate end: diagnostics when the input is wrong, findings otherwise.

#pragma once

#include <string>

#include "compiler/command/commands.h"
#include "compiler/review/verify_plan.h"

namespace cairn {

ExitCode end_with_wrong_input(const World& world, Diagnostics& diagnostics, const SourceFiles& files,
                              const ShowOptions& show);
ExitCode end_with_findings(const World& world, const GateFindings& findings, const ShowOptions& show);

void append_findings(GateFindings& findings, GateFindings more);

// The text of plan.json; empty when there is none.
const std::string& plan_in(const PlanFolder& folder);

}  // namespace cairn
