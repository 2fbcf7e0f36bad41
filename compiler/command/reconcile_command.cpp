// cairn reconcile: a plan against the station's reports, and the load that makes up for what is missing.

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "compiler/command/commands.h"
#include "compiler/command/reported_state.h"
#include "compiler/plan/canonical_json.h"
#include "compiler/plan/digest.h"
#include "compiler/review/reconcile/packets.h"
#include "compiler/review/reconcile/reconcile.h"
#include "compiler/text/catalogue.h"

namespace cairn {

namespace {

// All that is read before anything is asked.
struct Read {
  LeapSecondTable leap_seconds;
  std::string plan_text;
  PlanDocument plan;
  PlanEntries entries;
  std::vector<VerificationReport> reports;
  std::size_t other_packets = 0;
  std::optional<std::vector<TableEntry>> table;
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

// Where the plan began. Another start than that would make all that follows from it wrong.
bool read_start(const World& world, const ReconcileOptions& options, Read& read, Diagnostics& diagnostics) {
  const auto refuse = [&](const std::string& why, const std::string& hint) {
    diagnostics.report(diagnostics::InputPlanBefore, {}, options.plan, why).hint(hint);
    return false;
  };
  const bool by_reports = !read.plan.previous_state.empty();
  const std::string& expected = by_reports ? read.plan.previous_state : read.plan.previous;
  read.start = initial_state(read.station.station);
  if (options.after.empty()) {
    if (expected.empty()) return true;
    return refuse(fmt::format("it follows the {} {}", by_reports ? "state" : "plan", expected.substr(0, 16)),
                  "name that file with --after");
  }
  const auto after = text_of(world, options.after, diagnostics);
  if (!after) return false;
  if (expected.empty()) return refuse("it begins in the station's initial state", "leave --after out");
  if (sha256(*after) != expected) {
    return refuse(fmt::format("it follows the {} {}, and `{}` is another one", by_reports ? "state" : "plan",
                              expected.substr(0, 16), options.after),
                  "name the file that the load was built with");
  }
  const auto state = read_end_state(*after, read.station.station, read.leap_seconds);
  if (!state) {
    diagnostics.report(diagnostics::InputPlan, {}, options.after, state.error())
        .hint("give the plan.json that `cairn build` wrote");
    return false;
  }
  read.start = state->start;
  if (read.plan.withdrawn.empty()) return true;
  // What the load withdraws changes how the load before ends: the plan has that end.
  auto own = read_earlier_load(read.plan_text, read.station.station, read.leap_seconds);
  if (!own) {
    diagnostics.report(diagnostics::InputPlan, {}, options.plan, own.error())
        .hint("give the plan.json that `cairn build` wrote");
    return false;
  }
  read.start = std::move(own->start);
  return true;
}

// Why it is not sure that an entry which the plan withdraws is out of the table; empty: it is, or the request
// is still to be received.
std::string doubt_of(const PlanWithdrawal& withdrawal, const Read& read) {
  const auto instant = [&](const std::string& text) { return parse_utc(text, read.leap_seconds); };
  if (!withdrawal.window) return "no window carries the request";
  if (const auto received = instant(withdrawal.received); received && *received > read.now) return {};
  const auto runs = instant(withdrawal.time);
  if (read.table && runs && *runs > read.now) {
    const bool is_there = std::any_of(read.table->begin(), read.table->end(), [&](const TableEntry& entry) {
      return entry.sequence_count == withdrawal.entry_count;
    });
    return is_there ? "the table still has it" : "";
  }
  std::string doubt = "nothing says that it was";
  for (const VerificationReport& report : read.reports) {
    if (report.sequence_count != withdrawal.request_count) continue;
    if (!report.is_success)
      return "the station refused it" + (report.detail.empty() ? "" : ": " + report.detail);
    if (report.stage == ReportStage::Completion) doubt.clear();
  }
  return doubt;
}

// Reports on the requests that withdraw entries tell of no command of the plan. True: all of that is sure.
bool settle_withdrawals(Read& read, Diagnostics& diagnostics) {
  bool is_sure = true;
  for (const PlanWithdrawal& withdrawal : read.plan.withdrawn) {
    const std::string doubt = doubt_of(withdrawal, read);
    if (doubt.empty()) continue;
    is_sure = false;
    diagnostics.report(diagnostics::InputNotWithdrawn, {}, withdrawal.command, withdrawal.time, doubt)
        .hint("all that is told here takes it as withdrawn; ask the station what it did, or for its table");
  }
  std::erase_if(read.reports, [&](const VerificationReport& report) {
    return std::any_of(read.plan.withdrawn.begin(), read.plan.withdrawn.end(),
                       [&](const PlanWithdrawal& one) { return one.request_count == report.sequence_count; });
  });
  return is_sure;
}

// Reports, and the list of the table.
bool read_station_says(const World& world, const ReconcileOptions& options, Read& read,
                       Diagnostics& diagnostics) {
  const auto text = text_of(world, options.reports, diagnostics);
  if (!text) return false;
  const auto refuse = [&](const std::string& why, const std::string& hint) {
    diagnostics.report(diagnostics::InputReports, {}, options.reports, why).hint(hint);
    return false;
  };
  if (options.packets) {
    auto packets = read_report_packets(*text, read.station.station);
    if (!packets)
      return refuse(packets.error(), "telemetry packets one after another, as in uplink-format.md");
    read.reports = std::move(packets->reports);
    read.other_packets = packets->others;
  } else {
    auto reports = read_reports(*text);
    if (!reports) {
      const bool is_binary = text->find('\0') != std::string::npos;
      return refuse(reports.error(), is_binary ? "if these are telemetry packets, say so with --packets"
                                               : "a table `sequence_count,stage,outcome`, or JSON lines with "
                                                 "these members");
    }
    read.reports = std::move(*reports);
  }
  if (options.table.empty()) return true;
  const auto list = text_of(world, options.table, diagnostics);
  if (!list) return false;
  auto table = read_table_report(*list, read.leap_seconds);
  if (!table) {
    diagnostics.report(diagnostics::InputTable, {}, options.table, table.error())
        .hint("a table `sequence_count,time`, or JSON lines with these members");
    return false;
  }
  read.table = std::move(*table);
  return true;
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
  auto plan_text = text_of(world, options.plan, diagnostics);
  if (!plan_text) return std::nullopt;
  read.plan_text = std::move(*plan_text);
  auto plan = read_plan(read.plan_text);
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
  auto entries = read_entries(read.plan_text, read.station.station, *leap_seconds);
  if (!entries) return wrong_plan(options.plan, entries.error());
  read.entries = std::move(*entries);
  if (!read_start(world, options, read, diagnostics)) return std::nullopt;
  if (!read_station_says(world, options, read, diagnostics)) return std::nullopt;
  return read;
}

std::string listed(const std::vector<std::uint16_t>& counts) {
  std::string text;
  for (const std::uint16_t count : counts) text += (text.empty() ? "" : ", ") + std::to_string(count);
  return text;
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

void show_state(const World& world, const Read& read, const StateText& state, const std::string& path) {
  std::string unknown;
  for (const std::string& part : state.unknown) unknown += (unknown.empty() ? "" : ", ") + part;
  world.print(fmt::format("\nThe state at {} is in {}{}\n", format_utc(state.time, read.leap_seconds), path,
                          unknown.empty() ? "" : "; not known: " + unknown));
  for (const std::string& note : state.notes) world.print("  " + note + "\n");
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
  if (read.other_packets > 0) {
    world.print(counted(read.other_packets, "packet tells", "packets tell") +
                " of something else than this station's requests\n");
  }
}

std::string as_json(const Read& read, const Reconciliation& answer, const ReconcileOptions& options) {
  const auto file = [](const std::string& path) { return path.empty() ? Json() : Json(path); };
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
  Json::Array notes(answer.notes.begin(), answer.notes.end());
  return Json(Json::Object{{"commands", std::move(rows)},
                           {"notes", std::move(notes)},
                           {"recovery", file(options.recovery)},
                           {"state", file(options.state)}})
             .canonical() +
         "\n";
}

bool write(const World& world, const std::string& path, const std::string& text, Diagnostics& diagnostics) {
  const auto written = world.write_file(path, text);
  if (!written) diagnostics.report(diagnostics::OutputUnwritable, {}, path, written.error().sentence);
  return written.has_value();
}

ReconcileInput input_of(const Read& read) {
  ReconcileInput input;
  input.station = &read.station.station;
  input.start = &read.start;
  input.begin = read.entries.begin;
  input.end = read.entries.end;
  input.now = read.now;
  input.commands = read.entries.commands;
  input.has_window = read.entries.has_window;
  input.is_immediate = read.entries.is_immediate;
  input.aboard = read.entries.aboard;
  input.reports = &read.reports;
  if (read.table) input.table = &*read.table;
  input.carried = read.entries.carried;
  return input;
}

// Requests and entries that no plan knows of.
void report_unknown(const ReconcileOptions& options, const Reconciliation& answer, Diagnostics& diagnostics) {
  if (!answer.strangers.empty()) {
    diagnostics.report(diagnostics::InputStrangers, {}, options.reports, listed(answer.strangers))
        .hint("an earlier load's, or commands that Cairn does not know of");
  }
  if (!answer.unexpected.empty()) {
    diagnostics.report(diagnostics::InputUnexpected, {}, options.table, listed(answer.unexpected))
        .hint("find out whose they are; they take room that no load reckons with");
  }
}

// All ran or can still run.
bool all_is_well(const Reconciliation& answer) {
  return std::all_of(answer.commands.begin(), answer.commands.end(), [](const ReconciledCommand& command) {
    const bool is_pending = command.fate == Fate::Waiting || command.fate == Fate::ToBeSent;
    return command.fate == Fate::Ran || command.fate == Fate::Began || (is_pending && command.broken.empty());
  });
}

}  // namespace

ExitCode run_reconcile(const World& world, const ReconcileOptions& options) {
  SourceFiles files;
  Diagnostics diagnostics;
  ShowOptions show = options.show;
  show.json = false;  // problems go to standard error in any case
  auto read = read_all(world, options, files, diagnostics);
  if (!read) {
    show_diagnostics(world, diagnostics, files, show, "-");
    return ExitCode::WrongInput;
  }
  const bool are_withdrawn = settle_withdrawals(*read, diagnostics);
  const ReconcileInput input = input_of(*read);
  const Reconciliation answer = reconcile(input);
  report_unknown(options, answer, diagnostics);
  std::optional<StateText> state;
  if (!options.state.empty() && !are_withdrawn) {
    show_diagnostics(world, diagnostics, files, show, "-");
    return ExitCode::WrongInput;
  }
  if (!options.state.empty()) {
    state = reported_state_text(
        {&read->leap_seconds, options.plan, &read->plan_text, &read->plan, &input, &answer,
         options.next_frame < 0 ? std::nullopt : std::optional(options.next_frame)},
        diagnostics);
    if (!state || !write(world, options.state, state->text, diagnostics)) {
      show_diagnostics(world, diagnostics, files, show, "-");
      return ExitCode::WrongInput;
    }
  }
  if (options.show.json) {
    world.print(as_json(*read, answer, options));
  } else {
    show_text(world, *read, answer);
    if (state) show_state(world, *read, *state, options.state);
  }
  ExitCode code = all_is_well(answer) && are_withdrawn ? ExitCode::Holds : ExitCode::CheckStops;
  if (!options.recovery.empty()) {
    const std::string load =
        recovery_load(read->plan, answer, read->now, read->missed_from, read->leap_seconds);
    if (!write(world, options.recovery, load, diagnostics)) code = ExitCode::WrongInput;
  }
  show_diagnostics(world, diagnostics, files, show, "-");
  return code;
}

}  // namespace cairn
