// A folder of our own, outside every project, that is gone when we are done.

#pragma once

#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <string>

namespace cairn {

class CleanFolder {
 public:
  CleanFolder() {
    std::error_code error;
    std::string pattern = (std::filesystem::temp_directory_path(error) / "cairn-XXXXXX").string();
    if (!error && ::mkdtemp(pattern.data()) != nullptr) path_ = pattern;
  }
  CleanFolder(const CleanFolder&) = delete;
  CleanFolder& operator=(const CleanFolder&) = delete;
  ~CleanFolder() {
    std::error_code error;
    if (!path_.empty()) std::filesystem::remove_all(path_, error);
  }
  // Empty when none could be made.
  [[nodiscard]] const std::filesystem::path& path() const { return path_; }

 private:
  std::filesystem::path path_;
};

}  // namespace cairn
