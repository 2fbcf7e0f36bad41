// Rows enter one by one; each takes the cheapest chain of changes among those already placed.

#include "compiler/review/assignment.h"

#include <limits>

namespace cairn {

std::vector<std::size_t> cheapest_assignment(
    std::size_t rows, std::size_t columns, const std::function<ChangeCost(std::size_t, std::size_t)>& cost) {
  constexpr std::int64_t far = std::numeric_limits<std::int64_t>::max() / 4;
  const ChangeCost infinite{{far, far, far, far}};
  // Row and column 0 stand for "none": that keeps the chains free of special cases.
  std::vector<ChangeCost> row_potential(rows + 1);
  std::vector<ChangeCost> column_potential(columns + 1);
  std::vector<std::size_t> row_of(columns + 1, 0);
  std::vector<std::size_t> way(columns + 1, 0);
  for (std::size_t row = 1; row <= rows; ++row) {
    row_of[0] = row;
    std::size_t column = 0;
    std::vector<ChangeCost> least(columns + 1, infinite);
    std::vector<bool> used(columns + 1, false);
    do {
      used[column] = true;
      const std::size_t from = row_of[column];
      ChangeCost delta = infinite;
      std::size_t next = 0;
      for (std::size_t j = 1; j <= columns; ++j) {
        if (used[j]) continue;
        const ChangeCost reduced = cost(from - 1, j - 1) - row_potential[from] - column_potential[j];
        if (reduced < least[j]) {
          least[j] = reduced;
          way[j] = column;
        }
        if (least[j] < delta) {
          delta = least[j];
          next = j;
        }
      }
      for (std::size_t j = 0; j <= columns; ++j) {
        if (used[j]) {
          row_potential[row_of[j]] = row_potential[row_of[j]] + delta;
          column_potential[j] = column_potential[j] - delta;
        } else {
          least[j] = least[j] - delta;
        }
      }
      column = next;
    } while (row_of[column] != 0);
    while (column != 0) {
      row_of[column] = row_of[way[column]];
      column = way[column];
    }
  }
  std::vector<std::size_t> result(rows, 0);
  for (std::size_t j = 1; j <= columns; ++j) {
    if (row_of[j] != 0) result[row_of[j] - 1] = j - 1;
  }
  return result;
}

}  // namespace cairn
