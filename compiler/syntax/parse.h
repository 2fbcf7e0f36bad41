// From the text of one file to its tree.
//
// Never fails: what cannot be understood is reported and left out, and parsing goes on with the next
// statement. Limits are named, each has its diagnostic.

#pragma once

#include <cstddef>

#include "compiler/syntax/tree.h"
#include "compiler/text/diagnostic.h"

namespace cairn {

struct ParseLimits {
  std::size_t file_bytes = std::size_t{256} << 20;
  int nesting = 64;          // blocks within blocks, and parentheses within parentheses
  std::size_t errors = 100;  // after so many the file's remainder is not reported on
};

Tree parse(const SourceFiles& files, FileId file, const ParseLimits& limits, Diagnostics& diagnostics);

}  // namespace cairn
