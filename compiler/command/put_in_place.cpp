// The steps, in the order that makes them safe: written, on disk, renamed, the renaming on disk.

#include "compiler/command/put_in_place.h"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <cstring>

namespace cairn {

namespace {

namespace fs = std::filesystem;

constexpr std::string_view mark = ".cairn-";
constexpr std::string_view random_part = "XXXXXX";

std::string why() { return std::strerror(errno); }

std::expected<void, std::string> write_all(const fs::path& path, std::string_view text) {
  const int file = ::open(path.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0644);
  if (file < 0) return std::unexpected(why());
  while (!text.empty()) {
    const ssize_t put = ::write(file, text.data(), text.size());
    if (put < 0 && errno == EINTR) continue;
    if (put < 0) {
      std::string sentence = why();
      ::close(file);
      return std::unexpected(sentence);
    }
    text.remove_prefix(static_cast<std::size_t>(put));
  }
  const bool good = ::fsync(file) == 0;
  std::string sentence = good ? std::string() : why();
  if (::close(file) != 0 && sentence.empty()) sentence = why();
  if (!sentence.empty()) return std::unexpected(sentence);
  return {};
}

// Names in a folder are on disk. Some file systems cannot be asked for that: then it is theirs to know.
void settle_names(const fs::path& folder) {
  const int opened = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (opened < 0) return;
  (void)::fsync(opened);
  ::close(opened);
}

std::string beginning_of_name(const fs::path& place) {
  return "." + place.filename().string() + std::string(mark);
}

// Whether nobody is at work in it: its maker holds a lock on it, and has had time to get one.
bool is_left_behind(const fs::path& folder) {
  struct stat status {};
  if (::lstat(folder.c_str(), &status) != 0 || !S_ISDIR(status.st_mode)) return false;
  constexpr std::int64_t time_to_lock = 60;  // s
  const std::int64_t now =
      std::chrono::duration_cast<std::chrono::seconds>(std::chrono::system_clock::now().time_since_epoch())
          .count();
  if (now - status.st_mtim.tv_sec < time_to_lock) return false;
  const int opened = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC);
  if (opened < 0) return false;
  const bool free = ::flock(opened, LOCK_EX | LOCK_NB) == 0;
  ::close(opened);
  return free;
}

void tidy(const fs::path& place, const fs::path& beside) {
  const std::string beginning = beginning_of_name(place);
  std::vector<fs::path> found;
  std::error_code error;
  for (fs::directory_iterator entry(beside, error), end; !error && entry != end; entry.increment(error)) {
    const std::string name = entry->path().filename().string();
    if (name.size() == beginning.size() + random_part.size() && name.starts_with(beginning) &&
        is_left_behind(entry->path())) {
      found.push_back(entry->path());
    }
  }
  for (const fs::path& folder : found) fs::remove_all(folder, error);  // what stays does no harm
}

}  // namespace

PutInPlace::PutInPlace(fs::path place, fs::path made, int lock)
    : place_(std::move(place)), made_(std::move(made)), content_(made_ / "new"), lock_(lock) {}

PutInPlace::PutInPlace(PutInPlace&& other) noexcept
    : place_(std::move(other.place_)),
      made_(std::exchange(other.made_, {})),
      content_(std::move(other.content_)),
      lock_(std::exchange(other.lock_, -1)) {}

PutInPlace::~PutInPlace() {
  std::error_code error;
  if (!made_.empty()) fs::remove_all(made_, error);  // a remainder does no harm
  if (lock_ >= 0) ::close(lock_);
}

std::expected<PutInPlace, std::string> PutInPlace::begin(const fs::path& place, const fs::path& beside) {
  tidy(place, beside);
  std::string pattern = (beside / (beginning_of_name(place) + std::string(random_part))).string();
  if (::mkdtemp(pattern.data()) == nullptr) return std::unexpected(why());
  const int lock = ::open(pattern.c_str(), O_RDONLY | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC);
  if (lock >= 0) (void)::flock(lock, LOCK_SH | LOCK_NB);
  return PutInPlace(place, pattern, lock);
}

std::expected<PutInPlace, std::string> PutInPlace::folder(const fs::path& place, const Files& files) {
  std::error_code error;
  fs::create_directories(place.parent_path(), error);
  if (error) return std::unexpected(error.message());
  auto made = begin(place, place.parent_path());
  if (!made) return made;
  fs::create_directory(made->content_, error);
  if (error) return std::unexpected(error.message());
  for (const auto& [name, text] : files) {
    const fs::path path = made->content_ / name;
    fs::create_directories(path.parent_path(), error);
    if (error) return std::unexpected(error.message());
    if (auto written = write_all(path, text); !written) return std::unexpected(written.error());
  }
  std::vector<fs::path> folders{made->content_};
  for (fs::recursive_directory_iterator entry(made->content_, error), end; !error && entry != end;
       entry.increment(error)) {
    if (entry->is_directory(error)) folders.push_back(entry->path());
  }
  for (const fs::path& folder : folders) settle_names(folder);
  return made;
}

std::expected<PutInPlace, std::string> PutInPlace::file(const fs::path& place, const fs::path& beside,
                                                        std::string_view text) {
  auto made = begin(place, beside);
  if (!made) return made;
  if (auto written = write_all(made->content_, text); !written) return std::unexpected(written.error());
  return made;
}

std::expected<void, std::string> PutInPlace::put() {
  std::error_code error;
  const bool is_folder = fs::is_directory(content_, error);
  // A folder takes the place of another only by exchange; the old one then lies beside, and goes.
  const bool exchange = is_folder && fs::exists(fs::symlink_status(place_, error));
  if (::renameat2(AT_FDCWD, content_.c_str(), AT_FDCWD, place_.c_str(), exchange ? RENAME_EXCHANGE : 0U) != 0)
    return std::unexpected(why());
  settle_names(place_.parent_path());
  return {};
}

}  // namespace cairn
