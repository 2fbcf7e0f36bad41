// Reports, line by line.

#include "compiler/review/reconcile/reports.h"

#include <fmt/format.h>

#include <charconv>
#include <map>
#include <nlohmann/json.hpp>

namespace cairn {

namespace {

using Row = std::map<std::string, std::string, std::less<>>;

constexpr std::size_t longest = std::size_t{64} << 20U;

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && (text.front() == ' ' || text.front() == '\t')) text.remove_prefix(1);
  while (!text.empty() && (text.back() == ' ' || text.back() == '\t' || text.back() == '\r'))
    text.remove_suffix(1);
  return text;
}

std::vector<std::string> cells_of(std::string_view line) {
  std::vector<std::string> cells;
  for (std::size_t from = 0;;) {
    const std::size_t comma = std::min(line.find(',', from), line.size());
    cells.emplace_back(trimmed(line.substr(from, comma - from)));
    if (comma == line.size()) return cells;
    from = comma + 1;
  }
}

std::expected<Row, std::string> row_of_json(std::string_view line) {
  const nlohmann::json value = nlohmann::json::parse(line, nullptr, false);
  if (value.is_discarded() || !value.is_object()) return std::unexpected(std::string("it is no JSON object"));
  Row row;
  for (const auto& [key, member] : value.items()) {
    if (member.is_string()) {
      row[key] = member.get<std::string>();
    } else if (member.is_number_unsigned()) {
      row[key] = std::to_string(member.get<std::uint64_t>());
    } else if (!member.is_null()) {
      return std::unexpected(fmt::format("`{}` is neither text nor a whole number", key));
    }
  }
  return row;
}

std::expected<VerificationReport, std::string> report_of(const Row& row) {
  VerificationReport report;
  for (const auto& [key, value] : row) {
    if (key != "sequence_count" && key != "stage" && key != "outcome" && key != "time" && key != "detail") {
      return std::unexpected(fmt::format(
          "`{}` is no column of a report: there are sequence_count, stage, outcome, time and detail", key));
    }
  }
  const auto find = [&](std::string_view key) {
    return row.contains(key) ? row.find(key)->second : std::string();
  };
  const std::string count = find("sequence_count");
  unsigned number = 0;
  const auto [end, error] = std::from_chars(count.data(), count.data() + count.size(), number);
  if (error != std::errc{} || end != count.data() + count.size() || number > 0x3FFF) {
    return std::unexpected(
        fmt::format("`sequence_count` is `{}`, expected a whole number from 0 to 16383", count));
  }
  report.sequence_count = static_cast<std::uint16_t>(number);
  const std::string stage = find("stage");
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
  const std::string outcome = find("outcome");
  if (outcome != "success" && outcome != "failure") {
    return std::unexpected(fmt::format("`outcome` is `{}`, expected success or failure", outcome));
  }
  report.is_success = outcome == "success";
  report.time = find("time");
  report.detail = find("detail");
  return report;
}

}  // namespace

std::expected<std::vector<VerificationReport>, std::string> read_reports(std::string_view text) {
  if (text.size() > longest) return std::unexpected(std::string("the reports are larger than 64 MiB"));
  std::vector<VerificationReport> reports;
  std::vector<std::string> columns;
  bool is_json = false;
  std::size_t number = 0;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = std::min(text.find('\n', at), text.size());
    const std::string_view line = trimmed(text.substr(at, end - at));
    at = end + 1;
    ++number;
    if (line.empty()) continue;
    if (columns.empty() && reports.empty() && !is_json) is_json = line.front() == '{';
    std::expected<Row, std::string> row = Row{};
    if (is_json) {
      row = row_of_json(line);
    } else if (columns.empty()) {
      columns = cells_of(line);
      continue;
    } else {
      const std::vector<std::string> cells = cells_of(line);
      if (cells.size() != columns.size()) {
        row = std::unexpected(
            fmt::format("it has {} values, the first line names {}", cells.size(), columns.size()));
      } else {
        for (std::size_t i = 0; i < cells.size(); ++i) (*row)[columns[i]] = cells[i];
      }
    }
    if (!row) return std::unexpected(fmt::format("line {}: {}", number, row.error()));
    auto report = report_of(*row);
    if (!report) return std::unexpected(fmt::format("line {}: {}", number, report.error()));
    reports.push_back(std::move(*report));
  }
  return reports;
}

}  // namespace cairn
