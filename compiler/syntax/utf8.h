// Is it text at all? The first byte that is not: bad UTF-8 or NUL.
//
// Runs once over the whole file before anything else looks at it, eight bytes at a step while they are plain.

#pragma once

#include <cstddef>
#include <optional>
#include <string_view>

namespace cairn {

// The offset of the first NUL or of the first byte of a malformed sequence (overlong forms, surrogates and
// values above U+10FFFF included).
std::optional<std::size_t> first_bad_byte(std::string_view text);

}  // namespace cairn
