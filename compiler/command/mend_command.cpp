// cairn mend: what would make a failing load hold?

#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <map>
#include <set>

#include "compiler/command/clean_folder.h"
#include "compiler/command/mend.h"
#include "compiler/command/review_commands.h"
#include "compiler/plan/canonical_json.h"
#include "compiler/review/mend.h"
#include "compiler/syntax/parse.h"
#include "compiler/text/catalogue.h"
#include "compiler/text/render.h"

namespace cairn {

namespace {

// How a load ended, without its plan.
struct Ending {
  bool holds = false;
  std::optional<Compiled> compiled;
};

Ending ending_of(const World& world, const CompileOptions& options, SourceFiles& files,
                 Diagnostics& diagnostics) {
  Ending ending;
  ending.compiled = compile(world, options, files, diagnostics);
  ending.holds =
      worst_exit(ending.compiled, diagnostics) == ExitCode::Holds && ending.compiled->translation.empty();
  return ending;
}

class Search {
 public:
  Search(const World& world, const CompileOptions& options, const MendLimits& limits)
      : world_(world), options_(options), limits_(limits) {}

  MendResult all(SourceFiles& files, Diagnostics& diagnostics) {
    const auto text = world_.read(options_.load);
    if (!text) {
      diagnostics.report(diagnostics::InputUnreadable, {}, options_.load, text.error());
      return {};
    }
    text_ = *text;
    const Ending ending = ending_of(world_, options_, files, diagnostics);
    result_.holds = ending.holds;
    if (ending.holds || files.size() == 0) return std::move(result_);
    Diagnostics of_parser;
    const FileId load{0};  // the load is the first file that is read
    const Tree tree = parse(files, load, {}, of_parser);
    if (of_parser.has_errors()) return std::move(result_);
    input_.files = &files;
    input_.tree = &tree;
    causes(diagnostics, load);
    if (ending.compiled) {
      wanted(*ending.compiled, load);
      alike(ending.compiled->station.station);
      later_windows(*ending.compiled);
    }
    if (input_.causes.empty()) {
      for (const Item& item : tree.items) input_.causes.push_back(item.span);
    }
    if (copy_project(files)) walk(possible_mends(input_));
    return std::move(result_);
  }

 private:
  void causes(const Diagnostics& diagnostics, FileId load) {
    const auto take = [&](const Span& span) {
      if (span.is_valid() && span.file == load) input_.causes.push_back(span);
    };
    for (const Diagnostic& diagnostic : diagnostics.all()) {
      if (diagnostic.severity != Severity::Error) continue;
      take(diagnostic.primary);
      for (const Label& label : diagnostic.labels) take(label.span);
    }
  }

  // The statements of the load behind the commands that fail, and the states that these commands ask for.
  void wanted(const Compiled& compiled, FileId load) {
    const Station& station = compiled.station.station;
    for (const Finding& finding : compiled.results.findings) {
      if (finding.verdict == Verdict::Holds) continue;
      for (const TimedCommandId id : finding.cause) {
        const Provenance& from = compiled.load.provenance[id.value];
        const Span span = from.calls.empty() ? from.source : from.calls.front();
        if (span.file != load) continue;
        input_.causes.push_back(span);
        if (finding.check != CheckKind::Modes) continue;
        const CommandDefinition& command = station.commands[compiled.load.commands[id.value].command];
        const auto ask = [&](PartId part, const std::vector<StateId>& states) {
          for (const StateId state : states) {
            const Part& of = station.parts[part];
            const std::string& unit = station.units[of.unit].name;
            input_.wanted.push_back(
                {span, of.name.empty() ? unit : unit + "." + of.name, station.states[state].name});
          }
        };
        for (const StateCondition& need : command.needs) ask(need.part, need.states);
        for (const Move& move : command.moves) ask(move.part, move.from);
      }
    }
  }

