// The example project in a folder of its own, to be changed and built.

#pragma once

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>

#include "compiler/command/pipeline.h"
#include "tests/place.h"

namespace cairn::test {

inline std::string file_text(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  std::stringstream text;
  text << file.rdbuf();
  return text.str();
}

inline void write_text(const std::filesystem::path& path, const std::string& text) {
  std::filesystem::create_directories(path.parent_path());
  std::ofstream(path, std::ios::binary) << text;
}

class ProjectCopy {
 public:
  ProjectCopy() {
    std::string pattern = (std::filesystem::temp_directory_path() / "cairn-review-XXXXXX").string();
    folder_ = ::mkdtemp(pattern.data());
    const std::filesystem::path examples = std::filesystem::path(source_folder()) / "examples";
    for (const char* part : {"loads", "routines", "stations"}) {
      std::filesystem::copy(examples / part, folder_ / part, std::filesystem::copy_options::recursive);
    }
  }
  ProjectCopy(const ProjectCopy&) = delete;
  ProjectCopy& operator=(const ProjectCopy&) = delete;
  ~ProjectCopy() { std::filesystem::remove_all(folder_); }

  [[nodiscard]] const std::filesystem::path& folder() const { return folder_; }
  [[nodiscard]] std::string path(const std::string& name) const { return (folder_ / name).string(); }

  // Exactly one place must be found, so that no seed is lost unseen.
  void replace(const std::string& name, const std::string& from, const std::string& to) const {
    std::string text = file_text(folder_ / name);
    const std::size_t at = text.find(from);
    ASSERT_NE(at, std::string::npos) << name << ": " << from;
    text.replace(at, from.size(), to);
    write_text(folder_ / name, text);
  }

  [[nodiscard]] std::string plan(const std::string& load) const {
    CompileOptions options;
    options.load = path(load);
    SourceFiles files;
    Diagnostics diagnostics;
    const auto compiled = compile(World(), options, files, diagnostics);
    std::string problems;
    for (const Diagnostic& diagnostic : diagnostics.all())
      problems += std::string(diagnostic.code) + ": " + diagnostic.message + "\n";
    EXPECT_TRUE(compiled) << problems;
    return compiled ? compiled->plan : std::string();
  }

 private:
  std::filesystem::path folder_;
};

}  // namespace cairn::test
