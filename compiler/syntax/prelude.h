// What is done with a text before it is read: refused when it is no text, counted when it is.

#pragma once

#include <cstddef>
#include <string_view>

#include "compiler/syntax/tree.h"
#include "compiler/text/diagnostic.h"

namespace cairn {

// `at` is the first byte that is no part of good UTF-8 text.
void report_encoding(std::string_view text, Span at, Diagnostics& diagnostics);

// Growing tables cost more than cutting the text into tokens does: so count first. The counts are right for
// good text and only a hint otherwise; bounded, because wrong text may be nothing but keywords.
void reserve_tables(std::string_view text, std::size_t offset, Tree& tree);

// How far in the line of a place begins.
std::size_t indentation_at(std::string_view text, std::uint32_t offset);

}  // namespace cairn
