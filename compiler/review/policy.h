// The review policy: which roles must sign which plans, who may act in which, and who must not act in two.
//
//   cairn-policy: 1
//   signers: allowed_signers          # OpenSSH's file of keys, beside the policy
//   roles:
//     author: {people: [ann@tarn-ridge.example], needed: always}
//     reviewer: {people: [bob@tarn-ridge.example], needed: always}
//     safety:
//       people: [cleo@tarn-ridge.example]
//       needed: {classes: [hazardous, irreversible], verdicts: [unproven, fails], waivers: true}
//   apart: [[author, reviewer], [author, safety]]

#pragma once

#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "compiler/text/diagnostic.h"

namespace cairn {

struct PolicyRole {
  std::string name;
  std::set<std::string> people;
  bool always = false;
  std::set<std::string> classes;   // of commands that ask for this role
  std::set<std::string> verdicts;  // of checks that do
  bool waivers = false;            // a waiver does
  std::size_t count = 1;           // how many people must sign in it
};

struct Policy {
  std::string signers = "allowed_signers";
  std::vector<PolicyRole> roles;
  std::vector<std::pair<std::string, std::string>> apart;  // nobody signs one plan in both

  [[nodiscard]] const PolicyRole* role(const std::string& name) const;
};

// nullopt when it is no policy; all that is wrong is in `diagnostics`.
std::optional<Policy> read_policy(const SourceFiles& files, FileId file, Diagnostics& diagnostics);

}  // namespace cairn
