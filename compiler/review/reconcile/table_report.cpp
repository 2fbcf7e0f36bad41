// A missing entry makes a command be sent once more: nothing that cannot be read is left out.

#include "compiler/review/reconcile/table_report.h"

#include <fmt/format.h>

#include <set>

#include "compiler/review/reconcile/rows.h"

namespace cairn {

std::expected<std::vector<TableEntry>, std::string> read_table_report(std::string_view text,
                                                                      const LeapSecondTable& leap_seconds) {
  // An empty table still has its first line; an empty file is more likely one that was never written.
  if (text.find_first_not_of(" \t\r\n") == std::string_view::npos)
    return std::unexpected(std::string("it is empty: a table without entries has the line with its columns"));
  std::vector<TableEntry> entries;
  std::set<std::uint16_t> counts;
  const auto take = [&](const Row& row) -> std::expected<void, std::string> {
    const auto count = sequence_count_of(row);
    if (!count) return std::unexpected(count.error());
    if (!counts.insert(*count).second)
      return std::unexpected(fmt::format("entry {} is listed twice", *count));
    TableEntry entry{*count, std::nullopt};
    if (const std::string time = row.find("time"); !time.empty()) {
      const auto instant = parse_utc(time, leap_seconds);
      if (!instant)
        return std::unexpected(fmt::format("`time` is `{}`, expected one like 2031-05-14T06:00:00Z", time));
      entry.time = *instant;
    }
    entries.push_back(entry);
    return {};
  };
  const auto read = read_rows(text, {"sequence_count", "time", "detail"}, "table entry", take);
  if (!read) return std::unexpected(read.error());
  return entries;
}

}  // namespace cairn
