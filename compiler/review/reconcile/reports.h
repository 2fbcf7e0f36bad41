// What a station says of the requests it got: verification reports, as rows that a telemetry system has
// decoded.
//
// Two forms, told apart by their first letter: a table with commas whose first line names the columns, or
// JSON lines (an object to a line). Columns and members: `sequence_count` of the request, `stage`
// (acceptance, start, progress, completion), `outcome` (success, failure); optional `time` and `detail`. The
// stages are those of request verification in ECSS-E-ST-70-41C (service 1).

#pragma once

#include <cstdint>
#include <expected>
#include <string>
#include <string_view>
#include <vector>

namespace cairn {

enum class ReportStage : std::uint8_t { Acceptance, Start, Progress, Completion };

struct VerificationReport {
  std::uint16_t sequence_count = 0;
  ReportStage stage = ReportStage::Acceptance;
  bool is_success = false;
  std::string time;    // as written; empty: not told
  std::string detail;  // the same
};

// The error is one sentence that names the line.
std::expected<std::vector<VerificationReport>, std::string> read_reports(std::string_view text);

}  // namespace cairn
