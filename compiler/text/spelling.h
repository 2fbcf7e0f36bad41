// Near spellings: "did you mean ...?"

#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>

namespace cairn {

// The candidate closest to `word` by edit distance with transpositions (Damerau, optimal string alignment),
// when it is close enough to be a likely slip: at most a third of the longer word's letters, and at least
// one. Ties go to the first candidate. nullopt when nothing is near.
std::optional<std::string> nearest_word(std::string_view word, std::span<const std::string> candidates);

}  // namespace cairn
