// How soon an editor sees new diagnostics after a keystroke in a long load.
//
// The real server with the real checks, in one process: a message with one changed character goes in, and
// time is taken until the diagnostics of the new text have come out, and until those of the checks have.
// Three kinds of keystroke: in a comment, in a word that thereby is wrong, and in a number that moves a
// command.
//
// usage: editor_bench EXAMPLES [rounds]

#include <fmt/core.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>

#include "compiler/command/editor_host.h"
#include "compiler/editor/framing.h"
#include "compiler/editor/server.h"
#include "tests/bench/spread.h"

namespace cairn {
namespace {

namespace fs = std::filesystem;

constexpr int blocks = 2000;  // of five lines each

std::string long_load() {
  std::string text = "load \"long\" for alder {\n  span 2031-05-01T00:00:00Z to 2031-06-10T00:00:00Z\n";
  for (int i = 0; i < blocks; ++i) {
    const int minutes = i * 15;
    text += fmt::format("  at 2031-05-{:02}T{:02}:{:02}:00Z {{\n    note \"block {}\"  # why\n",
                        10 + minutes / 1440, minutes / 60 % 24, minutes % 60, i);
    text += "    send keeper.time-report\n    after 2 s send keeper.time-report\n  }\n";
  }
  return text + "}\n";
}

class Bench {
 public:
  Bench(const fs::path& load, int rounds) : host_(world_), server_(host_, "bench"), rounds_(rounds) {
    uri_ = "file://" + load.string();
    send(R"({"jsonrpc":"2.0","id":1,"method":"initialize","params":{}})");
    std::string escaped;
    for (const char c : long_load()) {
      if (c == '"') escaped += '\\';
      escaped += c == '\n' ? std::string("\\n") : std::string(1, c);
    }
    send(R"({"jsonrpc":"2.0","method":"textDocument/didOpen","params":{"textDocument":{"uri":")" + uri_ +
         R"(","languageId":"cairn","version":1,"text":")" + escaped + "\"}}}");
    settle();
  }

  void measure(const char* what, int line, int character, const char* first, const char* second) {
    std::vector<double> texts;
    std::vector<double> checks;
    for (int round = 0; round < rounds_; ++round) {
      const double begin = processor_seconds();
      send(fmt::format(
          R"({{"jsonrpc":"2.0","method":"textDocument/didChange","params":{{"textDocument":{{"uri":"{}","version":2}},)"
          R"("contentChanges":[{{"range":{{"start":{{"line":{},"character":{}}},"end":{{"line":{},"character":{}}}}},"text":"{}"}}]}}}})",
          uri_, line, character, line, character + 1, round % 2 == 0 ? first : second));
      const std::string published = server_.work();
      texts.push_back(1000 * (processor_seconds() - begin));
      if (published.find("publishDiagnostics") == std::string::npos) std::abort();
      settle();
      checks.push_back(1000 * (processor_seconds() - begin));
    }
    fmt::print("| {} | {} | {} |\n", what, middle_and_spread(texts, 1), middle_and_spread(checks, 1));
  }

 private:
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
  std::string uri_;
};

int run(const fs::path& examples, int rounds) {
  Bench bench(fs::weakly_canonical(examples) / "loads" / "long.cairn", rounds);
  const int middle = 2 + blocks / 2 * 5;
  fmt::print(
      "{} lines\n| keystroke | diagnostics of the text, ms | of the checks as well, ms |\n|---|---|---|\n",
      blocks * 5 + 3);
  bench.measure("in a comment", middle + 1, 24, "x", "y");
  bench.measure("in a word, which is then wrong", middle + 2, 5, "x", "e");
  bench.measure("in a number, which moves a command", middle + 3, 10, "3", "2");
  return 0;
}

}  // namespace
}  // namespace cairn

int main(int argc, char** argv) {
  if (argc < 2) return 2;
  return cairn::run(argv[1], argc > 2 ? std::atoi(argv[2]) : 20);
}
