// Forms in which signatures travel: base64 (RFC 4648), DSSE's pre-authentication encoding, OpenSSH's
// signature block.

#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace cairn {

std::string to_base64(std::string_view bytes);
// Strict: standard alphabet, padded, unused bits zero, no white space; so that one value has one text.
std::optional<std::string> from_base64(std::string_view text);

// DSSE version 1: what is signed in the place of the payload, so that its type is signed too.
std::string pre_authentication_encoding(std::string_view type, std::string_view payload);

// An OpenSSH signature (PROTOCOL.sshsig, version 1) without and with its armour.
std::string armoured_signature(std::string_view blob);
std::optional<std::string> signature_blob(std::string_view armoured);

struct SshSignature {
  std::string public_key;  // as in a public key file, decoded
  std::string name_space;
  std::string hash;  // "sha512"
};
std::optional<SshSignature> read_ssh_signature(std::string_view blob);

}  // namespace cairn
