// From a checked load to timed commands: marks solved, loops and routines expanded, `bring` planned.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "compiler/meaning/meaning.h"
#include "constraints/rules/rule.h"
#include "constraints/sky/sky.h"
#include "constraints/timeline/timeline.h"

namespace cairn {

struct SequenceLimits {
  std::size_t commands = 1'000'000;  // after expansion
  Duration span = {400LL * 86'400 * nanoseconds_per_second};
  int routine_depth = 32;
};

// Where a command comes from, beside each timed command.
struct Provenance {
  Span source;                     // the statement that sends it (in a routine: there)
  std::vector<Span> calls;         // the `do` statements that led there, outermost first
  std::string block;               // "at sunset - 3 h", the block's name if it has one
  std::vector<std::string> notes;  // of its blocks, outermost first
  bool by_bring = false;
};

struct ResolvedMark {
  std::string name;
  Instant time;
  Span source;
};

// A `bring` that found its unit already there.
struct NothingSent {
  Span source;
  Instant time;
  std::string unit;   // "camera"
  std::string state;  // "parked"
};

enum class StatedKind : std::uint8_t { Rule, Require, Expect };

// Where a rule of the rule book comes from.
struct StatedRule {
  StatedKind kind = StatedKind::Rule;
  std::string text;  // Rule: its name; otherwise the condition as written
  std::string why;
  Span source;
  std::vector<Span> calls;
  std::size_t command = 0;  // Expect: the command it follows, by its place in the list
  Duration within;          // Expect
};

// A failing check that the load's author accepts, as far as it says.
struct StatedWaiver {
  std::string check;               // a code such as `power/reserve`, or the name of a rule
  std::string subject;             // empty: whatever the check is about
  std::optional<double> accepted;  // SI: how far the value may go
  Dimension dimension;
  Instant from;
  Instant to;
  Instant until;
  std::string because;
  std::string reference;
  Span source;
  Span check_place;
};

// An entry that an earlier load left in the table, to be taken out of it: what the load says of it.
struct Withdrawal {
  CommandId command;
  std::vector<std::optional<ArgumentValue>> arguments;  // by the definition's; none: whatever it has
  Instant time;                                         // at which it would run
  Span source;
  Span time_place;
};

struct SequencedLoad {
  std::string name;
  Span name_span;
  Instant begin;
  Instant end;
  std::vector<TimedCommand> commands;  // rising by time, then by source order
  std::vector<Provenance> provenance;  // one per command
  std::vector<ResolvedMark> marks;     // rising by time, then name
  std::vector<NothingSent> nothing_sent;
  std::vector<std::string> notes;       // of the load itself
  RuleBook rules;                       // rules of all files, what is required, what is expected
  std::vector<StatedRule> stated;       // one per rule of the book, in its order
  std::vector<StatedWaiver> waivers;    // in source order
  std::vector<Withdrawal> withdrawals;  // in source order
};

// nullopt when an error was reported. `trees` as gathered, the load's first.
std::optional<SequencedLoad> compile_load(const std::vector<Tree>& trees, const SourceFiles& files,
                                          const LoadedStation& station, const StartState& start,
                                          const LeapSecondTable& leap_seconds, const SequenceLimits& limits,
                                          Diagnostics& diagnostics);

// What the load withdraws, without running anything of it: its times use only instants and constants of the
// file. Needed before the load is sequenced, for what is withdrawn changes the state in which it begins.
std::vector<Withdrawal> find_withdrawals(const std::vector<Tree>& trees, const SourceFiles& files,
                                         const LoadedStation& station, const LeapSecondTable& leap_seconds,
                                         Diagnostics& diagnostics);

}  // namespace cairn
