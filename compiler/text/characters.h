// Characters of UTF-8 text: where one ends, whether it is one, and how a terminal shows it.
//
// Text that comes in may be anything. What goes to a terminal must not be able to move its cursor or turn its
// lines round, and what goes into JSON must be well-formed UTF-8.

#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace cairn {

struct Character {
  char32_t code = 0;
  std::size_t length = 1;  // bytes; 1 when it is not well-formed
  bool well_formed = false;
};

// The character that begins at `at`, which lies inside the text. Overlong forms, surrogates and values above
// U+10FFFF are not well-formed.
Character character_at(std::string_view text, std::size_t at);

// Columns it takes on a terminal: 0 for marks that combine, 2 for wide ones (East Asian text, most
// pictographs).
int columns_of(char32_t code);

// As it may stand on a terminal: blanks for tab and line end, dots for other controls, for what reorders or
// hides text, and for what is not well-formed.
std::string shown(std::string_view text, const Character& character, std::size_t at);
std::string shown(std::string_view text);

// The text with U+FFFD for each byte that is not well-formed.
std::string well_formed(std::string_view text);

}  // namespace cairn
