// Source files and places in them.
//
// A span is a file and two byte offsets, for Cairn source and for station YAML alike. Lines, columns and
// UTF-16 positions are computed only here, at the edge, by one function each.

#pragma once

#include <compare>
#include <cstdint>
#include <deque>
#include <string>
#include <string_view>
#include <vector>

#include "constraints/quantity/ids.h"

namespace cairn {

struct FileTag;
using FileId = Id<FileTag>;

struct Span {
  FileId file;
  std::uint32_t begin = 0;  // bytes; half-open [begin, end)
  std::uint32_t end = 0;

  [[nodiscard]] bool is_valid() const { return file.is_valid(); }
  friend constexpr auto operator<=>(const Span&, const Span&) = default;
};

// The smallest span that covers both; both lie in one file.
Span cover(Span a, Span b);

struct Position {
  std::uint32_t line = 1;    // from 1
  std::uint32_t column = 1;  // from 1, in Unicode characters
};

// The files of one run. Text never moves or changes once added, so string_views into it stay good.
class SourceFiles {
 public:
  // `name` is what messages show: the path as the user gave it, or relative to the project folder.
  FileId add(std::string name, std::string text);

  [[nodiscard]] const std::string& name(FileId file) const { return files_[file.value].name; }
  [[nodiscard]] std::string_view text(FileId file) const { return files_[file.value].text; }
  [[nodiscard]] std::string_view text(Span span) const;
  [[nodiscard]] std::size_t size() const { return files_.size(); }

  [[nodiscard]] Position position(FileId file, std::uint32_t offset) const;
  // The text of a line (from 1) without its end, and the offset at which it begins.
  [[nodiscard]] std::string_view line_text(FileId file, std::uint32_t line) const;
  [[nodiscard]] std::uint32_t line_begin(FileId file, std::uint32_t line) const;
  [[nodiscard]] std::uint32_t line_count(FileId file) const;

 private:
  struct File {
    std::string name;
    std::string text;
    std::vector<std::uint32_t> line_begins;
  };
  std::deque<File> files_;
};

}  // namespace cairn
