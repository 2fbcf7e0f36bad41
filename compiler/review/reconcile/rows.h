// Rows of a table with commas, or of JSON lines, as stations' ground segments give them out.

#pragma once

#include <cstdint>
#include <expected>
#include <functional>
#include <map>
#include <string>
#include <string_view>
#include <vector>

namespace cairn {

struct Row {
  std::map<std::string, std::string, std::less<>> cells;
  // "" where there is none.
  [[nodiscard]] std::string find(std::string_view column) const;
};

// Gives row after row to `take`, each with columns of this list only; `what` is what a row is called. The
// error is one sentence that names the line; the first one ends it.
using TakeRow = std::function<std::expected<void, std::string>(const Row&)>;
std::expected<void, std::string> read_rows(std::string_view text,
                                           const std::vector<std::string_view>& columns,
                                           std::string_view what, const TakeRow& take);

// The column `sequence_count`.
std::expected<std::uint16_t, std::string> sequence_count_of(const Row& row);

}  // namespace cairn
