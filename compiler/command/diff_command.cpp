// cairn diff: what is different between two plans, and what made it so.

#include <fmt/format.h>

#include <filesystem>

#include "compiler/command/review_commands.h"
#include "compiler/pages/pages.h"
#include "compiler/plan/digest.h"
#include "compiler/review/difference.h"
#include "compiler/text/catalogue.h"
#include "compiler/text/render.h"

namespace cairn {

namespace {

namespace fs = std::filesystem;

// One side: its plan's text, and the folders in which the texts that went in may lie.
struct Side {
  std::string json;
  ReviewedPlan plan;
  std::vector<std::string> folders;
};

bool is_load(const std::string& path, const std::string& text) {
  const std::size_t first = text.find_first_not_of(" \t\r\n");
  return path.ends_with(".cairn") || (first != std::string::npos && text[first] != '{');
}

std::string plan_path(const std::string& given) {
  std::error_code error;
  return fs::is_directory(given, error) ? (fs::path(given) / "plan.json").string() : given;
}

class Reading {
 public:
  Reading(const World& world, const DiffOptions& options) : world_(world), options_(options) {}

  std::optional<Side> side(const std::string& given, const std::string& sources) {
    const std::string path = plan_path(given);
    const auto text = world_.read(path);
    if (!text) {
      diagnostics.report(diagnostics::InputUnreadable, {}, path, text.error());
      return std::nullopt;
    }
    Side side;
    if (is_load(path, *text)) {
      CompileOptions compile_options = options_.compile;
      compile_options.load = path;
      Diagnostics found;
      const auto compiled = compile(world_, compile_options, files, found);
      if (!compiled) {
        diagnostics.append(std::move(found));
        return std::nullopt;
      }
      side.json = compiled->plan;
    } else {
      side.json = *text;
    }
    auto plan = read_reviewed_plan(side.json);
    if (!plan) {
      diagnostics.report(diagnostics::InputPlan, {}, path, plan.error())
          .hint("give the plan.json that `cairn build` wrote, or a load");
      return std::nullopt;
    }
    side.plan = std::move(*plan);
    if (!sources.empty()) side.folders.push_back(sources);
    side.folders.push_back(project_folder(path));
    side.folders.push_back(project_folder("-"));
    return side;
  }

  Diagnostics diagnostics;
  SourceFiles files;

 private:
  const World& world_;
  const DiffOptions& options_;
};

// A text counts only when its digest is the one that the plan names: then it is what went in, wherever it
// lies.
FindText finder(const World& world, const std::vector<std::string>& folders) {
  return [&world, folders](const std::string& name, const std::string& digest) -> std::optional<std::string> {
    for (const std::string& folder : folders) {
      auto text = reader_in(world, folder)(name);
      if (text && sha256(*text) == digest) return std::move(*text);
    }
    return std::nullopt;
  };
}

}  // namespace

ExitCode run_diff(const World& world, const DiffOptions& options) {
  Reading reading(world, options);
  const std::optional<Side> before = reading.side(options.before, options.old_sources);
  const std::optional<Side> after = before ? reading.side(options.after, options.new_sources) : std::nullopt;
  if (!before || !after) {
    if (options.show.json) {
      reading.diagnostics.sort(reading.files);
      std::string list = render_json(reading.diagnostics.all(), reading.files);
      list.pop_back();
      world.print(fmt::format("{{\"diagnostics\":{},\"difference\":null}}\n", list));
    }
    show_diagnostics(world, reading.diagnostics, reading.files, options.show, options.after);
    return ExitCode::WrongInput;
  }
  std::vector<std::string> folders = before->folders;
  folders.insert(folders.end(), after->folders.begin(), after->folders.end());
  const Difference difference = compare_plans(before->plan, after->plan, finder(world, folders));
  if (!options.page.empty()) {
    const std::string page = render_difference_page(difference_json(difference, before->plan, after->plan),
                                                    before->json, after->json);
    if (const auto written = world.write_file(options.page, page); !written) {
      reading.diagnostics.report(diagnostics::OutputUnwritable, {}, options.page, written.error().sentence);
      show_diagnostics(world, reading.diagnostics, reading.files, options.show, options.after);
      return ExitCode::WrongInput;
    }
  }
  if (options.show.json) {
    world.print(fmt::format("{{\"diagnostics\":[],\"difference\":{}}}\n",
                            difference_json(difference, before->plan, after->plan)));
  } else {
    world.print(
        difference_text(difference, before->plan, after->plan, {world.colour_for_output(), world.width()}));
  }
  return difference.matters() ? ExitCode::CheckStops : ExitCode::Holds;
}

}  // namespace cairn
