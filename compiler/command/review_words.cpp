// The words of the subcommands of review: options and their help, nothing else.

#include <CLI/CLI.hpp>

#include "compiler/command/review_commands.h"

namespace cairn {

struct ReviewWords::Words {
  DiffOptions diff;
  CLI::App* diff_command = nullptr;
};

ReviewWords::ReviewWords(CLI::App& app) : words_(std::make_unique<Words>()) {
  Words& words = *words_;
  words.diff_command =
      app.add_subcommand("diff", "say what is different between two plans, or a plan and a load");
  CLI::App* diff = words.diff_command;
  diff->add_option("OLD", words.diff.before, "plan.json, its folder, or a load")->required();
  diff->add_option("NEW", words.diff.after, "plan.json, its folder, or a load")->required();
  diff->add_option("--old-sources", words.diff.old_sources,
                   "project folder with the texts that went into OLD");
  diff->add_option("--new-sources", words.diff.new_sources,
                   "project folder with the texts that went into NEW");
  diff->add_option("--station", words.diff.compile.station,
                   "of a load: station file, or its name in this project");
  diff->add_option("--after", words.diff.compile.after, "of a load: plan.json of the load before");
  diff->add_option("--uplink-from", words.diff.compile.uplink_from,
                   "of a load: no window before this instant is used");
  diff->add_option("--leap-seconds", words.diff.compile.leap_seconds,
                   "of a load: a newer table of leap seconds");
  diff->add_flag("--json", words.diff.show.json, "answer as JSON, for programs");
  diff->add_flag("--short", words.diff.show.one_line, "one line for each problem");
  diff->footer(
      "Examples:\n  cairn diff old/plan.json new/plan.json\n  cairn diff out/plan.json evening.cairn\n\n"
      "Exit codes: 0 nothing that matters is different, 1 something is, 2 the input is wrong.");
}

ReviewWords::~ReviewWords() = default;

std::optional<ExitCode> ReviewWords::run(const World& world) const {
  if (*words_->diff_command) return run_diff(world, words_->diff);
  return std::nullopt;
}

}  // namespace cairn
