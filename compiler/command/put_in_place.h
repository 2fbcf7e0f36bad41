// Files made beside their place and put there in one step of the file system, so that a stop at any moment
// leaves the place as it was or complete.
//
// What is being made lies in a folder `.NAME.cairn-XXXXXX` beside the place. Who is stopped leaves that
// folder behind; the next one who writes to the same place takes it away.

#pragma once

#include <expected>
#include <filesystem>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace cairn {

class PutInPlace {
 public:
  using Files = std::vector<std::pair<std::string, std::string>>;

  // Makes and fills the folder that `place` is to be. The errors are one sentence.
  static std::expected<PutInPlace, std::string> folder(const std::filesystem::path& place,
                                                       const Files& files);
  // The same for one file; `beside` is the folder to make it in, of the same file system.
  static std::expected<PutInPlace, std::string> file(const std::filesystem::path& place,
                                                     const std::filesystem::path& beside,
                                                     std::string_view text);
  PutInPlace(PutInPlace&& other) noexcept;
  PutInPlace& operator=(PutInPlace&&) = delete;
  PutInPlace(const PutInPlace&) = delete;
  PutInPlace& operator=(const PutInPlace&) = delete;
  // Takes away what was not put, or what was in its place before.
  ~PutInPlace();

  // What was there is exchanged for it. On disk when it returns.
  [[nodiscard]] std::expected<void, std::string> put();

 private:
  PutInPlace(std::filesystem::path place, std::filesystem::path made, int lock);
  static std::expected<PutInPlace, std::string> begin(const std::filesystem::path& place,
                                                      const std::filesystem::path& beside);

  std::filesystem::path place_;
  std::filesystem::path made_;     // the folder beside
  std::filesystem::path content_;  // in it
  int lock_ = -1;                  // on it: somebody is still at work here
};

}  // namespace cairn
