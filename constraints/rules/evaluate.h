// Rules held against a predicted timeline: verdict, margin, the time of the least margin, the commands
// concerned.
//
// Meaning: signal temporal logic with its quantitative semantics (Fainekos and Pappas 2009; Donze and Maler
// 2010), computed three times: for nominal values, and for the least and the greatest that the bounds allow.
// The rule holds when even the least is met, fails when the nominal one is not, and is unproven in between.
//
// Cost: a fixed number of sweeps over the knots of what the rule looks at, however long its windows are.

#pragma once

#include <cstddef>
#include <vector>

#include "constraints/rules/rule.h"
#include "constraints/verdict.h"

namespace cairn {

// A number over time: linear between its times, a jump where two times are equal (the latter value holds from
// then on), as at its ends beyond them. lower <= nominal <= upper; equal where no bounds are known.
struct Signal {
  std::vector<Instant> times;  // not falling
  std::vector<double> nominal;
  std::vector<double> lower;
  std::vector<double> upper;
  Dimension dimension;      // of differences: what a margin against a limit has
  bool guaranteed = false;  // lower and upper bound every possible course
};

// Whether something happens at all, whatever the values inside their bounds.
enum class Existence : std::uint8_t {
  Sure,      // yes
  Nominal,   // for nominal values, but not for all
  Possible,  // for some, but not for nominal values
};

// Once in which a condition held, or an event came about (begin = end).
struct Occurrence {
  EventTime begin;
  EventTime end;
  Existence existence = Existence::Sure;
  bool from_before = false;  // held already when the span began
  bool goes_on = false;      // still holds when it ends
  TimedCommandId begun_by;   // invalid: by no command
  TimedCommandId ended_by;
};

// What the book's tables stand for on one timeline, entry by entry. predictions.h gathers it.
struct RuleEvidence {
  Instant begin;
  Instant end;
  std::vector<Signal> signals;                  // by RuleSignalId
  std::vector<std::vector<Occurrence>> spells;  // by RuleSpellsId; rising by nominal time, apart
  std::vector<std::vector<Occurrence>> events;  // by RuleEventsId; rising by nominal time
  // by RuleEventsId: how often it has happened before the span (one-shot commands used up by earlier loads)
  std::vector<std::uint32_t> times_before;
  Duration tick;  // by how much each command may be displaced
};

enum class RuleTrouble : std::uint8_t {
  None,
  FaultyBook,      // see fault()
  NoEvidence,      // fewer entries than the book's tables have
  UnusableSignal,  // empty, not a number, times that fall, or bounds on the wrong side
  UnusableTimes,   // occurrences out of order, or a span that ends before it begins
};

struct RuleAnswer {
  Verdict verdict = Verdict::Holds;
  Assurance assurance = Assurance::Guaranteed;  // Nominal: some signal it looks at knows no bounds
  RuleTrouble trouble = RuleTrouble::None;      // otherwise the verdict is `fails` and nothing else is set
  // There was nothing to measure: no such event, never in that state, or what is asked for has held since
  // before.
  bool vacuous = false;
  // False where the condition has no distance: a state that is or is not, an event that never comes,
  // conditions of different dimensions joined.
  bool has_margin = false;
  double margin = 0;          // the least that the bounds allow; for `fails` of the nominal values. SI
  double nominal_margin = 0;  // for nominal values
  Dimension dimension;        // seconds, counts, or that of the quantity
  Instant time;               // of that margin
  Instant interval_begin;     // `fails`, `unproven`: the first and last time it is not met, else = time
  Instant interval_end;
  std::vector<TimedCommandId> commands;  // concerned in that margin, rising
  RuleNodeId decisive;                   // the comparison, state or form that decided it
  std::size_t steps = 0;  // elementary steps taken for this rule; what rules share is counted once
};

// One answer per rule of the book.
std::vector<RuleAnswer> evaluate(const RuleBook& book, const RuleEvidence& evidence);

}  // namespace cairn
