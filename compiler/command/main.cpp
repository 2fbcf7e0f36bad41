// The cairn command line. Holds nothing but the words of its options.

#include <CLI/CLI.hpp>
#include <exception>

#include "compiler/command/commands.h"
#include "compiler/command/review_commands.h"

namespace {

using namespace cairn;

void add_show(CLI::App* command, ShowOptions& show) {
  command->add_flag("--json", show.json, "answer as JSON, for programs");
  command->add_flag("--short", show.one_line, "one line for each problem");
}

void add_compile(CLI::App* command, CompileOptions& options) {
  command
      ->add_option("LOAD", options.load,
                   "the load's file, or - for standard input; check: also a folder of loads")
      ->required();
  command->add_option("--station", options.station,
                      "station file, or its name in this project; else the one that the load names");
  command->add_option("--after", options.after,
                      "plan.json of the load before, or a state from its reports: this one begins there");
  command->add_option("--uplink-from", options.uplink_from,
                      "no window before this instant is used; else 7 d before the load");
  command->add_option("--leap-seconds", options.leap_seconds,
                      "a newer table of leap seconds (leap-seconds.list)");
}

int run(int argc, char** argv) {
  const World world;
  CLI::App app{
      "Cairn compiles a load into a numbered command list, checks that the station can bear it, and builds "
      "the uplink plan.\nA clean check is no permission to transmit."};
  app.name("cairn");
  app.set_version_flag("--version", std::string(tool_name));
  app.require_subcommand(1);
  app.footer(
      "Examples:\n  cairn check evening.cairn\n  cairn build evening.cairn --out out\n  cairn list "
      "out/plan.json\n"
      "  cairn decode out/uplink/*.bin --station alder\n  cairn explain power/reserve\n\n"
      "Exit codes: 0 all holds, 1 a check stops the plan, 2 the input is wrong, 3 a fault of the tool.\n"
      "Colour only on a terminal, never with NO_COLOR.");

  CheckOptions check;
  CLI::App* check_command = app.add_subcommand("check", "check a load: power, heat, modes, command table");
  add_compile(check_command, check.compile);
  add_show(check_command, check.show);
  check_command->add_option("--cache", check.cache,
                            "of a folder: keep answers there, and use those whose inputs are the same");
  check_command->add_option("--page", check.page, "write the page there, also when a check fails");
  check_command->add_flag("--apply", check.apply,
                          "put the corrections that are certain into the files first");
  check_command->add_flag("--apply-guesses", check.apply_guesses, "put in the probable ones, too");
  check_command->footer(
      "Examples:\n  cairn check evening.cairn\n  cairn check evening.cairn --page evening.html\n"
      "  cairn check evening.cairn --after out/plan.json\n  cat evening.cairn | cairn check - --short");

  BuildOptions build;
  CLI::App* build_command = app.add_subcommand("build", "check a load and write its plan: list, page, bytes");
  add_compile(build_command, build.compile);
  add_show(build_command, build.show);
  build_command->add_option("-o,--out", build.folder, "the plan's folder; appears whole or not at all")
      ->required();
  build_command->add_option("--ledger", build.ledger, "record the plan there as built (see `cairn ledger`)");
  build_command->footer(
      "Example:\n  cairn build evening.cairn --out out\n\nWrites plan.json, list.txt, report.html, "
      "uplink/*.bin.");

  ListOptions list;
  CLI::App* list_command = app.add_subcommand("list", "show the numbered command list of a plan");
  list_command->add_option("PLAN", list.plan, "plan.json, or - for standard input")->required();
  list_command->add_flag("--short", list.show.one_line, "one line for each problem");
  list_command->footer("Example:\n  cairn list out/plan.json\n\nFor programs: plan.json itself.");

  DecodeOptions decode;
  CLI::App* decode_command = app.add_subcommand("decode", "read uplink bytes back to commands");
  decode_command->add_option("FILE", decode.files, "bytes files, or - for standard input")->required();
  decode_command->add_option("--station", decode.station, "station file, or its name in this project")
      ->required();
  decode_command->add_option("--leap-seconds", decode.leap_seconds, "a newer table of leap seconds");
  add_show(decode_command, decode.show);
  decode_command->footer("Example:\n  cairn decode out/uplink/*.bin --station alder");

  FormatCommandOptions layout;
  CLI::App* format_command = app.add_subcommand("format", "lay out loads in the one way");
  format_command
      ->add_option("FILE", layout.files, "files, folders, or - for standard input to standard output")
      ->required();
  format_command->add_flag("--check", layout.check,
                           "change nothing; say which files would change, and end with 1");
  format_command->add_flag("--short", layout.one_line, "one line for each problem");
  format_command->footer(
      "Examples:\n  cairn format evening.cairn\n  cairn format --check .\n  cairn format - < "
      "evening.cairn\n\n"
      "A file with mistakes of syntax is left alone.");

  WindowsOptions windows;
  CLI::App* windows_command =
      app.add_subcommand("windows", "list and draw uplink windows and what is sent in them");
  windows_command->add_option("PLAN", windows.plans, "plan.json of each load, of one station or several");
  windows_command->add_option("--station", windows.station,
                              "instead of plans: all windows of a station file");
  windows_command->add_option("--leap-seconds", windows.leap_seconds, "a newer table of leap seconds");
  add_show(windows_command, windows.show);
  windows_command->footer(
      "Examples:\n  cairn windows --station alder\n  cairn windows alder/plan.json birch/plan.json");

  ReconcileOptions reconciling;
  CLI::App* reconcile_command =
      app.add_subcommand("reconcile", "hold a plan against what the station reports");
  reconcile_command->add_option("PLAN", reconciling.plan, "plan.json of the load")->required();
  reconcile_command
      ->add_option(
          "REPORTS", reconciling.reports,
          "verification reports: a table with commas, JSON lines, or with --packets telemetry packets")
      ->required();
  reconcile_command->add_option("--now", reconciling.now, "up to when the station has reported")->required();
  reconcile_command->add_option(
      "--station", reconciling.station,
      "station file, or its name in this project; else the one that the plan names");
  reconcile_command->add_option("--after", reconciling.after, "plan.json of the load before");
  reconcile_command->add_option("--recovery", reconciling.recovery,
                                "write a load there with what is still wanted");
  reconcile_command->add_option("--missed-from", reconciling.missed_from,
                                "let what was missed run from this instant on");
  reconcile_command->add_flag("--packets", reconciling.packets,
                              "REPORTS is a file of telemetry packets (docs/uplink-format.md)");
  reconcile_command->add_option("--table", reconciling.table,
                                "what lies in the station's command table by --now, as the station tells");
  reconcile_command->add_option("--state", reconciling.state,
                                "write the state there that the next load starts from, for --after");
  reconcile_command
      ->add_option("--next-frame", reconciling.next_frame,
                   "number of the frame that the station expects next")
      ->check(CLI::Range(0, 255));
  reconcile_command->add_option("--leap-seconds", reconciling.leap_seconds, "a newer table of leap seconds");
  add_show(reconcile_command, reconciling.show);
  reconcile_command->footer(
      "Examples:\n  cairn reconcile out/plan.json reports.csv --now 2031-05-14T00:00:00Z --recovery "
      "recovery.cairn\n"
      "  cairn reconcile out/plan.json reports.csv --now 2031-05-14T00:00:00Z --state state.json");

  LedgerOptions ledger;
  CLI::App* ledger_command =
      app.add_subcommand("ledger", "keep a small book of plans: built, approved, sent");
  ledger_command->add_option("LEDGER", ledger.ledger, "the ledger's file; made when it is not there")
      ->required();
  ledger_command->add_option("PLAN", ledger.plans, "plan.json of each plan to record");
  ledger_command->add_option("--as", ledger.state, "built, approved or sent; else built");
  ledger_command->add_flag("--rebuild", ledger.rebuild, "forget what is there: these plans are all");
  add_show(ledger_command, ledger.show);
  ledger_command->footer(
      "Examples:\n  cairn ledger posts.ledger out/plan.json --as sent\n  cairn ledger posts.ledger");

  CLI::App* serve_command =
      app.add_subcommand("serve", "serve an editor: problems, times and margins while one writes");
  serve_command->footer(
      "Speaks the Language Server Protocol 3.17 on standard input and output; an editor starts it.");

  ExplainOptions explain;
  CLI::App* explain_command = app.add_subcommand("explain", "tell more about a diagnostic's code");
  explain_command->add_option("CODE", explain.code,
                              "such as power/reserve; without one, all codes are listed");
  explain_command->footer("Example:\n  cairn explain power/reserve");

  const ReviewWords review(app);

  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    return app.exit(error) == 0 ? static_cast<int>(ExitCode::Holds) : static_cast<int>(ExitCode::WrongInput);
  }
  ExitCode code = ExitCode::Holds;
  if (*check_command) code = run_check(world, check);
  if (*build_command) code = run_build(world, build);
  if (*list_command) code = run_list(world, list);
  if (*decode_command) code = run_decode(world, decode);
  if (*format_command) code = run_format(world, layout);
  if (*windows_command) code = run_windows(world, windows);
  if (*reconcile_command) code = run_reconcile(world, reconciling);
  if (*ledger_command) code = run_ledger(world, ledger);
  if (*serve_command) code = run_serve(world);
  if (*explain_command) code = run_explain(world, explain);
  if (const auto ended = review.run(world)) code = *ended;
  if (!world.finish_output()) {
    world.print_error("error: standard output cannot be written\n");
    return static_cast<int>(ExitCode::WrongInput);
  }
  return static_cast<int>(code);
}

}  // namespace

int main(int argc, char** argv) {
  try {
    return run(argc, argv);
  } catch (const std::exception& error) {
    World().print_error(std::string("fault: ") + error.what() +
                        "\nnothing was written; please report this\n");
    return static_cast<int>(ExitCode::ToolFault);
  }
}
