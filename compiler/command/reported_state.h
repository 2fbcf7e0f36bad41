// The state that the next load starts from, as the station's reports tell it.

#pragma once

#include <optional>
#include <string>

#include "compiler/plan/read_plan.h"
#include "compiler/review/reconcile/reconcile.h"
#include "compiler/text/diagnostic.h"

namespace cairn {

struct ReportedStateInput {
  const LeapSecondTable* leap_seconds = nullptr;
  std::string plan_name;              // as given, for messages
  const std::string* plan = nullptr;  // its text
  const PlanDocument* document = nullptr;
  const ReconcileInput* reconciled = nullptr;
  const Reconciliation* answer = nullptr;
  std::optional<int> next_frame;
};

struct StateText {
  std::string text;
  Instant time;
  std::vector<std::string> unknown;  // parts
  std::vector<std::string> notes;
};
// nullopt when there is none yet, which is reported.
std::optional<StateText> reported_state_text(const ReportedStateInput& input, Diagnostics& diagnostics);

}  // namespace cairn
