// Reports, row by row.

#include "compiler/review/reconcile/reports.h"

#include <fmt/format.h>

#include "compiler/review/reconcile/rows.h"

namespace cairn {

namespace {

std::expected<VerificationReport, std::string> report_of(const Row& row) {
  VerificationReport report;
  const auto count = sequence_count_of(row);
  if (!count) return std::unexpected(count.error());
  report.sequence_count = *count;
  const std::string stage = row.find("stage");
  constexpr const char* stages[] = {"acceptance", "start", "progress", "completion"};
  bool known = false;
  for (std::size_t i = 0; i < std::size(stages); ++i) {
    if (stage != stages[i]) continue;
    report.stage = static_cast<ReportStage>(i);
    known = true;
  }
  if (!known) {
    return std::unexpected(
        fmt::format("`stage` is `{}`, expected acceptance, start, progress or completion", stage));
  }
  const std::string outcome = row.find("outcome");
  if (outcome != "success" && outcome != "failure") {
    return std::unexpected(fmt::format("`outcome` is `{}`, expected success or failure", outcome));
  }
  report.is_success = outcome == "success";
  report.time = row.find("time");
  report.detail = row.find("detail");
  return report;
}

}  // namespace

std::expected<std::vector<VerificationReport>, std::string> read_reports(std::string_view text) {
  std::vector<VerificationReport> reports;
  const auto read = read_rows(text, {"sequence_count", "stage", "outcome", "time", "detail"}, "report",
                              [&](const Row& row) -> std::expected<void, std::string> {
                                auto report = report_of(row);
                                if (!report) return std::unexpected(std::move(report.error()));
                                reports.push_back(std::move(*report));
                                return {};
                              });
  if (!read) return std::unexpected(read.error());
  return reports;
}

}  // namespace cairn
