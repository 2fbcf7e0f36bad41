// Which command of the new plan is which of the old one.
//
// Intent comes before time: commands are the same when the same statement of the same block asks for them,
// wherever they now run. Within one intent as many are paired as can be, so that the total change is least:
// first the fewest things changed (a new time, new arguments), then the fewest pairs that stand in different
// statements, then the least shift in time. What is left over is paired across intents only when nothing but
// the block's name differs.
//
// Equal commands that change places are no change: they are paired with what equals them.

#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "compiler/review/assignment.h"

namespace cairn {

struct MatchItem {
  std::uint32_t intent = 0;     // block, routine calls, file, command: equal numbers, equal intent
  std::uint32_t command = 0;    // unit and command
  std::uint32_t arguments = 0;  // equal numbers, equal values
  std::uint32_t statement = 0;  // its statement's place among those of the intent
  std::int64_t time = 0;        // ns
};

struct MatchPair {
  std::size_t before = 0;
  std::size_t after = 0;
  friend auto operator<=>(const MatchPair&, const MatchPair&) = default;
};

// What it takes to make the one of the other; both of one intent.
ChangeCost change_between(const MatchItem& before, const MatchItem& after);

// Above so many unpaired commands of one intent on a side the pairing goes by order in time instead of least
// total change, so that the cost stays far below a second.
inline constexpr std::size_t exact_match_limit = 256;

// Rising by `before`. Items that are in no pair were removed or added.
std::vector<MatchPair> match_commands(const std::vector<MatchItem>& before,
                                      const std::vector<MatchItem>& after);

}  // namespace cairn
