// Lines are found once; columns are counted along one line when asked for.

#include "compiler/editor/text_lines.h"

#include <algorithm>

#include "compiler/text/characters.h"

namespace cairn {

namespace {

std::uint32_t units_of(const Character& character) { return character.code > 0xFFFF ? 2 : 1; }

void find_lines(std::string_view text, std::size_t from, std::size_t to, std::vector<std::uint32_t>& begins) {
  for (std::size_t at = from; at < to; ++at) {
    const bool ends =
        text[at] == '\n' || (text[at] == '\r' && (at + 1 >= text.size() || text[at + 1] != '\n'));
    if (ends) begins.push_back(static_cast<std::uint32_t>(at) + 1);
  }
}

}  // namespace

TextLines::TextLines(std::string_view text) { find_lines(text, 0, text.size(), begins_); }

void TextLines::replace(std::uint32_t begin, std::uint32_t length, std::uint32_t inserted,
                        std::string_view text) {
  // A line end that stands just before may have become, or ceased to be, half of \r\n.
  const std::uint32_t from = begin > 0 ? begin - 1 : 0;
  const auto first = std::upper_bound(begins_.begin(), begins_.end(), from);
  const auto last = std::upper_bound(begins_.begin(), begins_.end(), begin + length);
  std::vector<std::uint32_t> after(last, begins_.end());
  begins_.erase(first, begins_.end());
  find_lines(text, from, begin + inserted, begins_);
  for (const std::uint32_t line : after) begins_.push_back(line - length + inserted);
}

std::uint32_t TextLines::offset(std::string_view text, TextPosition position) const {
  if (position.line >= begins_.size()) return static_cast<std::uint32_t>(text.size());
  std::size_t at = begins_[position.line];
  std::uint32_t units = 0;
  while (at < text.size() && text[at] != '\n' && text[at] != '\r') {
    const Character character = character_at(text, at);
    units += units_of(character);
    if (units > position.character) break;
    at += character.length;
  }
  return static_cast<std::uint32_t>(at);
}

TextPosition TextLines::position(std::string_view text, std::uint32_t offset) const {
  const auto line = std::upper_bound(begins_.begin(), begins_.end(), offset) - 1;
  TextPosition result{static_cast<std::uint32_t>(line - begins_.begin()), 0};
  const std::size_t end = std::min<std::size_t>(offset, text.size());
  for (std::size_t at = *line; at < end;) {
    const Character character = character_at(text, at);
    if (at + character.length > end) break;
    if (text[at] != '\n' && text[at] != '\r') result.character += units_of(character);
    at += character.length;
  }
  return result;
}

std::uint32_t utf16_length(std::string_view text) {
  std::uint32_t units = 0;
  for (std::size_t at = 0; at < text.size();) {
    const Character character = character_at(text, at);
    units += units_of(character);
    at += character.length;
  }
  return units;
}

}  // namespace cairn
