// The operating system behind the World.

#include "compiler/command/world.h"

#include <fcntl.h>
#include <linux/fs.h>
#include <poll.h>
#include <sys/ioctl.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <filesystem>

namespace cairn {

namespace {

namespace fs = std::filesystem;

constexpr std::size_t largest_file = std::size_t{256} << 20;

std::string why() { return std::strerror(errno); }

std::expected<std::string, std::string> read_all(int file) {
  std::string text;
  std::array<char, 65536> buffer{};
  for (;;) {
    const ssize_t got = ::read(file, buffer.data(), buffer.size());
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) return std::unexpected(why());
    if (got == 0) return text;
    text.append(buffer.data(), static_cast<std::size_t>(got));
    if (text.size() > largest_file) return std::unexpected(std::string("it is larger than 256 MiB"));
  }
}

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

// Puts `made` in the place of `place`, in one step of the file system.
std::expected<void, std::string> take_place(const fs::path& made, const fs::path& place) {
  std::error_code error;
  if (!fs::exists(fs::symlink_status(place, error))) {
    fs::rename(made, place, error);
    if (error) return std::unexpected(error.message());
    return {};
  }
  if (::syscall(SYS_renameat2, AT_FDCWD, made.c_str(), AT_FDCWD, place.c_str(), RENAME_EXCHANGE) != 0) {
    return std::unexpected(why());
  }
  fs::remove_all(made, error);  // the old one; a remainder does no harm to the new
  return {};
}

std::expected<void, std::string> fill(const fs::path& folder, const World::Files& files) {
  for (const auto& [name, text] : files) {
    const fs::path path = folder / name;
    std::error_code error;
    fs::create_directories(path.parent_path(), error);
    if (error) return std::unexpected(error.message());
    if (auto written = write_all(path, text); !written) return written;
  }
  return {};
}

}  // namespace

std::expected<std::string, std::string> World::read(const std::string& path) const {
  if (path == "-") return read_all(STDIN_FILENO);
  const int file = ::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK);
  if (file < 0) return std::unexpected(why());
  struct stat status {};
  if (::fstat(file, &status) != 0 || S_ISDIR(status.st_mode)) {
    ::close(file);
    return std::unexpected(std::string("it is a folder"));
  }
  auto text = read_all(file);
  ::close(file);
  return text;
}

std::expected<void, World::WriteProblem> World::write_folder(const std::string& folder,
                                                             const Files& files) const {
  const auto unwritable = [](std::string sentence) {
    return std::unexpected(WriteProblem{WriteError::Unwritable, std::move(sentence)});
  };
  std::error_code error;
  fs::path place = fs::absolute(folder, error).lexically_normal();
  if (error) return unwritable(error.message());
  if (!place.has_filename()) place = place.parent_path();
  const fs::file_status status = fs::symlink_status(place, error);
  if (fs::exists(status)) {
    const bool replaceable =
        fs::is_directory(status) && (fs::is_empty(place, error) || fs::exists(place / "plan.json", error));
    if (!replaceable) return std::unexpected(WriteProblem{WriteError::Occupied, {}});
  }
  fs::create_directories(place.parent_path(), error);
  if (error) return unwritable(error.message());
  std::string pattern = (place.parent_path() / (".cairn-XXXXXX")).string();
  if (::mkdtemp(pattern.data()) == nullptr) return unwritable(why());
  const fs::path made = pattern;
  ::chmod(made.c_str(), 0755);
  auto done = fill(made, files);
  if (done) done = take_place(made, place);
  if (!done) {
    fs::remove_all(made, error);
    return unwritable(done.error());
  }
  return {};
}

std::expected<void, World::WriteProblem> World::write_file(const std::string& path,
                                                           std::string_view text) const {
  const fs::path made = path + ".cairn-" + std::to_string(::getpid());
  auto done = write_all(made, text);
  std::error_code error;
  if (done) {
    fs::rename(made, path, error);
    if (error) done = std::unexpected(error.message());
  }
  if (!done) {
    fs::remove(made, error);
    return std::unexpected(WriteProblem{WriteError::Unwritable, done.error()});
  }
  return {};
}

std::string World::read_input() const {
  std::array<char, 65536> buffer{};
  for (;;) {
    const ssize_t got = ::read(STDIN_FILENO, buffer.data(), buffer.size());
    if (got < 0 && errno == EINTR) continue;
    return got <= 0 ? std::string() : std::string(buffer.data(), static_cast<std::size_t>(got));
  }
}

bool World::wait_for_input(int other) const {
  std::array<pollfd, 2> waited{pollfd{STDIN_FILENO, POLLIN, 0}, pollfd{other, POLLIN, 0}};
  const int ready = ::poll(waited.data(), waited.size(), -1);
  return ready > 0 && waited[0].revents != 0;
}

void World::outlive_reader() const { static_cast<void>(std::signal(SIGPIPE, SIG_IGN)); }

bool World::input_waits() const {
  pollfd input{STDIN_FILENO, POLLIN, 0};
  return ::poll(&input, 1, 0) != 0;
}

void World::print(std::string_view text) const {
  static_cast<void>(std::fwrite(text.data(), 1, text.size(), stdout));
}

void World::print_error(std::string_view text) const {
  static_cast<void>(std::fwrite(text.data(), 1, text.size(), stderr));
}

bool World::finish_output() const { return std::fflush(stdout) == 0 && std::ferror(stdout) == 0; }

bool World::colour_for_output() const {
  const char* off = std::getenv("NO_COLOR");
  return ::isatty(STDOUT_FILENO) == 1 && (off == nullptr || *off == '\0');
}

bool World::colour_for_errors() const {
  const char* off = std::getenv("NO_COLOR");
  return ::isatty(STDERR_FILENO) == 1 && (off == nullptr || *off == '\0');
}

int World::width() const {
  winsize size{};
  if (::ioctl(STDERR_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col >= 40) return size.ws_col;
  return 100;
}

}  // namespace cairn
