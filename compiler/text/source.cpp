// Source files and the way from byte offsets to lines and columns.

#include "compiler/text/source.h"

#include <algorithm>

namespace cairn {

Span cover(Span a, Span b) {
  if (!a.is_valid()) return b;
  if (!b.is_valid()) return a;
  return {a.file, std::min(a.begin, b.begin), std::max(a.end, b.end)};
}

FileId SourceFiles::add(std::string name, std::string text) {
  File& file = files_.emplace_back();
  file.name = std::move(name);
  file.text = std::move(text);
  file.line_begins.push_back(0);
  for (std::size_t i = 0; i < file.text.size(); ++i) {
    if (file.text[i] == '\n') file.line_begins.push_back(static_cast<std::uint32_t>(i + 1));
  }
  return FileId{static_cast<std::uint32_t>(files_.size() - 1)};
}

std::string_view SourceFiles::text(Span span) const {
  const std::string_view whole = text(span.file);
  const std::size_t begin = std::min<std::size_t>(span.begin, whole.size());
  const std::size_t end = std::clamp<std::size_t>(span.end, begin, whole.size());
  return whole.substr(begin, end - begin);
}

Position SourceFiles::position(FileId id, std::uint32_t offset) const {
  const File& file = files_[id.value];
  offset = std::min(offset, static_cast<std::uint32_t>(file.text.size()));
  const auto after = std::upper_bound(file.line_begins.begin(), file.line_begins.end(), offset);
  const auto line = static_cast<std::uint32_t>(after - file.line_begins.begin());
  std::uint32_t column = 1;
  for (std::uint32_t i = file.line_begins[line - 1]; i < offset; ++i) {
    // A UTF-8 continuation byte does not begin a character.
    if ((static_cast<unsigned char>(file.text[i]) & 0xC0U) != 0x80U) ++column;
  }
  return {line, column};
}

std::uint32_t SourceFiles::line_begin(FileId file, std::uint32_t line) const {
  return files_[file.value].line_begins[line - 1];
}

std::uint32_t SourceFiles::line_count(FileId file) const {
  return static_cast<std::uint32_t>(files_[file.value].line_begins.size());
}

std::string_view SourceFiles::line_text(FileId id, std::uint32_t line) const {
  const File& file = files_[id.value];
  const std::uint32_t begin = file.line_begins[line - 1];
  std::size_t end = line < file.line_begins.size() ? file.line_begins[line] - 1 : file.text.size();
  if (end > begin && file.text[end - 1] == '\r') --end;
  return std::string_view(file.text).substr(begin, end - begin);
}

}  // namespace cairn
