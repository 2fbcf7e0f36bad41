// One form for the three subcommands that judge a plan's folder.

#include "compiler/command/gate_answer.h"

#include <fmt/format.h>

#include <iterator>

#include "compiler/review/gate.h"
#include "compiler/text/render.h"

namespace cairn {

ExitCode end_with_wrong_input(const World& world, Diagnostics& diagnostics, const SourceFiles& files,
                              const ShowOptions& show) {
  if (show.json) {
    diagnostics.sort(files);
    std::string list = render_json(diagnostics.all(), files);
    list.pop_back();
    world.print(fmt::format("{{\"diagnostics\":{},\"gate\":null}}\n", list));
  }
  show_diagnostics(world, diagnostics, files, show, "-");
  return ExitCode::WrongInput;
}

ExitCode end_with_findings(const World& world, const GateFindings& findings, const ShowOptions& show) {
  if (show.json) {
    world.print(fmt::format("{{\"diagnostics\":[],\"gate\":{}}}\n", gate_json(findings)));
  } else {
    world.print(gate_text(findings, world.colour_for_output()));
  }
  return all_passed(findings) ? ExitCode::Holds : ExitCode::CheckStops;
}

void append_findings(GateFindings& findings, GateFindings more) {
  findings.insert(findings.end(), std::make_move_iterator(more.begin()), std::make_move_iterator(more.end()));
}

const std::string& plan_in(const PlanFolder& folder) {
  static const std::string none;
  const auto plan = folder.files.find("plan.json");
  return plan == folder.files.end() ? none : plan->second;
}

}  // namespace cairn
