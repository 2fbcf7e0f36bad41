// Edit distance with transpositions, and the nearest word by it.

#include "compiler/text/spelling.h"

#include <algorithm>
#include <vector>

namespace cairn {

namespace {

std::size_t distance(std::string_view a, std::string_view b) {
  std::vector<std::size_t> before_last(b.size() + 1);
  std::vector<std::size_t> last(b.size() + 1);
  std::vector<std::size_t> row(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) last[j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t change = a[i - 1] == b[j - 1] ? 0 : 1;
      row[j] = std::min({last[j] + 1, row[j - 1] + 1, last[j - 1] + change});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) {
        row[j] = std::min(row[j], before_last[j - 2] + 1);
      }
    }
    std::swap(before_last, last);
    std::swap(last, row);
  }
  return last[b.size()];
}

}  // namespace

std::optional<std::string> nearest_word(std::string_view word, std::span<const std::string> candidates) {
  constexpr std::size_t longest_word = 200;  // nobody slips on a longer one, and the cost stays small
  if (word.empty() || word.size() > longest_word) return std::nullopt;
  std::optional<std::string> best;
  std::size_t best_distance = 0;
  for (const std::string& candidate : candidates) {
    if (candidate.size() > longest_word) continue;
    const std::size_t allowed = std::max<std::size_t>(1, std::max(word.size(), candidate.size()) / 3);
    const std::size_t found = distance(word, candidate);
    if (found == 0 || found > allowed || found >= std::max(word.size(), candidate.size())) continue;
    if (!best || found < best_distance) {
      best = candidate;
      best_distance = found;
    }
  }
  return best;
}

}  // namespace cairn
