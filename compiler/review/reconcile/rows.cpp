// Line by line; the first one tells which of both forms it is.

#include "compiler/review/reconcile/rows.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <nlohmann/json.hpp>

namespace cairn {

namespace {

using Cells = std::map<std::string, std::string, std::less<>>;

constexpr std::size_t longest_list = std::size_t{64} << 20U;

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

std::expected<Cells, std::string> row_of_json(std::string_view line) {
  const nlohmann::json value = nlohmann::json::parse(line, nullptr, false);
  if (value.is_discarded() || !value.is_object()) return std::unexpected(std::string("it is no JSON object"));
  Cells row;
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

// Of the columns there are: "sequence_count, stage and time".
std::string listed(const std::vector<std::string_view>& columns) {
  std::string text;
  for (std::size_t i = 0; i < columns.size(); ++i) {
    if (i > 0) text += i + 1 == columns.size() ? " and " : ", ";
    text += columns[i];
  }
  return text;
}

}  // namespace

std::string Row::find(std::string_view column) const {
  const auto found = cells.find(column);
  return found == cells.end() ? std::string() : found->second;
}

std::expected<void, std::string> read_rows(std::string_view text,
                                           const std::vector<std::string_view>& columns,
                                           std::string_view what, const TakeRow& take) {
  if (text.size() > longest_list) return std::unexpected(fmt::format("the {}s are larger than 64 MiB", what));
  bool has_rows = false;
  std::vector<std::string> head;
  bool is_json = false;
  std::size_t number = 0;
  const auto wrong = [&](const std::string& sentence) {
    return std::unexpected(fmt::format("line {}: {}", number, sentence));
  };
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = std::min(text.find('\n', at), text.size());
    const std::string_view line = trimmed(text.substr(at, end - at));
    at = end + 1;
    ++number;
    if (line.empty()) continue;
    if (head.empty() && !has_rows) is_json = line.front() == '{';
    Row row;
    if (is_json) {
      auto cells = row_of_json(line);
      if (!cells) return wrong(cells.error());
      row.cells = std::move(*cells);
    } else if (head.empty()) {
      head = cells_of(line);
      std::vector<std::string> sorted = head;
      std::sort(sorted.begin(), sorted.end());
      const auto twice = std::adjacent_find(sorted.begin(), sorted.end());
      if (twice != sorted.end()) return wrong(fmt::format("the column `{}` is named twice", *twice));
      continue;
    } else {
      const std::vector<std::string> cells = cells_of(line);
      if (cells.size() != head.size())
        return wrong(fmt::format("it has {} values, the first line names {}", cells.size(), head.size()));
      for (std::size_t i = 0; i < cells.size(); ++i) row.cells[head[i]] = cells[i];
    }
    for (const auto& [key, value] : row.cells) {
      if (std::find(columns.begin(), columns.end(), key) == columns.end())
        return wrong(fmt::format("`{}` is no column of a {}: there are {}", key, what, listed(columns)));
    }
    if (auto taken = take(row); !taken) return wrong(taken.error());
    has_rows = true;
  }
  return {};
}

std::expected<std::uint16_t, std::string> sequence_count_of(const Row& row) {
  const std::string count = row.find("sequence_count");
  unsigned number = 0;
  const auto [end, error] = std::from_chars(count.data(), count.data() + count.size(), number);
  if (error != std::errc{} || end != count.data() + count.size() || number > 0x3FFF) {
    return std::unexpected(
        fmt::format("`sequence_count` is `{}`, expected a whole number from 0 to 16383", count));
  }
  return static_cast<std::uint16_t>(number);
}

}  // namespace cairn
