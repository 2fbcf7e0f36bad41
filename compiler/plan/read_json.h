// JSON text to a value: strict (RFC 8259), with limits, for files that may have been made to do harm.

#pragma once

#include <cstddef>
#include <expected>
#include <string>
#include <string_view>

#include "compiler/plan/canonical_json.h"

namespace cairn {

struct JsonLimits {
  std::size_t bytes = std::size_t{512} << 20;
  int depth = 64;
};

// Refused as well: a key that is given twice in one object, a number too great for a double, text that is no
// UTF-8. The error is one sentence that names the byte.
std::expected<Json, std::string> read_json(std::string_view text, const JsonLimits& limits = {});

}  // namespace cairn
