// Verdicts: the three words every check answers with, and what goes with them.

#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "constraints/timeline/timeline.h"

namespace cairn {

enum class Verdict : std::uint8_t {
  Holds,     // met for every value of the uncertain quantities inside their bounds
  Unproven,  // met for the nominal values, but the guaranteed envelope crosses the limit
  Fails,     // not met for the nominal values
};
std::string_view to_word(Verdict verdict);  // "holds", "unproven", "fails"

// How far a verdict reaches. Checks that compute only the nominal solution say so.
enum class Assurance : std::uint8_t { Guaranteed, Nominal };
std::string_view to_word(Assurance assurance);

enum class CheckKind : std::uint8_t { Power, Heat, Modes, Table, Rules, Commanding };
std::string_view to_word(CheckKind kind);

// One answer of one check about one thing (the bus, a node's limit, an exclusion, the table).
struct Finding {
  std::string_view code;  // "power/reserve", "heat/survival", "heat/operating", "modes/...", "table/..."
  CheckKind check = CheckKind::Power;
  std::string subject;  // "bus", "battery-box survival", "one transmitter at a time", "entries"
  Verdict verdict = Verdict::Holds;
  Assurance assurance = Assurance::Nominal;
  // Margin in `dimension`: positive is good. `value` is what was found where the margin is least, `limit`
  // what it is held against (floor, temperature limit, cap). Modes: margin is the least time between
  // forbidden states, or minus the time they overlap; a duration in seconds.
  double margin = 0;
  double value = 0;
  double limit = 0;
  Dimension dimension;
  bool has_margin = true;  // false where there is nothing to measure (a one-shot used twice)
  // The same for the worst that the bounds of the station file allow, where that has been computed.
  bool has_guaranteed = false;
  double guaranteed_margin = 0;
  double guaranteed_value = 0;
  double guaranteed_limit = 0;
  Instant guaranteed_time;
  Instant time;            // of the least margin
  Instant interval_begin;  // where it first fails (fails only), else = time
  Instant interval_end;    // where it last fails
  std::vector<TimedCommandId>
      cause;  // fails: a small set of commands without which it would hold; may be empty
  Origin limit_origin = no_origin;  // where the model sets the limit
  std::string detail;               // one more clause for the message; may be empty
  std::uint32_t waiver = 0;         // the number of the waiver that accepts it, from 1; 0: none
};

}  // namespace cairn
