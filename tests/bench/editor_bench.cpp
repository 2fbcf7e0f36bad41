// How soon an editor sees new diagnostics after a keystroke in a long load.
//
// The real server with the real checks, in one process: a message with one changed character goes in, and
// time is taken until the diagnostics of the new text have come out, and until those of the checks have. Two
// loads of ten thousand lines: an even one, whose commands move nothing, and a busy one, whose thousand
// blocks bring units to states and expect them there. Kinds of keystroke: in a comment, in a word that
// thereby is wrong, in a number that moves a command; and the last of these once more by the clock, while the
// checks of the text before still run on their thread.
//
// usage: editor_bench EXAMPLES [rounds]

#include <fmt/core.h>

#include <algorithm>
#include <chrono>
#include <cstdlib>
#include <filesystem>
#include <string>

#include "compiler/command/check_worker.h"
#include "compiler/command/editor_host.h"
#include "compiler/editor/framing.h"
#include "compiler/editor/server.h"
#include "tests/bench/spread.h"

namespace cairn {
namespace {

namespace fs = std::filesystem;

constexpr int even_blocks = 2000;  // of five lines each
constexpr int busy_blocks = 1000;  // of ten

std::string time_of(int day, int minutes) {
  return fmt::format("2031-05-{:02}T{:02}:{:02}:00Z", day + minutes / 1440, minutes / 60 % 24, minutes % 60);
}

std::string head(const char* name) {
  return fmt::format("load \"{}\" for alder {{\n  span 2031-05-01T00:00:00Z to 2031-06-10T00:00:00Z\n", name);
}

std::string even_load() {
  std::string text = head("even");
  for (int i = 0; i < even_blocks; ++i) {
    text += fmt::format("  at {} {{\n    note \"block {}\"  # why\n", time_of(10, i * 15), i);
    text += "    send keeper.time-report\n    after 2 s send keeper.time-report\n  }\n";
  }
  return text + "}\n";
}

std::string busy_load() {
  std::string text = head("busy") + "  require power.reserve >= 5 W\n";
  for (int i = 0; i < busy_blocks; ++i) {
    const char* state = i % 2 == 0 ? "standby" : "off";
    text += fmt::format("  at {} {{\n    note \"block {}\"  # why\n    send keeper.time-report\n",
                        time_of(3, i * 40), i);
    text += fmt::format(
        "    bring camera to {0}\n    expect camera is {0} within 2 min\n    bring dust to {0}\n", state);
    text += "    after 20 s {\n      send tilt.range width=fine\n    }\n  }\n";
  }
  return text + "}\n";
}

// A place in the text by its nth line from the first that holds `word`.
struct Place {
  int line = 0;
  int character = 0;
};

Place place_of(const std::string& text, const std::string& word, std::size_t into, std::size_t nth) {
  std::size_t at = text.find(word);
  for (; nth > 0 && at != std::string::npos; --nth) at = text.find(word, at + 1);
  if (at == std::string::npos) std::abort();
  const auto line = std::count(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(at), '\n');
  const std::size_t begin = text.rfind('\n', at) + 1;
  return {static_cast<int>(line), static_cast<int>(at + into - begin)};
}

double clock_seconds() {
  return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

class Bench {
 public:
  Bench(const fs::path& load, std::string text, int rounds)
      : host_(world_), server_(host_, "bench"), rounds_(rounds), text_(std::move(text)) {
    uri_ = "file://" + load.string();
    send(R"({"jsonrpc":"2.0","id":1,"method":"initialize","params":{}})");
    std::string escaped;
    for (const char c : text_) {
      if (c == '"') escaped += '\\';
      escaped += c == '\n' ? std::string("\\n") : std::string(1, c);
    }
    send(R"({"jsonrpc":"2.0","method":"textDocument/didOpen","params":{"textDocument":{"uri":")" + uri_ +
         R"(","languageId":"cairn","version":1,"text":")" + escaped + "\"}}}");
    settle();
    const auto lines = std::count(text_.begin(), text_.end(), '\n');
    fmt::print(
        "{}, {} lines\n| keystroke | diagnostics of the text, ms | of the checks as well, ms "
        "|\n|---|---|---|\n",
        load.stem().string(), lines);
  }

  void measure(const char* what, Place place, const char* first, const char* second) {
    std::vector<double> texts;
    std::vector<double> checks;
    for (int round = 0; round < rounds_; ++round) {
      const double begin = processor_seconds();
      type(place, round % 2 == 0 ? first : second);
      publish();
      texts.push_back(1000 * (processor_seconds() - begin));
      settle();
      checks.push_back(1000 * (processor_seconds() - begin));
    }
    type(place, second);
    settle();
    fmt::print("| {} | {} | {} |\n", what, middle_and_spread(texts, 1), middle_and_spread(checks, 1));
  }

  // By the clock, and while a thread checks the text before.
  void measure_while_checking(const char* what, Place place, const char* first, const char* second) {
    std::vector<double> texts;
    for (int round = 0; round < rounds_; ++round) {
      type(place, second);
      while (server_.has_work()) static_cast<void>(server_.work());
      CheckWorker worker(host_);
      auto job = server_.take_check();
      if (job == nullptr) std::abort();
      worker.start(std::move(job));
      const double begin = clock_seconds();
      type(place, first);
      publish();
      texts.push_back(1000 * (clock_seconds() - begin));
      std::shared_ptr<CheckJob> done;
      while (done == nullptr) done = worker.take();
      static_cast<void>(server_.put_check(done));
      settle();
    }
    fmt::print("| {} | {} | |\n", what, middle_and_spread(texts, 1));
  }

  [[nodiscard]] Place place(const std::string& word, std::size_t into, std::size_t nth) const {
    return place_of(text_, word, into, nth);
  }

 private:
  void type(Place place, const char* character) {
    send(fmt::format(
        R"({{"jsonrpc":"2.0","method":"textDocument/didChange","params":{{"textDocument":{{"uri":"{}","version":2}},)"
        R"("contentChanges":[{{"range":{{"start":{{"line":{},"character":{}}},"end":{{"line":{},"character":{}}}}},"text":"{}"}}]}}}})",
        uri_, place.line, place.character, place.line, place.character + 1, character));
  }

  void publish() {
    if (server_.work().find("publishDiagnostics") == std::string::npos) std::abort();
  }

  void settle() {
    while (server_.has_work()) static_cast<void>(server_.work());
    while (const auto job = server_.take_check()) {
      run(host_, *job);
      static_cast<void>(server_.put_check(job));
    }
  }

  void send(const std::string& body) { static_cast<void>(server_.receive(framed(body))); }

  World world_;
  WorldHost host_;
  LanguageServer server_;
  int rounds_;
  std::string text_;
  std::string uri_;
};

void measure_all(Bench& bench, std::size_t middle, const char* number, std::size_t into) {
  bench.measure("in a comment", bench.place("# why", 3, middle), "x", "h");
  bench.measure("in a word, which is then wrong", bench.place("send keeper", 1, middle), "x", "e");
  bench.measure("in a number, which moves a command", bench.place(number, into, middle), "3", "2");
  bench.measure_while_checking("the same by the clock, while checks run", bench.place(number, into, middle),
                               "3", "2");
}

int run_all(const fs::path& examples, int rounds) {
  const fs::path folder = fs::weakly_canonical(examples) / "loads";
  Bench even(folder / "even.cairn", even_load(), rounds);
  measure_all(even, even_blocks / 2, "after 2 s", 6);
  Bench busy(folder / "busy.cairn", busy_load(), rounds);
  measure_all(busy, busy_blocks / 2, "after 20 s", 6);
  return 0;
}

}  // namespace
}  // namespace cairn

int main(int argc, char** argv) {
  if (argc < 2) return 2;
  return cairn::run_all(argv[1], argc > 2 ? std::atoi(argv[2]) : 20);
}
