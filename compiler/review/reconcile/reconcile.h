// A plan held against what the station reports: what ran, what failed, what never arrived, what that does to
// the rest, and how the station stands after it.

#pragma once

#include <functional>
#include <string>
#include <vector>

#include "compiler/plan/read_plan.h"
#include "compiler/review/reconcile/reports.h"
#include "compiler/review/reconcile/table_report.h"

namespace cairn {

enum class Fate : std::uint8_t {
  Ran,         // completed
  Began,       // started, and nothing more is known
  Failed,      // refused or not completed when its time had come
  Overdue,     // aboard, its time is over, and nothing is known of its running
  Waiting,     // aboard, its time is still to come
  ToBeSent,    // nothing is known of it, and it was not to be aboard by then
  Gone,        // it was in the table, its time is still to come, and it is there no more
  Rejected,    // the station did not take it into its table
  NotArrived,  // nothing is known of it
  NotSent,     // the plan has no window for it
};
std::string_view to_word(Fate fate);

struct ReconciledCommand {
  Fate fate = Fate::NotArrived;
  // Whether it may have changed something all the same, it is not known what: it began, or may have.
  bool is_unsure = false;
  std::string detail;               // of the report that decides
  std::vector<std::string> broken;  // still to run: why it cannot any more, now that others did not
};

// What really happened, and what is still to happen, cut where prediction alone does not tell how it goes on.
struct Stretch {
  Instant begin;
  Instant end;
  std::vector<TimedCommand> commands;
  // What is known or no longer known at its end against the prediction; an invalid state: not known.
  struct Correction {
    PartId part;
    StateId state;
  };
  std::vector<Correction> corrections;
  std::vector<CommandId> spent;  // one-shots that count as used
};

struct Reconciliation {
  std::vector<ReconciledCommand> commands;  // one per command of the plan
  std::vector<std::uint16_t> strangers;     // counts that the plan does not know
  std::vector<std::uint16_t> unexpected;    // in the table, and known neither to the plan nor to those before
  std::vector<CarriedEntry> carried;        // of earlier loads, those that still are in the table
  std::vector<Stretch> stretches;           // without gaps from the plan's begin to `end`; at least one
  Instant end;                              // while something is to run yet: the plan's end; else `now`
  std::vector<std::string> notes;           // what is not known, one sentence each
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
  std::vector<Instant> aboard;     // when it was to be aboard, if it has a window; empty: all by `now`
  const std::vector<VerificationReport>* reports = nullptr;
  const std::vector<TableEntry>* table = nullptr;  // at `now`, as the station tells; none: it does not
  std::vector<CarriedEntry> carried;               // what earlier loads left
};

Reconciliation reconcile(const ReconcileInput& input);

// How the station stands at the end. `advance` gives how it stands at the end of a timeline that begins in
// that state.
using Advance = std::function<StartState(const StartState&, const Timeline&)>;
StartState state_after(const Station& station, const StartState& start, const Reconciliation& reconciliation,
                       const Advance& advance);

// Those of the plan's commands that lie in the table now or will lie there yet, at the times that it has.
std::vector<CarriedEntry> still_to_run(const ReconcileInput& input, const Reconciliation& reconciliation);

// A load with what is still wanted: commands that wait no longer for anything and whose time is to come, at
// their times; those whose time is over from `missed_from` on, their distances kept (none: as comments, for
// people to decide).
std::string recovery_load(const PlanDocument& plan, const Reconciliation& reconciliation, Instant now,
                          std::optional<Instant> missed_from, const LeapSecondTable& leap_seconds);

}  // namespace cairn
