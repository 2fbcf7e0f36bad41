// A plan held against what the station reports: what ran, what failed, what never arrived, and what that does
// to the rest.

#pragma once

#include <string>
#include <vector>

#include "compiler/plan/read_plan.h"
#include "compiler/review/reconcile/reports.h"

namespace cairn {

enum class Fate : std::uint8_t {
  Ran,         // completed
  Began,       // started, and nothing more is known
  Failed,      // refused or not completed when its time had come
  Overdue,     // aboard, its time is over, and nothing is known of its running
  Waiting,     // aboard, its time is still to come
  Rejected,    // the station did not take it into its table
  NotArrived,  // nothing is known of it
  NotSent,     // the plan has no window for it
};
std::string_view to_word(Fate fate);

struct ReconciledCommand {
  Fate fate = Fate::NotArrived;
  std::string detail;               // of the report that decides
  std::vector<std::string> broken;  // Waiting: why it cannot run any more, now that others did not
};

struct Reconciliation {
  std::vector<ReconciledCommand> commands;  // one per command of the plan
  std::vector<std::uint16_t> strangers;     // counts that the plan does not know
  Timeline timeline;                        // of what ran, and of what waits
};

struct ReconcileInput {
  const Station* station = nullptr;
  const StartState* start = nullptr;  // of the plan
  Instant begin;                      // its span
  Instant end;
  Instant now;
  std::vector<CarriedEntry> commands;  // of the plan, in its order
  std::vector<bool> has_window;
  std::vector<bool> is_immediate;  // runs when it is received; empty: none does
  const std::vector<VerificationReport>* reports = nullptr;
};

Reconciliation reconcile(const ReconcileInput& input);

// A load with what is still wanted: commands that wait no longer for anything and whose time is to come, at
// their times; those whose time is over from `missed_from` on, their distances kept (none: as comments, for
// people to decide).
std::string recovery_load(const PlanDocument& plan, const Reconciliation& reconciliation, Instant now,
                          std::optional<Instant> missed_from, const LeapSecondTable& leap_seconds);

}  // namespace cairn
