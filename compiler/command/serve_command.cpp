// cairn serve: the language server on standard input and output.
//
// Messages first, then what the texts say, while the checks run beside.

#include "compiler/command/check_worker.h"
#include "compiler/command/commands.h"
#include "compiler/command/editor_host.h"
#include "compiler/editor/server.h"

namespace cairn {

ExitCode run_serve(const World& world) {
  world.outlive_reader();
  WorldHost host(world);
  LanguageServer server(host, std::string(tool_name));
  CheckWorker worker(host);
  while (!server.ended()) {
    if (auto job = server.take_check()) worker.start(std::move(job));
    if (const auto done = worker.take()) {
      world.print(server.put_check(done));
    } else if (server.has_work() && !world.input_waits()) {
      world.print(server.work());
    } else if (world.wait_for_input(worker.descriptor())) {
      const std::string bytes = world.read_input();
      if (bytes.empty()) break;
      world.print(server.receive(bytes));
    }
    if (!world.finish_output()) break;
  }
  return server.ended_well() ? ExitCode::Holds : ExitCode::CheckStops;
}

}  // namespace cairn
