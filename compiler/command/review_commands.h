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
};
ExitCode run_diff(const World& world, const DiffOptions& options);

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
