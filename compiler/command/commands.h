// The subcommands: each reads its options, calls the stages and says how it ended. One file each.

#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "compiler/command/pipeline.h"
#include "compiler/command/world.h"
#include "compiler/plan/read_plan.h"

namespace cairn {

// How diagnostics and results are shown.
struct ShowOptions {
  bool json = false;
  bool one_line = false;
};

struct CheckOptions {
  CompileOptions compile;
  ShowOptions show;
  std::string page;            // where to write the page, also of a load that fails; empty: nowhere
  std::string cache;           // of a folder: where answers are kept; empty: nowhere
  bool apply = false;          // put certain corrections into the files first
  bool apply_guesses = false;  // and those that are only probable
};
// `load` may be a folder: then all loads in it.
ExitCode run_check_folder(const World& world, const CheckOptions& options);
ExitCode run_check(const World& world, const CheckOptions& options);

struct BuildOptions {
  CompileOptions compile;
  ShowOptions show;
  std::string folder;
  std::string ledger;  // the plan is recorded there as built; empty: nowhere
};
ExitCode run_build(const World& world, const BuildOptions& options);

struct ListOptions {
  std::string plan;
  ShowOptions show;
};
ExitCode run_list(const World& world, const ListOptions& options);

struct DecodeOptions {
  std::vector<std::string> files;
  std::string station;
  std::string leap_seconds;
  ShowOptions show;
};
ExitCode run_decode(const World& world, const DecodeOptions& options);

struct FormatCommandOptions {
  std::vector<std::string> files;  // files, folders, or "-"
  bool check = false;              // change nothing, and say what would change
  bool one_line = false;
};
ExitCode run_format(const World& world, const FormatCommandOptions& options);

struct WindowsOptions {
  std::vector<std::string> plans;
  std::string station;  // instead of plans
  std::string leap_seconds;
  ShowOptions show;
};
ExitCode run_windows(const World& world, const WindowsOptions& options);

struct ReconcileOptions {
  std::string plan;
  std::string reports;
  std::string station;      // empty: the one that the plan names
  std::string after;        // the plan before; empty: the station's initial state
  std::string now;          // an instant
  std::string recovery;     // where to write the load that makes up for what is missing; empty: nowhere
  std::string missed_from;  // an instant; empty: what is missed is left to people
  std::string state;        // where to write the state that the next load starts from; empty: nowhere
  bool packets = false;     // the reports are telemetry packets
  std::string table;        // what the station says lies in its table; empty: it was not asked
  int next_frame = -1;      // the number of the next frame, as the station reports it; below 0: not told
  std::string leap_seconds;
  ShowOptions show;
};
ExitCode run_reconcile(const World& world, const ReconcileOptions& options);

struct LedgerOptions {
  std::string ledger;
  std::vector<std::string> plans;  // to record; empty: only list
  std::string state = "built";     // of these plans
  bool rebuild = false;            // the plans are all that there are
  ShowOptions show;
};
ExitCode run_ledger(const World& world, const LedgerOptions& options);

// Talks with an editor on standard input and output until it ends.
ExitCode run_serve(const World& world);

struct ExplainOptions {
  std::string code;  // empty: the list of all codes
};
ExitCode run_explain(const World& world, const ExplainOptions& options);

// Prints the diagnostics in order: text to standard error, or with `json` to standard output as
// "diagnostics".
void show_diagnostics(const World& world, Diagnostics& diagnostics, const SourceFiles& files,
                      const ShowOptions& options, const std::string& load);

// "1 batch", "2 batches".
std::string counted(std::size_t count, std::string_view one, std::string_view many);
// What a plan does, in numbers: its commands, and what it withdraws where it does.
std::string contents_of(const PlanDocument& plan);

// The exit code that a result asks for: none, the input was wrong; anything but `holds`, a check stops it.
ExitCode worst_exit(const std::optional<Compiled>& compiled, const Diagnostics& diagnostics);

}  // namespace cairn
