// Withdrawing entries of earlier loads: which entries a load means, and the state in which it then begins.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "compiler/plan/read_plan.h"
#include "compiler/sequence/sequence.h"
#include "compiler/text/diagnostic.h"
#include "constraints/checks/checks.h"

namespace cairn {

struct Withdrawn {
  std::vector<CarriedEntry> entries;  // one for each withdrawal of the load, in its order
  StartState start;                   // in which the load begins, now that they do not run
  std::vector<Finding> findings;      // what holds no longer in the load before, and did
};

struct WithdrawInput {
  const std::vector<Withdrawal>* withdrawals = nullptr;
  const LoadedStation* station = nullptr;
  const PlanEndState* before = nullptr;
  std::string path;  // of the plan before
  std::string text;  // that plan
  const LeapSecondTable* leap_seconds = nullptr;
};

// nullopt when an error was reported.
std::optional<Withdrawn> withdraw(const WithdrawInput& input, Diagnostics& diagnostics);

}  // namespace cairn
