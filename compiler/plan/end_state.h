// Where the next load of a station begins, as JSON: the member `end_state` of a plan, and a file of its own
// when the station's reports have told otherwise than the plan.

#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "compiler/plan/canonical_json.h"
#include "constraints/quantity/leap_seconds.h"
#include "constraints/table/table.h"

namespace cairn {

// Where everything stands at one instant.
Json::Object state_json(const Station& station, const StartState& state, Instant time,
                        const LeapSecondTable& leap_seconds);

struct EndStateInput {
  const Station* station = nullptr;
  const LeapSecondTable* leap_seconds = nullptr;
  const StartState* state = nullptr;
  Instant time;
  std::vector<CarriedEntry> table;  // what of earlier loads runs later than that
  std::uint16_t sequence_count = 0;
  std::optional<std::uint8_t> frame_count = std::nullopt;  // none: not known
};
Json end_state_json(const EndStateInput& input);

Json entry_json(const Station& station, const CarriedEntry& entry, const LeapSecondTable& leap_seconds);
// Entries of the table, as in a plan's `carried`.
Json entries_json(const Station& station, const std::vector<CarriedEntry>& entries,
                  const LeapSecondTable& leap_seconds);

inline constexpr std::string_view state_format = "cairn-state";

// A state from reports. `cairn build --after` takes it in place of the plan that was reported on.
struct ReportedState {
  EndStateInput end;
  std::string plan_sha256;            // of that plan.json
  std::string load;                   // its name
  Instant reported;                   // up to when the station has reported
  std::optional<Instant> uplink_end;  // nothing goes up before
  std::vector<CarriedEntry> carried;  // aboard, and still to run at `reported`
  std::vector<std::string> notes;     // what is not known and how it was settled, one sentence each
};
std::string reported_state(const ReportedState& state);

}  // namespace cairn
