// Is this folder the plan that these people approved? Files first, then signatures, then what the policy asks
// for.

#pragma once

#include <cstdint>
#include <expected>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "compiler/review/attestation.h"
#include "compiler/review/gate_finding.h"
#include "compiler/review/policy.h"
#include "constraints/quantity/instant.h"

namespace cairn {

// All files of a plan's folder, by path inside it. What could not be read as a plain file is in `refused`.
struct PlanFolder {
  std::map<std::string, std::string> files;
  std::map<std::string, std::string> refused;  // path to why: "it is a symbolic link"
};

// Judges one signature; ssh-keygen behind it, an imitation in tests.
class SignatureJudge {
 public:
  enum class Refusal : std::uint8_t { NotTheirs, Expired, Wrong, CannotRun };
  struct Problem {
    Refusal refusal = Refusal::Wrong;
    std::string sentence;
  };
  SignatureJudge() = default;
  SignatureJudge(const SignatureJudge&) = delete;
  SignatureJudge& operator=(const SignatureJudge&) = delete;
  virtual ~SignatureJudge() = default;
  // Is `armoured` a signature of `octets` by `person`, with a key that `signers` gives them and that holds at
  // `time`?
  [[nodiscard]] virtual std::expected<void, Problem> judge(const std::string& signers,
                                                           const std::string& person,
                                                           const std::string& octets,
                                                           const std::string& armoured,
                                                           Instant time) const = 0;
};

struct PolicyFile {
  Policy policy;
  std::string sha256;   // of the policy's text
  std::string signers;  // text of the file of keys
};

// What a plan's folder must hold byte for byte, besides signatures: files that are views of plan.json.
using Views = std::map<std::string, std::string>;

// plan.json is one, and all other files are those that it names or that follow from it.
GateFindings verify_files(const PlanFolder& folder, const Views& views);

// Signatures against the plan's files, the keys and the policy, as of `now`.
GateFindings verify_signatures(const PlanFolder& folder, const PolicyFile& policy,
                               const SignatureJudge& judge, Instant now);

// The digests that a statement about this folder must name: all files but signatures.
std::map<std::string, std::string> subjects_of(const PlanFolder& folder);

// The roles that this plan needs, with the reason in words.
std::map<std::string, std::string> needed_roles(const Policy& policy, const std::string& plan_json);

}  // namespace cairn
