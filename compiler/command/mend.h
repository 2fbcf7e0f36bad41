// The search for mends: each proposal is the load compiled and checked anew, as a whole.

#pragma once

#include <string>
#include <vector>

#include "compiler/command/pipeline.h"

namespace cairn {

struct MendLimits {
  std::size_t proposals = 3;  // then the search ends
  std::size_t tries = 400;    // loads compiled
};

struct Proposal {
  std::string words;
  std::string text;  // the whole load, mended
};

struct MendResult {
  bool holds = false;               // the load holds already
  std::vector<Proposal> proposals;  // least change first
  std::size_t tried = 0;
  std::vector<std::string> kinds_tried;  // in words, for a load that nothing mended
};

// The load's own problems come in `diagnostics`; its text is the first of `files`.
MendResult find_mends(const World& world, const CompileOptions& options, const MendLimits& limits,
                      SourceFiles& files, Diagnostics& diagnostics);

}  // namespace cairn
