// The operating system behind the World.

#include "compiler/command/world.h"

#include <fcntl.h>
#include <poll.h>
#include <sys/ioctl.h>
#include <sys/stat.h>
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

std::expected<PutInPlace, World::WriteProblem> World::prepare_folder(const std::string& folder,
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
  auto made = PutInPlace::folder(place, files);
  if (!made) return unwritable(std::move(made.error()));
  return std::move(*made);
}

std::expected<void, World::WriteProblem> World::write_folder(const std::string& folder,
                                                             const Files& files) const {
  auto made = prepare_folder(folder, files);
  if (!made) return std::unexpected(made.error());
  if (auto done = made->put(); !done)
    return std::unexpected(WriteProblem{WriteError::Unwritable, std::move(done.error())});
  return {};
}

std::expected<void, World::WriteProblem> World::write_file(const std::string& path, std::string_view text,
                                                           const std::string& beside) const {
  std::error_code error;
  const fs::path place = fs::absolute(path, error);
  auto made = PutInPlace::file(place, beside.empty() ? place.parent_path() : fs::path(beside), text);
  auto done = made ? made->put() : std::unexpected(made.error());
  if (!done) return std::unexpected(WriteProblem{WriteError::Unwritable, std::move(done.error())});
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
