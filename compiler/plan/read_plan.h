// A plan read back: for the text list, for the decoder's user, and as the start of the next load.

#pragma once

#include <array>
#include <cstdint>
#include <expected>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "constraints/quantity/leap_seconds.h"
#include "constraints/table/table.h"

namespace cairn {

struct PlanArgument {
  std::string name;
  std::string value;
  std::string rounding;  // of the value against what was asked; empty: none
};

struct PlanCommand {
  std::uint64_t number = 0;
  std::string time;
  std::string unit;
  std::string name;
  std::uint64_t command_number = 0;
  std::string command_class;
  std::vector<PlanArgument> arguments;
  std::string block;
  std::string source;  // "loads/x.cairn:12"
  std::vector<std::string> notes;
  std::string by;
  bool immediate = false;               // runs when it is received
  std::optional<std::uint64_t> window;  // into PlanDocument::windows, from 1
  std::string aboard;                   // empty: never
};

struct PlanWindow {
  std::string name;
  std::string antenna;
  std::string begin;  // of its batch; empty: none
  std::string end;
  std::string opens;
  std::string closes;
  std::string file;  // of its batch; empty: none
  std::uint64_t bytes = 0;
  std::vector<std::uint64_t> commands;
  bool immediate = false;  // its batch is one immediate command
  std::vector<std::uint64_t> withdrawals = {};
};

// An entry of an earlier load that this one withdraws.
struct PlanWithdrawal {
  std::uint64_t number = 0;
  std::string command;
  std::string time;
  std::optional<std::uint64_t> window;  // into PlanDocument::windows, from 1
  std::string received;                 // empty: never
  std::uint16_t entry_count = 0;        // of the packet that loaded the entry, as the table lists it
  std::uint16_t request_count = 0;      // of the request itself
};

struct PlanCheck {
  std::string code;
  std::string subject;
  std::string verdict;
  std::string assurance;
  std::optional<double> margin;
  std::optional<double> value;
  std::optional<double> limit;
  std::string unit;
  std::string time;
  std::vector<std::uint64_t> cause;
  std::string detail;
  bool waived = false;
  std::optional<double> guaranteed_margin = std::nullopt;
};

struct PlanDocument {
  std::string load;
  std::string station;
  std::string title;
  std::string begin;
  std::string end;
  std::string verdict;
  std::string previous;                   // digest of the plan before; empty: none
  std::string previous_state;             // of the state from reports that stands for its end; empty: none
  std::uint64_t table_entries = 0;        // at the end
  std::uint32_t next_sequence_count = 0;  // at the end
  std::vector<std::string> notes;
  std::vector<std::string> cautions;
  std::vector<PlanCommand> commands;
  std::vector<PlanWindow> windows;
  std::vector<PlanWithdrawal> withdrawn;
  std::vector<PlanCheck> checks;
};

// The error is one sentence that names the member: "commands[3].time: expected text, found a number".
std::expected<PlanDocument, std::string> read_plan(std::string_view json);

// The commands of a plan as they lie in the station's table, in the plan's order.
struct PlanEntries {
  Instant begin;  // of the load's span
  Instant end;
  std::vector<CarriedEntry> commands;
  std::vector<bool> has_window;       // by command: false where no window carries it
  std::vector<bool> is_immediate;     // by command: never in the table
  std::vector<Instant> aboard;        // by command that has a window: when its last bit reaches the station
  std::vector<CarriedEntry> carried;  // what earlier loads left
};
std::expected<PlanEntries, std::string> read_entries(std::string_view json, const Station& station,
                                                     const LeapSecondTable& leap_seconds);

// Where the next load of this station begins: by its plan, or by a state from reports on it (end_state.h).
struct PlanEndState {
  StartState start;
  // All that this plan loads or found in the table, whether or not it has run by `time`: the next load may go
  // up before this one is over.
  std::vector<CarriedEntry> carried;
  std::uint16_t sequence_count = 0;
  std::uint8_t frame_count = 0;
  Instant time;
  // The end of its last batch: the next load goes up after it, so that no window is given away twice and
  // sequence counts rise in the order of transmission.
  std::optional<Instant> uplink_end;
  // What the station file has and the plan does not name, one sentence each: worth a warning.
  std::vector<std::string> gaps;
  std::string plan_sha256;  // only of a state from reports: the plan that was reported on
};
std::expected<PlanEndState, std::string> read_end_state(std::string_view json, const Station& station,
                                                        const LeapSecondTable& leap_seconds);

// A load as its plan tells of it, for a prediction of the same without some of its commands.
struct EarlierLoad {
  StartState start;  // in which it began
  Instant begin;
  Instant end;
  std::vector<CarriedEntry> commands;  // in the plan's order, sent now or stored
  std::vector<bool> is_immediate;      // by command
  std::vector<CarriedEntry> carried;   // what it found in the table, and left there
  std::vector<std::pair<std::string, Instant>> marks;
  std::optional<Instant> last_uplink;
  // Checks that did not hold: code, subject, verdict.
  std::vector<std::array<std::string, 3>> failing;
};
std::expected<EarlierLoad, std::string> read_earlier_load(std::string_view json, const Station& station,
                                                          const LeapSecondTable& leap_seconds);

}  // namespace cairn
