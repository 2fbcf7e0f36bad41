// fork, exec, pipes. ssh-keygen's words are read only to tell the reasons of a refusal apart; acceptance is
// its exit code 0 and nothing else.

#include "compiler/command/open_ssh.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/mman.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <csignal>
#include <cstdlib>
#include <cstring>
#include <vector>

#include "compiler/review/attestation.h"
#include "constraints/quantity/leap_seconds.h"

namespace cairn {

namespace {

constexpr std::size_t largest_answer = std::size_t{1} << 20U;

class File {
 public:
  explicit File(int number = -1) : number_(number) {}
  File(File&& other) noexcept : number_(std::exchange(other.number_, -1)) {}
  File& operator=(File&& other) noexcept {
    close();
    number_ = std::exchange(other.number_, -1);
    return *this;
  }
  File(const File&) = delete;
  File& operator=(const File&) = delete;
  ~File() { close(); }
  void close() {
    if (number_ >= 0) ::close(number_);
    number_ = -1;
  }
  [[nodiscard]] int number() const { return number_; }

 private:
  int number_;
};

// A file that only this process and its child can see; the child finds it under /proc/self/fd.
File in_memory(const std::string& text) {
  File file(::memfd_create("cairn", 0));
  std::string_view left = text;
  while (file.number() >= 0 && !left.empty()) {
    const ssize_t put = ::write(file.number(), left.data(), left.size());
    if (put < 0 && errno == EINTR) continue;
    if (put <= 0) return File();
    left.remove_prefix(static_cast<std::size_t>(put));
  }
  if (file.number() >= 0) ::lseek(file.number(), 0, SEEK_SET);
  return file;
}

std::string path_of(const File& file) { return fmt::format("/proc/self/fd/{}", file.number()); }

// Where it lies: searched here, since the system's own search would hand a script to a shell.
std::string find_program(const std::string& name) {
  const char* path = std::getenv("PATH");
  std::string_view left = path == nullptr ? "/usr/bin:/bin" : path;
  while (!left.empty()) {
    const std::size_t end = std::min(left.find(':'), left.size());
    const std::string candidate = std::string(left.substr(0, end)) + "/" + name;
    if (candidate.front() == '/' && ::access(candidate.c_str(), X_OK) == 0) return candidate;
    left.remove_prefix(std::min(end + 1, left.size()));
  }
  return {};
}

struct Answer {
  int code = -1;
  std::string text;  // standard output, then standard error
};

std::expected<Answer, std::string> run(std::vector<std::string> arguments, const std::string& input,
                                       bool asks) {
  const std::string program = find_program(arguments.front());
  if (program.empty()) return std::unexpected("`ssh-keygen` is not installed (Debian: openssh-client)");
  const File given = in_memory(input);
  std::array<int, 2> ends{};
  if (given.number() < 0 || ::pipe2(ends.data(), O_CLOEXEC) != 0)
    return std::unexpected(std::strerror(errno));
  File from(ends[0]);
  File to(ends[1]);
  std::vector<char*> words;
  for (std::string& argument : arguments) words.push_back(argument.data());
  words.push_back(nullptr);
  std::vector<std::string> kept{"LC_ALL=C", "TZ=UTC"};
  for (const char* name :
       {"PATH", "HOME", "SSH_AUTH_SOCK", "SSH_ASKPASS", "SSH_ASKPASS_REQUIRE", "DISPLAY", "TERM"}) {
    const char* value = std::getenv(name);
    if (asks && value != nullptr) kept.push_back(std::string(name) + "=" + value);
  }
  std::vector<char*> environment;
  for (std::string& entry : kept) environment.push_back(entry.data());
  environment.push_back(nullptr);
  const pid_t child = ::fork();
  if (child < 0) return std::unexpected(std::strerror(errno));
  if (child == 0) {
    ::dup2(given.number(), STDIN_FILENO);
    ::dup2(to.number(), STDOUT_FILENO);
    if (!asks) ::dup2(to.number(), STDERR_FILENO);
    ::execve(program.c_str(), words.data(), environment.data());
    ::_exit(127);
  }
  to.close();
  Answer answer;
  std::array<char, 4096> buffer{};
  for (;;) {
    const ssize_t got = ::read(from.number(), buffer.data(), buffer.size());
    if (got < 0 && errno == EINTR) continue;
    if (got <= 0) break;
    answer.text.append(buffer.data(), static_cast<std::size_t>(got));
    if (answer.text.size() > largest_answer) {
      ::kill(child, SIGKILL);
      break;
    }
  }
  int status = 0;
  while (::waitpid(child, &status, 0) < 0 && errno == EINTR) {
  }
  if (!WIFEXITED(status) || WEXITSTATUS(status) == 127)
    return std::unexpected("`ssh-keygen` did not end by itself");
  answer.code = WEXITSTATUS(status);
  return answer;
}

// 20310514060000Z
std::string compact_utc(Instant time) {
  std::string digits;
  for (const char c : format_utc(time, published_leap_seconds())) {
    if ((c >= '0' && c <= '9') || c == 'Z') digits += c;
  }
  return digits;
}

}  // namespace

std::expected<void, SignatureJudge::Problem> OpenSsh::judge(const std::string& signers,
                                                            const std::string& person,
                                                            const std::string& octets,
                                                            const std::string& armoured, Instant time) const {
  const auto refused = [](Refusal refusal, std::string sentence) {
    return std::unexpected(Problem{refusal, std::move(sentence)});
  };
  const File keys = in_memory(signers);
  const File signature = in_memory(armoured);
  if (keys.number() < 0 || signature.number() < 0) return refused(Refusal::CannotRun, std::strerror(errno));
  const auto answer =
      run({"ssh-keygen", "-Y", "verify", "-f", path_of(keys), "-I", person, "-n",
           std::string(signature_namespace), "-s", path_of(signature), "-Overify-time=" + compact_utc(time)},
          octets, false);
  if (!answer) return refused(Refusal::CannotRun, answer.error());
  if (answer->code == 0) return {};
  const auto says = [&](std::string_view words) { return answer->text.find(words) != std::string::npos; };
  if (says("expired") || says("not yet valid")) {
    return refused(Refusal::Expired, fmt::format("the key of `{}` does not hold at {}", person,
                                                 format_utc(time, published_leap_seconds())));
  }
  if (says("incorrect signature") || says("Signature verification failed: incorrect")) {
    return refused(Refusal::Wrong, "the signature does not fit what it is said to sign");
  }
  if (says("no principal matched") || says("not a valid") || says("No principal") || says("not match") ||
      says("key not")) {
    return refused(Refusal::NotTheirs, fmt::format("the file of signers gives `{}` no such key", person));
  }
  return refused(Refusal::NotTheirs, fmt::format("ssh-keygen does not accept it for `{}`", person));
}

std::expected<std::string, std::string> OpenSsh::sign(const std::string& key, const std::string& octets) {
  const auto answer = run(
      {"ssh-keygen", "-q", "-Y", "sign", "-f", key, "-n", std::string(signature_namespace)}, octets, true);
  if (!answer) return std::unexpected(answer.error());
  if (answer->code != 0) return std::unexpected("ssh-keygen did not sign with this key");
  return answer->text;
}

}  // namespace cairn