  // Units that take the same commands, and parts of one unit that have the same states.
  void alike(const Station& station) {
    std::map<std::vector<std::string>, std::vector<std::string>> units;
    for (std::size_t i = 0; i < station.units.size(); ++i) {
      std::vector<std::string> commands;
      for (const CommandDefinition& command : station.commands) {
        if (command.unit == station.units.id_at(i)) commands.push_back(command.name);
      }
      std::sort(commands.begin(), commands.end());
      if (!commands.empty()) units[commands].push_back(station.units[station.units.id_at(i)].name);
    }
    std::map<std::pair<UnitId, std::vector<std::string>>, std::vector<std::string>> parts;
    for (const Part& part : station.parts) {
      if (part.name.empty()) continue;
      std::vector<std::string> states;
      for (const StateId state : part.states) states.push_back(station.states[state].name);
      std::sort(states.begin(), states.end());
      parts[{part.unit, states}].push_back(part.name);
    }
    const auto take = [this](const auto& groups) {
      for (const auto& [key, names] : groups) {
        for (const std::string& from : names) {
          for (const std::string& to : names) {
            if (from != to) input_.alike.emplace_back(from, to);
          }
        }
      }
    };
    take(units);
    take(parts);
  }

  // Where the table or the windows are what fails: the next windows after the first command concerned.
  void later_windows(const Compiled& compiled) {
    const Station& station = compiled.station.station;
    std::optional<Instant> first;
    for (const Finding& finding : compiled.results.findings) {
      if (finding.verdict == Verdict::Holds || finding.check != CheckKind::Table) continue;
      for (const TimedCommandId id : finding.cause) {
        const Instant runs = compiled.load.commands[id.value].time;
        if (!first || runs < *first) first = runs;
      }
    }
    const auto leap_seconds = leap_second_table(world_, options_.leap_seconds, of_windows_);
    if (!first || !leap_seconds) return;
    const CommandLink& link = station.link;
    std::vector<Instant> begins;
    for (const Window& window : station.windows) {
      // Time for what goes up in it, and for the guard before it runs.
      const Instant from =
          window.opens + link.set_up + link.margin + station.table.load_guard + seconds_to_duration(300);
      if (from > *first && from < compiled.load.end) begins.push_back(from);
    }
    std::sort(begins.begin(), begins.end());
    for (const Instant from : begins) input_.window_begins.push_back(format_utc(from, *leap_seconds));
  }

  // All that the load was made of, in a folder where its text can be exchanged.
  bool copy_project(const SourceFiles& files) {
    World::Files copies;
    for (std::uint32_t i = 0; i < files.size(); ++i) {
      const std::string& name = files.name(FileId{i});
      if (!copied_.insert(name).second) continue;
      copies.emplace_back(name, std::string(files.text(FileId{i})));
    }
    const std::filesystem::path project = clean_.path() / "project";
    if (clean_.path().empty() || !world_.write_folder(project.string(), copies)) return false;
    trial_ = options_;
    trial_.load = (project / files.name(FileId{0})).string();
    return true;
  }

  bool holds(const std::string& text) {
    ++result_.tried;
    if (!world_.write_file(trial_.load, text)) return false;
    SourceFiles files;
    Diagnostics diagnostics;
    return ending_of(world_, trial_, files, diagnostics).holds;
  }

  void walk(const std::vector<Mend>& mends) {
    std::map<std::uint32_t, std::int64_t> mended;          // families of shifts that have an answer
    std::map<std::uint32_t, std::int64_t> tried_shift[2];  // greatest that failed, by sign
    std::set<std::string> kinds;
    for (const Mend& mend : mends) {
      if (result_.proposals.size() >= limits_.proposals || result_.tried >= limits_.tries) break;
      if (mend.kind == MendKind::Shift && mended.contains(mend.family)) continue;
      kinds.insert(kind_words(mend.kind));
      std::string text = with_edits(text_, mend.edits);
      if (!holds(text)) {
        if (mend.kind == MendKind::Shift)
          tried_shift[mend.shift < 0 ? 1 : 0][mend.family] = std::abs(mend.shift);
        continue;
      }
      if (mend.kind != MendKind::Shift) {
        result_.proposals.push_back({mend.words, std::move(text)});
        continue;
      }
      const Mend least = least_shift(mend, tried_shift[mend.shift < 0 ? 1 : 0][mend.family]);
      mended[mend.family] = least.shift;
      result_.proposals.push_back({least.words, with_edits(text_, least.edits)});
    }
    result_.kinds_tried.assign(kinds.begin(), kinds.end());
  }

