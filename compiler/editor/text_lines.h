// Lines of a text, and positions in UTF-16 units: what the protocol counts in.
//
// A line ends with \n, \r\n or \r. A position past the end of its line is its end, one past the last line the
// end of the text; one inside a character is its beginning.

#pragma once

#include <string_view>
#include <vector>

#include "compiler/editor/answers.h"

namespace cairn {

class TextLines {
 public:
  TextLines() = default;
  explicit TextLines(std::string_view text);

  [[nodiscard]] std::uint32_t offset(std::string_view text, TextPosition position) const;
  [[nodiscard]] TextPosition position(std::string_view text, std::uint32_t offset) const;
  [[nodiscard]] std::size_t count() const { return begins_.size(); }
  // The same after `length` bytes at `begin` were replaced and `text` came out of it.
  void replace(std::uint32_t begin, std::uint32_t length, std::uint32_t inserted, std::string_view text);

 private:
  std::vector<std::uint32_t> begins_{0};
};

// UTF-16 units of a text.
std::uint32_t utf16_length(std::string_view text);

}  // namespace cairn
