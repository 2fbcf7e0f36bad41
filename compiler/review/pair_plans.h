// From plans to the matching: intents as numbers, blocks followed when their heads are rewritten.

#pragma once

#include <string>
#include <utility>
#include <vector>

#include "compiler/review/match.h"
#include "compiler/review/reviewed_plan.h"

namespace cairn {

struct PairedPlans {
  std::vector<MatchPair> pairs;
  std::vector<std::pair<std::string, std::string>> renamed_blocks;  // old, new
};
PairedPlans pair_plans(const ReviewedPlan& before, const ReviewedPlan& after);

}  // namespace cairn
