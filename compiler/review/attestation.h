// One person's word on one plan: an in-toto statement (v1) in a DSSE envelope, signed with an OpenSSH key.
//
// The statement names the plan and every other file of its folder by digest, the role in which it is made, by
// whom and when, and the policy that it was made under; so that it can't be moved to another plan, role, or
// policy.

#pragma once

#include <expected>
#include <map>
#include <string>
#include <string_view>

namespace cairn {

inline constexpr std::string_view signature_namespace = "cairn-plan";
inline constexpr std::string_view payload_type = "application/vnd.in-toto+json";

struct Approval {
  std::string role;
  std::string person;
  std::string time;           // UTC, when it was signed
  std::string policy_sha256;  // of the policy file
  std::string load;
  std::string station;
  std::string verdict;
  std::map<std::string, std::string> subjects;  // file in the plan's folder to its SHA-256
};

// Canonical JSON: one statement, one text.
std::string statement_json(const Approval& statement);
std::expected<Approval, std::string> read_statement(std::string_view json);

struct Envelope {
  std::string payload;    // decoded
  std::string signature;  // an OpenSSH signature without its armour
  std::string person;     // keyid
};

std::string envelope_json(const Envelope& envelope);
// Refuses all but the canonical text of an envelope with one signature.
std::expected<Envelope, std::string> read_envelope(std::string_view json);

// What is given to ssh-keygen to sign or verify.
std::string signed_octets(const Envelope& envelope);

// "signatures/safety.cleo@tarn-ridge.example.json"
std::string signature_file(const std::string& role, const std::string& person);

}  // namespace cairn
