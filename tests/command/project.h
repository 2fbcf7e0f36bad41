// The demo project as the tests use it.

#pragma once

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
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

// A folder with the stations of the demo project and what a test writes beside them.
class StationsFolder : public ::testing::Test {
 protected:
  StationsFolder() {
    namespace fs = std::filesystem;
    std::string name = (fs::path(testing::TempDir()) / "cairn-stations-XXXXXX").string();
    if (const char* made = mkdtemp(name.data())) folder_ = made;
    fs::copy(source_path("examples/stations"), folder_ / "stations", fs::copy_options::recursive);
  }
  ~StationsFolder() override {
    std::error_code ignored;
    if (!folder_.empty()) std::filesystem::remove_all(folder_, ignored);
  }
  StationsFolder(const StationsFolder&) = delete;
  StationsFolder& operator=(const StationsFolder&) = delete;

  [[nodiscard]] std::string write(const std::string& name, const std::string& text) const {
    std::ofstream(folder_ / name) << text;
    return (folder_ / name).string();
  }

  std::filesystem::path folder_;
};

// What a command ends with and says.
struct Said {
  ExitCode code = ExitCode::ToolFault;
  std::string output;
  std::string errors;
};

template <class Work>
Said said(Work work) {
  Said result;
  testing::internal::CaptureStdout();
  testing::internal::CaptureStderr();
  result.code = work();
  (void)World().finish_output();
  result.output = testing::internal::GetCapturedStdout();
  result.errors = testing::internal::GetCapturedStderr();
  return result;
}

}  // namespace cairn::test
