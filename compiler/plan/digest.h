// SHA-256 (FIPS 180-4), by OpenSSL.

#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>

namespace cairn {

// 64 lower-case hexadecimal digits.
std::string sha256(std::span<const std::uint8_t> bytes);
std::string sha256(std::string_view text);

std::string to_hex(std::span<const std::uint8_t> bytes);

}  // namespace cairn
