// cairn check: does this load hold?

#include <fmt/format.h>

#include <filesystem>

#include "compiler/command/apply.h"
#include "compiler/command/commands.h"
#include "compiler/pages/pages.h"
#include "compiler/plan/text_list.h"
#include "compiler/text/catalogue.h"
#include "compiler/text/render.h"

namespace cairn {

namespace {

// Corrects, looks again, and so on until there is nothing more to correct. False when a file cannot be
// written.
bool apply_corrections(const World& world, const CheckOptions& options) {
  constexpr int most_rounds = 50;
  std::size_t applied = 0;
  for (int round = 0; round < most_rounds; ++round) {
    SourceFiles files;
    Diagnostics diagnostics;
    (void)compile(world, options.compile, files, diagnostics);
    const auto texts = corrected(files, diagnostics, options.apply_guesses, applied);
    if (texts.empty()) break;
    const std::string folder = project_folder(options.compile.load);
    for (const auto& [file, text] : texts) {
      const bool is_load = file == FileId{0};
      const std::string path = is_load ? options.compile.load : folder + "/" + files.name(file);
      const auto written = world.write_file(path, text);
      if (written) continue;
      Diagnostics failed;
      failed.report(diagnostics::OutputUnwritable, {}, path, written.error().sentence);
      show_diagnostics(world, failed, files, options.show, options.compile.load);
      return false;
    }
  }
  world.print_error(fmt::format("{} applied\n", counted(applied, "correction", "corrections")));
  return true;
}

}  // namespace

ExitCode run_check(const World& world, const CheckOptions& options) {
  std::error_code error;
  if (std::filesystem::is_directory(options.compile.load, error)) {
    if (options.apply || options.apply_guesses) {
      world.print_error("error: corrections are applied to one load at a time; name the load's file\n");
      return ExitCode::WrongInput;
    }
    return run_check_folder(world, options);
  }
  if (options.apply || options.apply_guesses) {
    if (options.compile.load == "-") {
      world.print_error("error: standard input cannot be corrected; name the load's file\n");
      return ExitCode::WrongInput;
    }
    if (!apply_corrections(world, options)) return ExitCode::WrongInput;
  }
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
    world.print(fmt::format("\n{}: {}, verdict {}\n", plan->load, contents_of(*plan), plan->verdict));
  }
  return worst_exit(compiled, diagnostics);
}

}  // namespace cairn
