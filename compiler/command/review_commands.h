// The subcommands of review: differences, signatures, the gate. One file each; their words stand in
// review_words.cpp.

#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "compiler/command/commands.h"

namespace CLI {
class App;
}

namespace cairn {

struct DiffOptions {
  std::string before;      // plan.json, its folder, or a load
  std::string after;       // the same
  CompileOptions compile;  // for a load; `load` is not used
  ShowOptions show;
  std::string old_sources;  // folders with the texts that went in; empty: looked for
  std::string new_sources;
  std::string page;  // where to write the page; empty: nowhere
};
ExitCode run_diff(const World& world, const DiffOptions& options);

struct SignOptions {
  std::string folder;
  std::string policy;
  std::string role;
  std::string person;
  std::string key;
  std::string at;  // when it is signed; empty: now
  ShowOptions show;
};
ExitCode run_sign(const World& world, const SignOptions& options);

struct VerifyOptions {
  std::string folder;
  std::string policy;
  std::string at;  // as of when; empty: now
  ShowOptions show;
};
ExitCode run_verify(const World& world, const VerifyOptions& options);

struct GateOptions {
  VerifyOptions verify;
  std::string sources;     // the project folder; empty: the one around the current folder
  CompileOptions compile;  // how it was built: after, uplink_from, leap_seconds
  std::string ledger;      // what was sent, instead of the plan before; empty: none
  std::string sarif;       // files to write; empty: none
  std::string junit;
  std::string markdown;
};
ExitCode run_gate(const World& world, const GateOptions& options);

struct MendOptions {
  CompileOptions compile;
  ShowOptions show;
};
ExitCode run_mend(const World& world, const MendOptions& options);

// The words of these subcommands, and the running of the one that was asked for.
class ReviewWords {
 public:
  explicit ReviewWords(CLI::App& app);
  ReviewWords(const ReviewWords&) = delete;
  ReviewWords& operator=(const ReviewWords&) = delete;
  ~ReviewWords();
  // nullopt: none of them was asked for.
  [[nodiscard]] std::optional<ExitCode> run(const World& world) const;

 private:
  struct Words;
  std::unique_ptr<Words> words_;
};

}  // namespace cairn
