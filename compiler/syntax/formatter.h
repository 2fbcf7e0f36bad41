// One layout for all loads: `cairn format`, and the editor's.
//
// The words and their order stay; only what stands between them changes. Blocks are indented by two, one
// statement stands on a line, blank lines between statements are kept one by one, and comments stay where
// they were: at the end of a line, or on a line of their own. What comes out is laid out already: formatting
// it again changes nothing.

#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "compiler/syntax/parse.h"

namespace cairn {

struct FormatOptions {
  std::size_t width = 100;  // columns; longer statements are broken where they can be
};

// The laid out text; nullopt when the file has mistakes of syntax (reported), because then it is not known
// what belongs together.
std::optional<std::string> format(const SourceFiles& files, FileId file, const ParseLimits& limits,
                                  const FormatOptions& options, Diagnostics& diagnostics);

// A part of a statement in the same layout, comments left out: "at sunset - 3 h".
std::string in_one_line(std::string_view part);

// Do both have the same words and comments in the same order? What stands between them may differ.
bool same_words(std::string_view before, std::string_view after);

}  // namespace cairn
