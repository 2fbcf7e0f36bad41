// cairn build: the plan and its views, all or nothing.

#include <fmt/format.h>

#include <optional>
#include <utility>

#include "compiler/command/commands.h"
#include "compiler/command/ledger_rows.h"
#include "compiler/pages/pages.h"
#include "compiler/plan/canonical_json.h"
#include "compiler/plan/text_list.h"
#include "compiler/text/catalogue.h"
#include "compiler/text/render.h"

namespace cairn {

namespace {

std::string as_text(const Bytes& bytes) { return {bytes.begin(), bytes.end()}; }

World::Files plan_files(const Compiled& compiled, const PlanDocument& plan) {
  World::Files files;
  files.emplace_back("plan.json", compiled.plan);
  files.emplace_back("list.txt", text_list(plan) + "\n" + verdict_table(plan, false));
  files.emplace_back("report.html", render_page(compiled.plan));
  for (std::size_t i = 0; i < compiled.staging.batches.size(); ++i) {
    files.emplace_back(batch_file(compiled.station.station, compiled.staging, i),
                       as_text(compiled.staging.batches[i].bytes));
  }
  files.emplace_back(std::string(backout_file), as_text(compiled.staging.backout));
  return files;
}

}  // namespace

ExitCode run_build(const World& world, const BuildOptions& options) {
  SourceFiles files;
  Diagnostics diagnostics;
  const std::optional<Compiled> compiled = compile(world, options.compile, files, diagnostics);
  const auto finish = [&](ExitCode code, const std::string& folder) {
    if (options.show.json) {
      diagnostics.sort(files);
      std::string list = render_json(diagnostics.all(), files);
      list.pop_back();
      world.print(fmt::format(R"({{"diagnostics":{},"written":{}}})"
                              "\n",
                              list, folder.empty() ? "null" : Json(folder).canonical()));
    } else {
      show_diagnostics(world, diagnostics, files, options.show, options.compile.load);
    }
    return code;
  };
  if (!compiled) return finish(ExitCode::WrongInput, "");
  if (!compiled->translation.empty()) {
    for (const std::string& difference : compiled->translation) {
      world.print_error("fault: the translation check found a difference: " + difference + "\n");
    }
    world.print_error("nothing was written; please report this\n");
    return finish(ExitCode::ToolFault, "");
  }
  const auto plan = read_plan(compiled->plan);
  if (!plan) {
    world.print_error("fault: the plan cannot be read back: " + plan.error() + "\n");
    return finish(ExitCode::ToolFault, "");
  }
  if (!options.show.json) world.print(verdict_table(*plan, world.colour_for_output()));
  if (const ExitCode code = worst_exit(compiled, diagnostics); code != ExitCode::Holds) {
    if (!options.show.json) world.print("\nno plan was written: a check stops it\n");
    return finish(code, "");
  }
  std::optional<Ledger> ledger;
  const auto unusable = [&](const std::string& sentence) {
    report_ledger(options.ledger, sentence, diagnostics);
  };
  if (!options.ledger.empty()) {
    auto opened = Ledger::open(options.ledger);  // before anything is written
    if (!opened) {
      unusable(opened.error());
      return finish(ExitCode::WrongInput, "");
    }
    ledger = std::move(*opened);
  }
  const auto written = world.write_folder(options.folder, plan_files(*compiled, *plan));
  if (!written) {
    if (written.error().error == World::WriteError::Occupied) {
      diagnostics.report(diagnostics::OutputOccupied, {}, options.folder)
          .hint("name an empty folder, a new one, or one that holds an earlier plan");
    } else {
      diagnostics.report(diagnostics::OutputUnwritable, {}, options.folder, written.error().sentence);
    }
    return finish(ExitCode::WrongInput, "");
  }
  if (ledger) {
    const auto recorded = ledger->record(ledger_row(compiled->plan, *plan, LedgerState::Built));
    if (!recorded) {
      unusable(recorded.error());
      return finish(ExitCode::WrongInput, options.folder);
    }
  }
  if (!options.show.json) {
    world.print(fmt::format("\n{}: {} in {}; the plan is in {}\n", plan->load,
                            counted(plan->commands.size(), "command", "commands"),
                            counted(compiled->staging.batches.size(), "batch", "batches"), options.folder));
  }
  return finish(ExitCode::Holds, options.folder);
}

}  // namespace cairn
