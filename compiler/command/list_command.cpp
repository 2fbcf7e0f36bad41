// cairn list: the numbered command list of a plan.

#include "compiler/command/commands.h"
#include "compiler/plan/text_list.h"
#include "compiler/text/catalogue.h"

namespace cairn {

ExitCode run_list(const World& world, const ListOptions& options) {
  SourceFiles files;
  Diagnostics diagnostics;
  const auto text = world.read(options.plan);
  if (!text) {
    diagnostics.report(diagnostics::InputUnreadable, {}, options.plan, text.error());
  } else if (const auto plan = read_plan(*text); !plan) {
    diagnostics.report(diagnostics::InputPlan, {}, options.plan, plan.error())
        .hint("give the plan.json that `cairn build` wrote");
  } else {
    world.print(text_list(*plan) + "\n" + verdict_table(*plan, world.colour_for_output()));
    return ExitCode::Holds;
  }
  show_diagnostics(world, diagnostics, files, options.show, "-");
  return ExitCode::WrongInput;
}

}  // namespace cairn
