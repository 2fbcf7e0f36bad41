// Reading 100,000 `send` statements: Cairn's reader against the usual way with ANTLR, time and memory.
//
// Each way runs in a process of its own, round by round in turn, so that the peak of one does not hide the
// other's and a busy machine is unkind to both. Usage: parse_bench [rounds]

#include <fmt/core.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cstdlib>
#include <string>
#include <vector>

#include "compiler/syntax/antlr_adapter.h"
#include "compiler/syntax/parse.h"
#include "tests/bench/spread.h"

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
    const double begin = cairn::processor_seconds();
    outcome.good = way();
    outcome.seconds = cairn::processor_seconds() - begin;
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

double bytes_per_command(const Outcome& outcome) {
  return static_cast<double>(outcome.kib) * 1024.0 / statements;
}

}  // namespace

int main(int count, char** arguments) {
  const int rounds = count > 1 ? std::max(1, std::atoi(arguments[1])) : 5;
  const std::string text = make_load();
  cairn::SourceFiles files;
  const cairn::FileId file = files.add("bench.cairn", text);
  std::vector<double> reader_seconds;
  std::vector<double> plain_seconds;
  std::vector<double> ratios;
  Outcome reader;
  Outcome plain;
  for (int round = 0; round < rounds; ++round) {
    reader = measure([&] {
      cairn::Diagnostics diagnostics;
      const cairn::Tree tree = cairn::parse(files, file, {}, diagnostics);
      return !diagnostics.has_errors() && tree.statements.size() == std::size_t{statements};
    });
    plain = measure([&] { return cairn::plain_parse(text).errors == 0; });
    if (!reader.good || !plain.good) {
      fmt::print("the text was not read to its end\n");
      return 1;
    }
    reader_seconds.push_back(reader.seconds);
    plain_seconds.push_back(plain.seconds);
    ratios.push_back(plain.seconds / reader.seconds);
  }
  fmt::print("{} send statements, {} bytes; {} rounds, processor seconds: median (least to greatest)\n",
             statements, text.size(), rounds);
  fmt::print("plain ANTLR pattern: {} s, {:.0f} bytes per command\n",
             cairn::middle_and_spread(plain_seconds, 2), bytes_per_command(plain));
  fmt::print("Cairn's reader: {} s, {:.0f} bytes per command; {} times as fast, {:.2f} of the memory\n",
             cairn::middle_and_spread(reader_seconds, 3), bytes_per_command(reader),
             cairn::middle_and_spread(ratios, 1), bytes_per_command(reader) / bytes_per_command(plain));
  return 0;
}
