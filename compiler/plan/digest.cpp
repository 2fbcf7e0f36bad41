// The one door to the cryptographic library.

#include "compiler/plan/digest.h"

#include <openssl/sha.h>

#include <array>

namespace cairn {

std::string to_hex(std::span<const std::uint8_t> bytes) {
  constexpr std::string_view digits = "0123456789abcdef";
  std::string out;
  out.reserve(bytes.size() * 2);
  for (const std::uint8_t byte : bytes) {
    out += digits[byte >> 4U];
    out += digits[byte & 0xFU];
  }
  return out;
}

std::string sha256(std::span<const std::uint8_t> bytes) {
  std::array<std::uint8_t, SHA256_DIGEST_LENGTH> digest{};
  SHA256(bytes.data(), bytes.size(), digest.data());
  return to_hex(digest);
}

std::string sha256(std::string_view text) {
  return sha256(std::span(reinterpret_cast<const std::uint8_t*>(text.data()), text.size()));
}

}  // namespace cairn