  // Between the greatest step that failed and the one that held, to the second.
  Mend least_shift(Mend best, std::int64_t failed) {
    const std::int64_t sign = best.shift < 0 ? -1 : 1;
    std::int64_t good = std::abs(best.shift);
    while (good - failed > 1 && result_.tried < limits_.tries) {
      const std::int64_t middle = failed + (good - failed) / 2;
      auto mend = with_shift(input_, best, sign * middle);
      if (!mend) break;
      if (holds(with_edits(text_, mend->edits))) {
        best = std::move(*mend);
        good = middle;
      } else {
        failed = middle;
      }
    }
    return best;
  }

  static std::string kind_words(MendKind kind) {
    switch (kind) {
      case MendKind::Shift:
        return "shifts of the blocks concerned, up to a day";
      case MendKind::Bring:
        return "a `bring` before the commands concerned";
      case MendKind::Trim:
        return "repetitions up to three less";
      case MendKind::Swap:
        return "another unit or part of the same kind";
      case MendKind::Split:
        return "blocks in two, the rest after a later window";
      case MendKind::Remove:
        break;
    }
    return "each statement concerned left out";
  }

  const World& world_;
  const CompileOptions& options_;
  const MendLimits& limits_;
  CleanFolder clean_;
  CompileOptions trial_;
  std::set<std::string> copied_;
  MendInput input_;
  MendResult result_;
  Diagnostics of_windows_;
  std::string text_;
};

}  // namespace

MendResult find_mends(const World& world, const CompileOptions& options, const MendLimits& limits,
                      SourceFiles& files, Diagnostics& diagnostics) {
  return Search(world, options, limits).all(files, diagnostics);
}

ExitCode run_mend(const World& world, const MendOptions& options) {
  SourceFiles files;
  Diagnostics diagnostics;
  if (options.compile.load == "-") {
    diagnostics.report(diagnostics::InputUnreadable, {}, options.compile.load,
                       std::string("a load to be mended must be a file"));
    show_diagnostics(world, diagnostics, files, options.show, options.compile.load);
    return ExitCode::WrongInput;
  }
  const MendResult result = find_mends(world, options.compile, {}, files, diagnostics);
  const std::string name = files.size() > 0 ? files.name(FileId{0}) : options.compile.load;
  const std::string before = files.size() > 0 ? std::string(files.text(FileId{0})) : std::string();
  if (options.show.json) {
    diagnostics.sort(files);
    std::string list = render_json(diagnostics.all(), files);
    list.pop_back();
    Json::Array proposals;
    for (const Proposal& proposal : result.proposals) {
      proposals.emplace_back(
          Json::Object{{"words", proposal.words}, {"patch", unified_patch(name, before, proposal.text)}});
    }
    world.print(fmt::format("{{\"diagnostics\":{},\"holds\":{},\"proposals\":{},\"tried\":{}}}\n", list,
                            result.holds, Json(std::move(proposals)).canonical(), result.tried));
  } else {
    show_diagnostics(world, diagnostics, files, options.show, options.compile.load);
    for (const Proposal& proposal : result.proposals) {
      world.print("# " + proposal.words + "\n" + unified_patch(name, before, proposal.text) + "\n");
    }
    if (result.holds) world.print("the load holds; there is nothing to mend\n");
    if (!result.holds && result.proposals.empty()) {
      std::string tried;
      for (const std::string& kind : result.kinds_tried) tried += (tried.empty() ? "" : "; ") + kind;
      world.print(fmt::format("nothing was found among {} changes{}{}\n", result.tried,
                              tried.empty() ? "" : ": ", tried));
    }
  }
  if (result.holds) return ExitCode::Holds;
  return result.proposals.empty() && result.tried == 0 ? ExitCode::WrongInput : ExitCode::CheckStops;
}

}  // namespace cairn
