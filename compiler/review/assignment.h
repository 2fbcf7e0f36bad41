// The assignment problem: each row one column, the sum of costs least.
//
// Costs are tiers, compared one after the other: less of the first tier is worth any amount of the second.
// Sums and differences of such tuples keep that order, which is all that the method (Kuhn 1955, with
// potentials and shortest augmenting paths) asks of numbers.

#pragma once

#include <array>
#include <compare>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <vector>

namespace cairn {

struct ChangeCost {
  std::array<std::int64_t, 4> tiers{};

  friend auto operator<=>(const ChangeCost&, const ChangeCost&) = default;
  friend ChangeCost operator+(ChangeCost a, const ChangeCost& b) {
    for (std::size_t i = 0; i < a.tiers.size(); ++i) a.tiers[i] += b.tiers[i];
    return a;
  }
  friend ChangeCost operator-(ChangeCost a, const ChangeCost& b) {
    for (std::size_t i = 0; i < a.tiers.size(); ++i) a.tiers[i] -= b.tiers[i];
    return a;
  }
};

// For each of `rows` a column of its own; needs rows <= columns. Of equal answers always the same one.
std::vector<std::size_t> cheapest_assignment(std::size_t rows, std::size_t columns,
                                             const std::function<ChangeCost(std::size_t, std::size_t)>& cost);

}  // namespace cairn
