// What the station says lies in its command table.

#pragma once

#include <cstdint>
#include <expected>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "constraints/quantity/leap_seconds.h"

namespace cairn {

struct TableEntry {
  std::uint16_t sequence_count = 0;  // of the command's own packet
  std::optional<Instant> time;       // when it will run; none: not told
};

// The same count twice is an error. The error is one sentence that names the line.
std::expected<std::vector<TableEntry>, std::string> read_table_report(std::string_view text,
                                                                      const LeapSecondTable& leap_seconds);

}  // namespace cairn
