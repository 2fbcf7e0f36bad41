// A rule as values: what must hold over the whole predicted timeline.
//
// Nodes stand in one flat table and name their operands by id, operands before those who use them. A node is
// a number over time, a set of events, or a condition; `sort_of` tells which. The makers below build them;
// `fault` says what is wrong with a book that was built otherwise. docs/checks.md gives each node's meaning
// and margin. Reports: nothing by itself; evaluate.h answers.

#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "constraints/timeline/timeline.h"

namespace cairn {

struct RuleNodeTag;
struct RuleSignalTag;
struct RuleSpellsTag;
struct RuleEventsTag;
struct RuleTag;
using RuleNodeId = Id<RuleNodeTag>;
using RuleSignalId = Id<RuleSignalTag>;
using RuleSpellsId = Id<RuleSpellsTag>;
using RuleEventsId = Id<RuleEventsTag>;
using RuleId = Id<RuleTag>;

// ---- what a rule looks at -------------------------------------------------------------------------------

// A number that the checks predict.
enum class Prediction : std::uint8_t {
  PowerReserve,     // W
  PowerSource,      // W
  PowerLoad,        // W on the bus
  StoredCharge,     // J in the storage
  NodeTemperature,  // K, of `node`
  SunElevation,     // rad
  SunAzimuth,       // rad, 0 to 2 pi, with a jump where it passes north
  EarthElevation,   // rad
  TableEntries,     // count in use
  TableFree,        // count, entries not in use
  TableBytes,       // byte count in use
  WindowsOpen,      // count, of `antenna` or of all
};
struct RuleSignal {
  Prediction prediction = Prediction::PowerReserve;
  NodeId node;
  AntennaId antenna;  // invalid: of all
  friend bool operator==(const RuleSignal&, const RuleSignal&) = default;
};

// How a part that moves counts: exclusions take it to be in the state it leaves and in the one it goes to,
// needs take it to be in neither.
enum class StateReading : std::uint8_t { Rests, Touches };
struct RuleState {
  PartId part;
  std::vector<StateId> states;
  StateReading reading = StateReading::Rests;
  friend bool operator==(const RuleState&, const RuleState&) = default;
};
struct RuleMoving {  // the part is on its way
  PartId part;
  friend bool operator==(const RuleMoving&, const RuleMoving&) = default;
};
struct RuleWindow {  // a window of the antenna, or that window, is open
  AntennaId antenna;
  WindowId window;  // valid: this one
  friend bool operator==(const RuleWindow&, const RuleWindow&) = default;
};
struct RuleInterval {  // [from, to)
  EventTime from;
  EventTime to;
};
// Something that lasts.
using RuleSpells = std::variant<RuleState, RuleMoving, RuleWindow, RuleInterval>;

struct RuleCommand {  // sent; with every one of these values, if there are any
  CommandId command;
  std::vector<MoveCondition> when;
};
struct RuleMarks {  // instants, rising by nominal time
  std::vector<EventTime> times;
};
// Something that happens.
using RuleEvents = std::variant<RuleCommand, RuleMarks>;

// ---- the tree -------------------------------------------------------------------------------------------

enum class RuleOperator : std::uint8_t {
  // numbers over time
  Predicted,    // signal
  TimeSince,    // s since the last event `a`; without one before: +infinity
  TimeUntil,    // s until the next event `a`; without one after: +infinity
  TimeHeld,     // s for which condition `a` has held without a break; 0 while it does not
  TimeSpent,    // s within the last `first` in which condition `a` held
  TimesWithin,  // how many events `a` within the last `first`
  // events
  Events,  // events
  Begins,  // condition `a` begins to hold
  Ends,    // condition `a` ceases to hold
  // conditions at a time
  Spells,    // spells
  AtLeast,   // number `a` >= limit
  MoreThan,  // number `a` > limit
  AtMost,    // number `a` <= limit
  LessThan,  // number `a` < limit
  Not,       // not `a`
  And,       // `a` and `b`
  Or,        // `a` or `b`
  Always,    // `a` throughout [t + first, t + second]
  Sometime,  // `a` at some time in [t + first, t + second]
  // conditions on the whole span: the same at all times. `a`, `b`: events or conditions unless said otherwise
  AtEach,      // at each event `a`, just before it, condition `b`
  OnlyAfter,   // where `a` begins, `b` has held for `first` (an event `b`: happened at least `first` before)
  FollowedBy,  // where `a` ends, `b` holds or happens within `first`
  Apart,       // `a` and `b` at least `first` apart; `a` = `b`: one and the next
  LastsAtLeast,  // condition `a` lasts at least `first`
  LastsAtMost,   // condition `a` lasts at most `first`
  OnlyInside,    // `a` only while condition `b`
  NeverInside,   // `a` never while condition `b`
  AtMostTimes,   // `a` at most `limit` times
  NeverAfter,    // no `a` after the first beginning of `b`
};
enum class RuleSort : std::uint8_t { Number, Events, Condition };
RuleSort sort_of(RuleOperator kind);

struct RuleNode {
  RuleOperator kind = RuleOperator::And;
  RuleNodeId a;
  RuleNodeId b;
  RuleSignalId signal;
  RuleSpellsId spells;
  RuleEventsId events;
  double limit = 0;  // SI
  Duration first;
  Duration second;
};

// What must hold from the span's begin to its end.
struct Rule {
  std::string name;
  std::string why;
  RuleNodeId condition;
  Origin origin = no_origin;
};

struct RuleBook {
  Table<RuleSignalId, RuleSignal> signals;
  Table<RuleSpellsId, RuleSpells> spells;
  Table<RuleEventsId, RuleEvents> events;
  Table<RuleNodeId, RuleNode> nodes;
  Table<RuleId, Rule> rules;
};

// ---- makers ---------------------------------------------------------------------------------------------

RuleNodeId predicted(RuleBook& book, RuleSignal signal);
// The same state, movement or window asked for again is the same node, worked out once for all rules.
RuleNodeId spells(RuleBook& book, RuleSpells spells);
RuleNodeId events(RuleBook& book, RuleEvents events);
RuleNodeId compare(RuleBook& book, RuleOperator comparison, RuleNodeId number, double limit);
RuleNodeId negation(RuleBook& book, RuleNodeId a);
RuleNodeId both(RuleBook& book, RuleNodeId a, RuleNodeId b);
RuleNodeId either(RuleBook& book, RuleNodeId a, RuleNodeId b);
// `b` while `a`: not `a`, or `b`. For "always `b` while `a`", "always `b` from mark to mark".
RuleNodeId whilst(RuleBook& book, RuleNodeId a, RuleNodeId b);
// Always or Sometime over [t + from, t + to].
RuleNodeId windowed(RuleBook& book, RuleOperator kind, RuleNodeId a, Duration from, Duration to);
// A number over time of one operand; `within` for TimeSpent and TimesWithin, which wants events.
RuleNodeId number_of(RuleBook& book, RuleOperator kind, RuleNodeId a, Duration within = {});
// Begins or Ends.
RuleNodeId edges(RuleBook& book, RuleOperator kind, RuleNodeId condition);
// Any of the conditions on the whole span; what does not apply is left out.
RuleNodeId over_span(RuleBook& book, RuleOperator kind, RuleNodeId a, RuleNodeId b, Duration first = {},
                     double limit = 0);
// Condition `a` at most `most` in any `within`.
RuleNodeId spent_at_most(RuleBook& book, RuleNodeId a, Duration most, Duration within);
// `a`, events or beginnings of a condition, at most `most` times in any `within`.
RuleNodeId times_at_most(RuleBook& book, RuleNodeId a, std::uint32_t most, Duration within);

// Sets how moving parts count under `condition`, as the station's exclusions and needs have it: a state that
// a part enters or leaves counts against the rule, and never for it. Gives the node to use in its place.
RuleNodeId read_moves_by_role(RuleBook& book, RuleNodeId condition);

// ---- what can be wrong with a book ----------------------------------------------------------------------

// Far beyond any span; stand for "without end".
inline constexpr Duration longest_duration = {std::int64_t{1} << 60};
inline constexpr double greatest_limit = 1e150;

enum class RuleFaultKind : std::uint8_t {
  NoSuchNode,   // an operand that is not there, or stands behind its user
  NoSuchEntry,  // a signal, spell or event that is not in the book's tables
  WrongSort,    // an operand of a sort that the operator cannot take
  BadLimit,     // a limit that is not a number, or beyond the greatest
  BadDuration,  // negative, too long, or the window ends before it begins
};
struct RuleFault {
  RuleFaultKind kind = RuleFaultKind::NoSuchNode;
  RuleNodeId node;
};
std::optional<RuleFault> fault(const RuleBook& book);

}  // namespace cairn
