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

void report_folder(const std::string& folder, const World::WriteProblem& problem, Diagnostics& diagnostics) {
  if (problem.error == World::WriteError::Occupied) {
    diagnostics.report(diagnostics::OutputOccupied, {}, folder)
        .hint("name an empty folder, a new one, or one that holds an earlier plan");
  } else {
    diagnostics.report(diagnostics::OutputUnwritable, {}, folder, problem.sentence);
  }
}

// The plan's folder, and its row in the ledger: both or neither.
ExitCode write_plan(const World& world, const BuildOptions& options, const Compiled& compiled,
                    const PlanDocument& plan, Diagnostics& diagnostics) {
  const auto unusable = [&](const std::string& sentence) {
    report_ledger(options.ledger, sentence, diagnostics);
    return ExitCode::WrongInput;
  };
  const bool is_recorded = !options.ledger.empty();
  std::expected<std::string, std::string> seen;
  std::optional<Ledger> ledger;
  if (is_recorded) {  // before anything is written
    seen = seen_from_ledger(options.ledger, options.folder);
    if (!seen) return unusable(seen.error());
    auto opened = open_ledger(world, options.ledger);
    if (!opened) return unusable(opened.error());
    ledger = std::move(*opened);
  }
  auto folder = world.prepare_folder(options.folder, plan_files(compiled, plan));
  if (!folder) {
    report_folder(options.folder, folder.error(), diagnostics);
    return ExitCode::WrongInput;
  }
  std::expected<void, std::string> put;
  const auto put_in_place = [&] { return put = folder->put(); };
  if (!ledger) {
    (void)put_in_place();
  } else if (const auto recorded = ledger->record_with(ledger_row(compiled.plan, plan, LedgerState::Built),
                                                       *seen, put_in_place);
             !recorded && put) {
    return unusable(recorded.error());
  }
  if (put) return ExitCode::Holds;
  report_folder(options.folder, {World::WriteError::Unwritable, put.error()}, diagnostics);
  return ExitCode::WrongInput;
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
  const ExitCode written = write_plan(world, options, *compiled, *plan, diagnostics);
  if (written != ExitCode::Holds) return finish(written, "");
  if (!options.show.json) {
    world.print(fmt::format("\n{}: {} in {}; the plan is in {}\n", plan->load, contents_of(*plan),
                            counted(compiled->staging.batches.size(), "batch", "batches"), options.folder));
  }
  return finish(ExitCode::Holds, options.folder);
}

}  // namespace cairn
