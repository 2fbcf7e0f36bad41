// From a checked load to timed commands: marks solved, loops and routines expanded, `bring` planned.

#pragma once

#include <string>
#include <vector>

#include "compiler/meaning/meaning.h"
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

struct SequencedLoad {
  std::string name;
  Span name_span;
  Instant begin;
  Instant end;
  std::vector<TimedCommand> commands;  // rising by time, then by source order
  std::vector<Provenance> provenance;  // one per command
  std::vector<ResolvedMark> marks;     // rising by time, then name
  std::vector<NothingSent> nothing_sent;
  std::vector<std::string> notes;      // of the load itself
};

// nullopt when an error was reported. `trees` as gathered, the load's first.
std::optional<SequencedLoad> compile_load(const std::vector<Tree>& trees, const SourceFiles& files,
                                          const LoadedStation& station, const StartState& start,
                                          const LeapSecondTable& leap_seconds, const SequenceLimits& limits,
                                          Diagnostics& diagnostics);

}  // namespace cairn
