// cairn check: does this load hold?

#include <fmt/format.h>

#include <filesystem>

#include "compiler/command/commands.h"
#include "compiler/pages/pages.h"
#include "compiler/plan/text_list.h"
#include "compiler/text/catalogue.h"
#include "compiler/text/render.h"

namespace cairn {

ExitCode run_check(const World& world, const CheckOptions& options) {
  std::error_code error;
  if (std::filesystem::is_directory(options.compile.load, error)) return run_check_folder(world, options);
  SourceFiles files;
  Diagnostics diagnostics;
  const std::optional<Compiled> compiled = compile(world, options.compile, files, diagnostics);
  if (compiled && !options.page.empty()) {
    if (const auto written = world.write_file(options.page, render_page(compiled->plan)); !written) {
      diagnostics.report(diagnostics::OutputUnwritable, {}, options.page, written.error().sentence);
      show_diagnostics(world, diagnostics, files, options.show, options.compile.load);
      return ExitCode::WrongInput;
    }
  }
  if (options.show.json) {
    diagnostics.sort(files);
    std::string list = render_json(diagnostics.all(), files);
    list.pop_back();  // its line's end
    world.print(fmt::format(R"({{"diagnostics":{},"plan":{}}})"
                            "\n",
                            list, compiled ? compiled->plan : "null"));
    return worst_exit(compiled, diagnostics);
  }
  show_diagnostics(world, diagnostics, files, options.show, options.compile.load);
  if (compiled) {
    const auto plan = read_plan(compiled->plan);
    if (!plan) {
      world.print_error("fault: the plan cannot be read back: " + plan.error() + "\n");
      return ExitCode::ToolFault;
    }
    world.print(verdict_table(*plan, world.colour_for_output()));
    world.print(fmt::format("\n{}: {}, verdict {}\n", plan->load, counted(plan->commands.size(), "command", "commands"), plan->verdict));
  }
  return worst_exit(compiled, diagnostics);
}

}  // namespace cairn
