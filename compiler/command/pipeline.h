// The way of the data, whole: from a load's text to checked commands, staged bytes and the plan's JSON.

#pragma once

#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "compiler/command/world.h"
#include "compiler/plan/assemble.h"
#include "compiler/plan/read_plan.h"
#include "compiler/text/diagnostic.h"

namespace cairn {

struct CompileOptions {
  std::string load;          // path, or "-"
  std::string station;       // path of the station file; empty: stations/NAME.yaml in the project folder
  std::string after;         // path of the previous plan; empty: the station's initial state
  std::string uplink_from;   // an instant; empty: seven days before the load begins
  std::string leap_seconds;  // path of a newer table; empty: the carried one
};

struct Compiled {
  LoadedStation station;
  SequencedLoad load;
  Timeline timeline;
  CheckResults results;
  Staging staging;
  std::optional<StagingConflict> conflict;          // why not all of it can be staged
  std::string plan;                                 // canonical JSON
  std::size_t first_rule = 0;                       // in the findings, where those of the load's rules begin
  std::set<std::size_t> said;                       // findings of which a mistake in their waiver speaks
  std::map<std::size_t, std::string> waiver_notes;  // by finding: why a waiver does not accept it
  std::vector<std::string> translation;             // differences of the translation check; must be empty
  std::vector<CarriedEntry> withdrawn;              // of earlier loads, by this one
  std::vector<Finding> without;                     // what becomes of the load before without them
};

// The folder that holds all of a project's files: the nearest one at or above the load's that has a
// `stations` folder, else the load's own. Names in messages and plans are relative to it.
std::string project_folder(const std::string& load);

// Reads files of a folder by their path inside it. What leads out of the folder, by dots or by links, is
// refused.
ReadText reader_in(const World& world, const std::string& folder);

// nullopt when the input is wrong; all of that is in `diagnostics`. Failing checks are reported there too,
// with a result.
std::optional<Compiled> compile(const World& world, const CompileOptions& options, SourceFiles& files,
                                Diagnostics& diagnostics);

// The stages between a sequenced load and its plan: times as they are sent, prediction, staging, checks.
// `result` has its station and load. `carried`: what the table still holds then. `surroundings`: kept from
// before.
void check_load(Compiled& result, const PlanEndState& before, const std::vector<CarriedEntry>& carried,
                Instant uplink_from, const Sky& sky, const LeapSecondTable& leap_seconds,
                Diagnostics& diagnostics, const Surroundings* surroundings = nullptr);

// Holds rules and waivers against a load that is checked already and whose commands are the same.
void check_stated(Compiled& result, const PlanEndState& before, const Sky& sky,
                  const LeapSecondTable& leap_seconds, Diagnostics& diagnostics);

// A station alone, for the decoder: by path, or by name in the project around the current folder.
std::optional<LoadedStation> find_station_file(const World& world, const std::string& name_or_path,
                                               SourceFiles& files, const LeapSecondTable& leap_seconds,
                                               Diagnostics& diagnostics);

// The table to use: the carried one, or the file's.
std::optional<LeapSecondTable> leap_second_table(const World& world, const std::string& path,
                                                 Diagnostics& diagnostics);

}  // namespace cairn
