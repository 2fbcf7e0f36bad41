// cairn reconcile: a plan against the station's reports, and the load that makes up for what is missing.

#include <fmt/format.h>

#include <map>

#include "compiler/command/commands.h"
#include "compiler/plan/canonical_json.h"
#include "compiler/review/reconcile/reconcile.h"
#include "compiler/text/catalogue.h"

namespace cairn {

namespace {

// All that is read before anything is asked.
struct Read {
  LeapSecondTable leap_seconds;
  PlanDocument plan;
  PlanEntries entries;
  std::vector<VerificationReport> reports;
  LoadedStation station;
  StartState start;
  Instant now;
  std::optional<Instant> missed_from;
};

std::optional<Instant> instant_of(const std::string& text, const LeapSecondTable& leap_seconds,
                                  Diagnostics& diagnostics) {
  const auto time = parse_utc(text, leap_seconds);
  if (time) return *time;
  diagnostics.report(diagnostics::InputInstant, {}, text).hint("write it as 2031-05-14T06:00:00Z");
  return std::nullopt;
}

std::optional<std::string> text_of(const World& world, const std::string& path, Diagnostics& diagnostics) {
  auto text = world.read(path);
  if (text) return std::move(*text);
  diagnostics.report(diagnostics::InputUnreadable, {}, path, text.error());
  return std::nullopt;
}

std::optional<Read> read_all(const World& world, const ReconcileOptions& options, SourceFiles& files,
                             Diagnostics& diagnostics) {
  Read read;
  const auto leap_seconds = leap_second_table(world, options.leap_seconds, diagnostics);
  if (!leap_seconds) return std::nullopt;
  read.leap_seconds = *leap_seconds;
  const auto now = instant_of(options.now, *leap_seconds, diagnostics);
  if (!now) return std::nullopt;
  read.now = *now;
  if (!options.missed_from.empty()) {
    read.missed_from = instant_of(options.missed_from, *leap_seconds, diagnostics);
    if (!read.missed_from) return std::nullopt;
  }
  const auto plan_text = text_of(world, options.plan, diagnostics);
  if (!plan_text) return std::nullopt;
  auto plan = read_plan(*plan_text);
  const auto wrong_plan = [&](const std::string& path, const std::string& sentence) {
    diagnostics.report(diagnostics::InputPlan, {}, path, sentence)
        .hint("give the plan.json that `cairn build` wrote");
    return std::nullopt;
  };
  if (!plan) return wrong_plan(options.plan, plan.error());
  read.plan = std::move(*plan);
  auto station = find_station_file(world, options.station.empty() ? read.plan.station : options.station,
                                   files, *leap_seconds, diagnostics);
  if (!station) return std::nullopt;
  read.station = std::move(*station);
  auto entries = read_entries(*plan_text, read.station.station, *leap_seconds);
  if (!entries) return wrong_plan(options.plan, entries.error());
  read.entries = std::move(*entries);
  read.start = initial_state(read.station.station);
  if (!options.after.empty()) {
    const auto after = text_of(world, options.after, diagnostics);
    if (!after) return std::nullopt;
    const auto state = read_end_state(*after, read.station.station, *leap_seconds);
    if (!state) return wrong_plan(options.after, state.error());
    read.start = state->start;
  }
  const auto reports_text = text_of(world, options.reports, diagnostics);
  if (!reports_text) return std::nullopt;
  auto reports = read_reports(*reports_text);
  if (!reports) {
    diagnostics.report(diagnostics::InputReports, {}, options.reports, reports.error())
        .hint("a table `sequence_count,stage,outcome`, or JSON lines with these members");
    return std::nullopt;
  }
  read.reports = std::move(*reports);
  return read;
}

std::string call_of(const PlanCommand& command) {
  std::string call = command.unit + "." + command.name;
  for (const PlanArgument& argument : command.arguments)
    call += fmt::format(" {}={}", argument.name, argument.value);
  return call;
}

std::string remark_of(const ReconciledCommand& command) {
  if (command.broken.empty()) return command.detail;
  std::string text = "will not run: ";
  for (std::size_t i = 0; i < command.broken.size(); ++i) text += (i == 0 ? "" : "; ") + command.broken[i];
  return text;
}

void show_text(const World& world, const Read& read, const Reconciliation& answer) {
  std::map<Fate, std::size_t> numbers;
  for (std::size_t i = 0; i < answer.commands.size(); ++i) {
    const ReconciledCommand& command = answer.commands[i];
    ++numbers[command.fate];
    std::string row = fmt::format("{:>5}  {:<28}  {:<11}  {}", i + 1, read.plan.commands[i].time,
                                  to_word(command.fate), call_of(read.plan.commands[i]));
    const std::string remark = remark_of(command);
    if (!remark.empty()) row += "  (" + remark + ")";
    world.print(row + "\n");
  }
  std::string summary;
  for (const auto& [fate, number] : numbers) {
    summary += fmt::format("{}{} {}", summary.empty() ? "" : ", ", number, to_word(fate));
  }
  world.print(fmt::format("\n{} of {}: {}\n", read.plan.load, read.plan.station,
                          summary.empty() ? "no commands" : summary));
}

std::string as_json(const Read& read, const Reconciliation& answer, const std::string& recovery) {
  Json::Array rows;
  for (std::size_t i = 0; i < answer.commands.size(); ++i) {
    const ReconciledCommand& command = answer.commands[i];
    Json::Array broken;
    for (const std::string& reason : command.broken) broken.emplace_back(reason);
    rows.push_back(Json::Object{{"number", i + 1},
                                {"time", read.plan.commands[i].time},
                                {"command", read.plan.commands[i].unit + "." + read.plan.commands[i].name},
                                {"fate", to_word(command.fate)},
                                {"detail", command.detail},
                                {"broken", std::move(broken)}});
  }
  return Json(Json::Object{{"commands", std::move(rows)},
                           {"recovery", recovery.empty() ? Json() : Json(recovery)}})
             .canonical() +
         "\n";
}

}  // namespace

ExitCode run_reconcile(const World& world, const ReconcileOptions& options) {
  SourceFiles files;
  Diagnostics diagnostics;
  ShowOptions show = options.show;
  show.json = false;  // problems go to standard error in any case
  const auto read = read_all(world, options, files, diagnostics);
  if (!read) {
    show_diagnostics(world, diagnostics, files, show, "-");
    return ExitCode::WrongInput;
  }
  ReconcileInput input;
  input.station = &read->station.station;
  input.start = &read->start;
  input.begin = read->entries.begin;
  input.end = read->entries.end;
  input.now = read->now;
  input.commands = read->entries.commands;
  input.has_window = read->entries.has_window;
  input.is_immediate = read->entries.is_immediate;
  input.reports = &read->reports;
  const Reconciliation answer = reconcile(input);
  if (!answer.strangers.empty()) {
    std::string counts;
    for (const std::uint16_t count : answer.strangers)
      counts += (counts.empty() ? "" : ", ") + std::to_string(count);
    diagnostics.report(diagnostics::InputStrangers, {}, options.reports, counts)
        .hint("an earlier load's, or commands that Cairn does not know of");
  }
  if (options.show.json) {
    world.print(as_json(*read, answer, options.recovery));
  } else {
    show_text(world, *read, answer);
  }
  ExitCode code = ExitCode::Holds;
  for (const ReconciledCommand& command : answer.commands) {
    const bool good = command.fate == Fate::Ran || command.fate == Fate::Began ||
                      (command.fate == Fate::Waiting && command.broken.empty());
    if (!good) code = ExitCode::CheckStops;
  }
  if (!options.recovery.empty()) {
    const std::string load =
        recovery_load(read->plan, answer, read->now, read->missed_from, read->leap_seconds);
    if (const auto written = world.write_file(options.recovery, load); !written) {
      diagnostics.report(diagnostics::OutputUnwritable, {}, options.recovery, written.error().sentence);
      code = ExitCode::WrongInput;
    }
  }
  show_diagnostics(world, diagnostics, files, show, "-");
  return code;
}

}  // namespace cairn
