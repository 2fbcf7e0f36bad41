// A plan as reviewers compare it: what a difference can lie in, and nothing that only follows from it.

#pragma once

#include <cstddef>
#include <cstdint>
#include <expected>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "constraints/quantity/instant.h"

namespace cairn {

struct Place {
  std::string file;  // empty: none
  std::size_t line = 0;
  friend auto operator<=>(const Place&, const Place&) = default;
};

struct ReviewedCommand {
  std::size_t number = 0;
  std::string time;
  Instant instant;
  std::string command;  // "probe.sample"
  std::size_t command_number = 0;
  std::string command_class;
  std::string arguments;  // "depth=0.8 m gain=3"
  std::string raw;        // as sent: "12 3"
  std::string block;
  Place source;
  std::vector<Place> calls;
  std::vector<std::string> notes;
  std::string by;
  bool immediate = false;
  std::string window;  // its opening and antenna; empty: none
  std::size_t sequence_count = 0;
  std::size_t entry_bytes = 0;
};

struct ReviewedWindow {
  std::string name;
  std::string antenna;
  std::string opens;
  std::string closes;
  std::string file;  // of its batch; empty: none
  std::string begin;
  std::string sha256;
  std::size_t bytes = 0;
  std::vector<std::size_t> commands;  // numbers
};

struct ReviewedCheck {
  std::string code;
  std::string subject;
  std::string detail;
  std::string verdict;
  std::string assurance;
  std::optional<double> margin;
  std::optional<double> value;
  std::optional<double> limit;
  std::string unit;
  std::string time;
  Place limit_source;
};

struct ReviewedWaiver {
  std::string of;    // "power/reserve of bus", "camera-rests"
  std::string says;  // "to 5 W from ... to ... because ...": all of it but where it stands
  Place source;
};

struct ReviewedInput {
  std::string name;
  std::string sha256;
};

struct TablePeak {
  double entries = 0;
  double bytes = 0;
  double entries_offset = 0;  // when it is first reached
};

struct ReviewedPlan {
  std::string digest;  // SHA-256 of the file
  std::string tool;
  std::string load;
  std::string station;
  std::string begin;
  std::string end;
  std::string previous_plan;  // empty: none
  std::string verdict;
  std::vector<ReviewedCommand> commands;
  std::vector<ReviewedWindow> windows;
  std::vector<ReviewedCheck> checks;
  std::vector<ReviewedInput> inputs;
  std::vector<ReviewedWaiver> waivers;
  std::map<std::string, std::string> marks;      // name to time
  std::map<std::string, std::string> end_state;  // "part camera" to "parked", "sequence count" to "1482"
  std::map<std::string, double> end_temperatures;
  std::string backout_sha256;
  std::map<std::string, std::string> withdrawn;  // "withdrawn camera.park at ...": "yes"
  TablePeak peak;
  double entries_cap = 0;
  double bytes_cap = 0;
  std::optional<double> floor;          // of the power reserve, W
  std::optional<double> least_reserve;  // W
};

// The error is one sentence that names the member.
std::expected<ReviewedPlan, std::string> read_reviewed_plan(std::string_view json);

}  // namespace cairn
