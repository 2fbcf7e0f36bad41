// The plan as text: the numbered command list and the table of verdicts.

#pragma once

#include <string>

#include "compiler/plan/read_plan.h"

namespace cairn {

// One row a command, columns aligned, with a head that says for whom and when, and the cautions.
std::string text_list(const PlanDocument& plan);

// One row a check: verdict, what, margin, value against limit, when.
std::string verdict_table(const PlanDocument& plan, bool colour);

}  // namespace cairn
