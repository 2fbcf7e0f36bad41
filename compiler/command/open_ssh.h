// OpenSSH's ssh-keygen: the one program that Cairn runs, and the one file that runs it.
//
// It is started directly with a list of arguments; no shell takes part, so that no name in a policy or a path
// can become a command. What it verifies is handed over in memory: no file that somebody could exchange in
// between.

#pragma once

#include <expected>
#include <string>

#include "compiler/review/verify_plan.h"

namespace cairn {

class OpenSsh : public SignatureJudge {
 public:
  [[nodiscard]] std::expected<void, Problem> judge(const std::string& signers, const std::string& person,
                                                   const std::string& octets, const std::string& armoured,
                                                   Instant time) const override;
  // An armoured signature over the octets. ssh-keygen asks for the key's passphrase itself, or uses the
  // agent.
  [[nodiscard]] static std::expected<std::string, std::string> sign(const std::string& key,
                                                                    const std::string& octets);
};

}  // namespace cairn
