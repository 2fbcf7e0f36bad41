// cairn serve: the language server on standard input and output.

#include "compiler/command/commands.h"
#include "compiler/command/editor_host.h"
#include "compiler/editor/server.h"

namespace cairn {

ExitCode run_serve(const World& world) {
  world.outlive_reader();
  WorldHost host(world);
  LanguageServer server(host, std::string(tool_name));
  while (!server.ended()) {
    if (server.has_work() && !world.input_waits()) {
      world.print(server.work());
    } else {
      const std::string bytes = world.read_input();
      if (bytes.empty()) break;
      world.print(server.receive(bytes));
    }
    if (!world.finish_output()) break;
  }
  return server.ended_well() ? ExitCode::Holds : ExitCode::CheckStops;
}

}  // namespace cairn
