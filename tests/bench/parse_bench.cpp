// Reading 100,000 `send` statements: Cairn's reader against the usual way with ANTLR, time and memory.
//
// Each way runs in a process of its own, so that the peak of one does not hide the other's.

#include <fmt/core.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <string>

#include "compiler/syntax/antlr_adapter.h"
#include "compiler/syntax/parse.h"

namespace {

constexpr int statements = 100000;

std::string make_load() {
  std::string text = "load \"bench\" for alder {\n  span 2031-05-14T06:00:00Z to 2031-05-18T00:00:00Z\n";
  for (int i = 0; i < statements; ++i) {
    text += fmt::format("  send probe.sample depth={}.{} m gain={} quick=true\n", i % 3, i % 10, i % 7);
  }
  return text + "}\n";
}

long peak_kib() {
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  return usage.ru_maxrss;
}

struct Outcome {
  double seconds = 0;
  long kib = 0;
  bool good = false;
};

// Runs `way` in a child process; its memory is the growth of the peak over what the process held before.
template <class Way>
Outcome measure(const Way& way) {
  int ends[2];
  Outcome outcome;
  if (pipe(ends) != 0) return outcome;
  const pid_t child = fork();
  if (child == 0) {
    const long before = peak_kib();
    const auto begin = std::chrono::steady_clock::now();
    outcome.good = way();
    outcome.seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
    outcome.kib = peak_kib() - before;
    const bool written = write(ends[1], &outcome, sizeof outcome) == static_cast<ssize_t>(sizeof outcome);
    _exit(written ? 0 : 1);
  }
  close(ends[1]);
  if (child < 0 || read(ends[0], &outcome, sizeof outcome) != static_cast<ssize_t>(sizeof outcome))
    outcome = {};
  close(ends[0]);
  if (child > 0) waitpid(child, nullptr, 0);
  return outcome;
}

void print(const char* name, const Outcome& outcome) {
  fmt::print("{:<8} {:9.3f} s {:9.0f} bytes per command{}\n", name, outcome.seconds,
             static_cast<double>(outcome.kib) * 1024.0 / statements, outcome.good ? "" : "  (failed)");
}

}  // namespace

int main() {
  const std::string text = make_load();
  cairn::SourceFiles files;
  const cairn::FileId file = files.add("bench.cairn", text);
  const Outcome reader = measure([&] {
    cairn::Diagnostics diagnostics;
    const cairn::Tree tree = cairn::parse(files, file, {}, diagnostics);
    return !diagnostics.has_errors() && tree.statements.size() == std::size_t{statements};
  });
  const Outcome plain = measure([&] { return cairn::plain_parse(text).errors == 0; });
  fmt::print("{} send statements, {} bytes\n", statements, text.size());
  print("cairn", reader);
  print("antlr", plain);
  if (!reader.good || !plain.good) return 1;
  fmt::print("ratio    {:9.1f}\n", plain.seconds / reader.seconds);
  return 0;
}
