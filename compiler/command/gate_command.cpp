// cairn gate: may this plan go up now?

#include <fmt/format.h>

#include <filesystem>

#include "compiler/command/clean_folder.h"
#include "compiler/command/gate_answer.h"
#include "compiler/command/ledger_rows.h"
#include "compiler/command/open_ssh.h"
#include "compiler/command/plan_folder.h"
#include "compiler/command/review_commands.h"
#include "compiler/plan/digest.h"
#include "compiler/review/gate.h"
#include "compiler/text/catalogue.h"

namespace cairn {

namespace {

namespace fs = std::filesystem;

// The end of the plan before, or nothing.
class PlanBefore : public LastSent {
 public:
  PlanBefore(std::optional<State> state, bool from_ledger)
      : state_(std::move(state)), from_ledger_(from_ledger) {}
  [[nodiscard]] std::optional<State> state() const override { return state_; }
  [[nodiscard]] std::string missing() const override {
    return from_ledger_ ? "the ledger does not have as sent" : LastSent::missing();
  }

 private:
  std::optional<State> state_;
  bool from_ledger_;
};

bool stays_inside(const std::string& name) {
  const fs::path path(name);
  if (path.is_absolute() || path.empty()) return false;
  for (const fs::path& part : path) {
    if (part == ".." || part == "." || part.empty()) return false;
  }
  return true;
}

class Rebuild {
 public:
  Rebuild(const World& world, const GateOptions& options, const std::string& plan)
      : world_(world), options_(options), plan_(plan) {}

  GateFindings all() {
    const std::string sources = options_.sources.empty() ? project_folder("-") : options_.sources;
    World::Files files;
    std::string load;
    const std::string opening = "load \"" + load_of(plan_) + "\"";
    for (const SourceName& source : sources_of(plan_)) {
      if (!stays_inside(source.name)) {
        refuse(findings_, "source/outside", source.name, "it lies outside the project folder");
        continue;
      }
      auto text = reader_in(world_, sources)(source.name);
      if (!text) {
        refuse(findings_, "source/missing", source.name, text.error());
      } else if (sha256(*text) != source.sha256) {
        refuse(findings_, "source/changed", source.name, "it is not the file that went into the plan");
      } else {
        if (source.name.ends_with(".cairn") && text->find(opening) != std::string::npos) load = source.name;
        files.emplace_back(source.name, std::move(*text));
      }
    }
    if (!findings_.empty()) return std::move(findings_);
    if (load.empty()) {
      refuse(findings_, "source/no-load", "plan.json", "none of its sources holds its load");
      return std::move(findings_);
    }
    build(files, load);
    return std::move(findings_);
  }

 private:
  void build(const World::Files& files, const std::string& load) {
    const CleanFolder clean;
    const fs::path project = clean.path() / "project";
    if (clean.path().empty() || !world_.write_folder(project.string(), files)) {
      refuse(findings_, "rebuild/no-folder", "", "no clean folder could be made for the sources");
      return;
    }
    CompileOptions compile_options = options_.compile;
    compile_options.load = (project / load).string();
    SourceFiles read;
    Diagnostics diagnostics;
    const auto compiled = compile(world_, compile_options, read, diagnostics);
    if (!compiled) {
      std::string why = "the sources cannot be compiled";
      for (const Diagnostic& diagnostic : diagnostics.all()) {
        if (diagnostic.severity != Severity::Error) continue;
        why += fmt::format(": {} ({})", diagnostic.message, diagnostic.code);
        break;
      }
      refuse(findings_, "rebuild/fails", load, why);
      return;
    }
    for (GateFinding& finding : gate_rebuilt(plan_, compiled->plan)) findings_.push_back(std::move(finding));
    if (worst_exit(compiled, diagnostics) != ExitCode::Holds)
      refuse(findings_, "rebuild/stopped", load, "a check stops this load");
    if (!compiled->translation.empty())
      refuse(findings_, "rebuild/translation", load, compiled->translation.front());
  }

  const World& world_;
  const GateOptions& options_;
  const std::string& plan_;
  GateFindings findings_;
};

bool write_views(const World& world, const GateFindings& findings, const GateOptions& options,
                 const std::string& name, Diagnostics& diagnostics) {
  const auto write = [&](const std::string& path, const std::string& text) {
    if (path.empty()) return;
    if (const auto written = world.write_file(path, text); !written)
      diagnostics.report(diagnostics::OutputUnwritable, {}, path, written.error().sentence);
  };
  write(options.sarif, gate_sarif(findings));
  write(options.junit, gate_junit(findings, name));
  write(options.markdown, gate_markdown(findings, name));
  return !diagnostics.has_errors();
}

// A ledger that is not there is not made.
std::expected<std::optional<LastSent::State>, std::string> read_ledger(const World& world,
                                                                       const std::string& path,
                                                                       const std::string& plan) {
  if (const auto there = world.read(path); !there) return std::unexpected(there.error());
  const auto ledger = open_ledger(world, path);
  if (!ledger) return std::unexpected(ledger.error());
  return last_sent(*ledger, plan);
}

}  // namespace

ExitCode run_gate(const World& world, const GateOptions& options) {
  SourceFiles files;
  Diagnostics diagnostics;
  const VerifyOptions& verify = options.verify;
  const auto policy = read_policy_file(world, verify.policy, files, diagnostics);
  const auto now = gate_time(verify.at, diagnostics);
  const auto folder = read_plan_folder(world, verify.folder);
  if (!folder) diagnostics.report(diagnostics::InputUnreadable, {}, verify.folder, folder.error());
  std::optional<LastSent::State> before;
  if (!options.compile.after.empty()) {
    const auto text = world.read(options.compile.after);
    if (text) before = end_of_plan(*text);
    if (!text) {
      diagnostics.report(diagnostics::InputUnreadable, {}, options.compile.after, text.error());
    } else if (!before) {
      diagnostics.report(diagnostics::InputPlan, {}, options.compile.after,
                         std::string("it has no state at its end"));
    }
  }
  if (!policy || !now || !folder || diagnostics.has_errors())
    return end_with_wrong_input(world, diagnostics, files, verify.show);
  const std::string& plan = plan_in(*folder);
  if (!options.ledger.empty()) {
    const auto sent = read_ledger(world, options.ledger, plan);
    if (!sent) {
      report_ledger(options.ledger, sent.error(), diagnostics);
      return end_with_wrong_input(world, diagnostics, files, verify.show);
    }
    before = *sent;
  }
  GateFindings findings = verify_files(*folder, views_of(plan));
  append_findings(findings, verify_signatures(*folder, *policy, OpenSsh(), *now));
  append_findings(findings, gate_times(plan, *now));
  append_findings(findings, gate_sequence(plan, PlanBefore(before, !options.ledger.empty())));
  append_findings(findings, Rebuild(world, options, plan).all());
  if (!write_views(world, findings, options, load_of(plan), diagnostics))
    return end_with_wrong_input(world, diagnostics, files, verify.show);
  return end_with_findings(world, findings, verify.show);
}

}  // namespace cairn
