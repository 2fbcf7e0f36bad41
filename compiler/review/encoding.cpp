// Written out here since each is some lines long and must be strict to the bit: a changed byte must not pass.

#include "compiler/review/encoding.h"

#include <cstdint>

namespace cairn {

namespace {

constexpr std::string_view alphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
constexpr std::string_view armour_begin = "-----BEGIN SSH SIGNATURE-----\n";
constexpr std::string_view armour_end = "-----END SSH SIGNATURE-----";

constexpr std::uint32_t octet(char c) { return static_cast<unsigned char>(c); }

// Fields of an SSH message (RFC 4251 section 5): a length of four octets, then that many.
class SshFields {
 public:
  explicit SshFields(std::string_view bytes) : bytes_(bytes) {}
  std::optional<std::uint32_t> number() {
    if (bytes_.size() < 4) return std::nullopt;
    const std::uint32_t value =
        octet(bytes_[0]) << 24U | octet(bytes_[1]) << 16U | octet(bytes_[2]) << 8U | octet(bytes_[3]);
    bytes_.remove_prefix(4);
    return value;
  }
  std::optional<std::string> text() {
    const auto length = number();
    if (!length || *length > bytes_.size()) return std::nullopt;
    std::string value(bytes_.substr(0, *length));
    bytes_.remove_prefix(*length);
    return value;
  }
  [[nodiscard]] bool at_end() const { return bytes_.empty(); }

 private:
  std::string_view bytes_;
};

}  // namespace

std::string to_base64(std::string_view bytes) {
  std::string out;
  for (std::size_t i = 0; i < bytes.size(); i += 3) {
    const std::size_t left = bytes.size() - i;
    const std::uint32_t group = octet(bytes[i]) << 16U | (left > 1 ? octet(bytes[i + 1]) << 8U : 0U) |
                                (left > 2 ? octet(bytes[i + 2]) : 0U);
    out += alphabet[group >> 18U];
    out += alphabet[(group >> 12U) & 63U];
    out += left > 1 ? alphabet[(group >> 6U) & 63U] : '=';
    out += left > 2 ? alphabet[group & 63U] : '=';
  }
  return out;
}

std::optional<std::string> from_base64(std::string_view text) {
  if (text.size() % 4 != 0) return std::nullopt;
  std::string out;
  for (std::size_t i = 0; i < text.size(); i += 4) {
    std::uint32_t group = 0;
    std::size_t letters = 0;
    for (std::size_t j = 0; j < 4; ++j) {
      const std::size_t value = alphabet.find(text[i + j]);
      if (value == std::string_view::npos) break;
      group |= static_cast<std::uint32_t>(value) << (18U - 6U * static_cast<unsigned>(j));
      ++letters;
    }
    if (letters < 2) return std::nullopt;
    for (std::size_t j = letters; j < 4; ++j) {
      if (text[i + j] != '=' || i + 4 != text.size()) return std::nullopt;
    }
    if (letters < 4 && (group & (letters == 2 ? 0xFFFFU : 0xFFU)) != 0) return std::nullopt;
    for (std::size_t j = 0; j + 1 < letters; ++j) {
      out += static_cast<char>(static_cast<unsigned char>(group >> (16U - 8U * static_cast<unsigned>(j))));
    }
  }
  return out;
}

std::string pre_authentication_encoding(std::string_view type, std::string_view payload) {
  std::string out = "DSSEv1 " + std::to_string(type.size()) + " ";
  out += type;
  out += " " + std::to_string(payload.size()) + " ";
  out += payload;
  return out;
}

std::string armoured_signature(std::string_view blob) {
  const std::string text = to_base64(blob);
  std::string out(armour_begin);
  for (std::size_t i = 0; i < text.size(); i += 70) out += text.substr(i, 70) + "\n";
  return out + std::string(armour_end) + "\n";
}

std::optional<std::string> signature_blob(std::string_view armoured) {
  const std::size_t begin = armoured.find(armour_begin);
  const std::size_t end = armoured.find(armour_end);
  if (begin != 0 || end == std::string_view::npos || end < armour_begin.size()) return std::nullopt;
  std::string text;
  for (const char c : armoured.substr(armour_begin.size(), end - armour_begin.size())) {
    if (c != '\n' && c != '\r') text += c;
  }
  return from_base64(text);
}

std::optional<SshSignature> read_ssh_signature(std::string_view blob) {
  constexpr std::string_view magic = "SSHSIG";
  if (!blob.starts_with(magic)) return std::nullopt;
  SshFields fields(blob.substr(magic.size()));
  const auto version = fields.number();
  auto key = fields.text();
  auto name_space = fields.text();
  const auto reserved = fields.text();
  auto hash = fields.text();
  const auto signature = fields.text();
  if (!version || *version != 1 || !key || !name_space || !reserved || !reserved->empty() || !hash ||
      !signature || !fields.at_end()) {
    return std::nullopt;
  }
  return SshSignature{std::move(*key), std::move(*name_space), std::move(*hash)};
}

}  // namespace cairn
