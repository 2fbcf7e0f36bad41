// The demo project as the tests use it.

#pragma once

#include <string>

#include "compiler/command/pipeline.h"
#include "tests/place.h"

namespace cairn::test {

inline std::string source_path(const std::string& path) {
  return std::string(cairn::test::source_folder()) + "/" + path;
}

struct Run {
  SourceFiles files;
  Diagnostics diagnostics;
  std::optional<Compiled> compiled;
};

// Compiles a load as `cairn check` does. Returned by pointer: the tree keeps views into the files.
inline std::unique_ptr<Run> compile_load_file(const std::string& path, const std::string& after = "") {
  auto run = std::make_unique<Run>();
  CompileOptions options;
  options.load = path;
  options.after = after;
  run->compiled = compile(World(), options, run->files, run->diagnostics);
  run->diagnostics.sort(run->files);
  return run;
}

}  // namespace cairn::test
