// How diagnostics reach the user.

#include <filesystem>

#include "compiler/command/commands.h"
#include "compiler/text/render.h"

namespace cairn {

void show_diagnostics(const World& world, Diagnostics& diagnostics, const SourceFiles& files,
                      const ShowOptions& options, const std::string& load) {
  if (options.json) return;  // part of the JSON answer instead
  diagnostics.sort(files);
  RenderOptions render;
  render.colour = world.colour_for_errors();
  render.one_line = options.one_line;
  render.width = world.width();
  // Names are relative to the project folder; what is shown should open from where the user stands.
  std::error_code error;
  const auto here = std::filesystem::current_path(error);
  const auto folder = std::filesystem::path(project_folder(load)).lexically_relative(here);
  if (!folder.empty() && folder != "." && load != "-") render.path_prefix = folder.generic_string() + "/";
  world.print_error(render_text(diagnostics.all(), files, render));
}

std::string counted(std::size_t count, std::string_view one, std::string_view many) {
  return std::to_string(count) + ' ' + std::string(count == 1 ? one : many);
}

std::string contents_of(const PlanDocument& plan) {
  std::string text = counted(plan.commands.size(), "command", "commands");
  if (!plan.withdrawn.empty()) text += " and " + counted(plan.withdrawn.size(), "withdrawal", "withdrawals");
  return text;
}

ExitCode worst_exit(const std::optional<Compiled>& compiled, const Diagnostics& diagnostics) {
  if (!compiled) return ExitCode::WrongInput;
  const bool holds = overall(compiled->results.findings) == Verdict::Holds;
  return holds && !diagnostics.has_errors() ? ExitCode::Holds : ExitCode::CheckStops;
}

}  // namespace cairn
