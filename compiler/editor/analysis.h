// One load, understood as far as it goes: trees, station, times, checks, and everything there is to say.
//
// Stands for itself: nothing in it changes when the documents do. What later texts still have in common with
// it is taken over from the analysis before.

#pragma once

#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "compiler/editor/text_lines.h"
#include "compiler/editor/workspace.h"
#include "compiler/meaning/meaning.h"

namespace cairn {

// A station file with all it includes.
struct StationModel {
  std::uint64_t revision = 0;  // of the workspace when it was read
  std::set<std::string> asked_paths;
  std::shared_ptr<const LoadedStation> station;  // null: it has mistakes
  SourceFiles files;                             // its own numbering
  Diagnostics diagnostics;
};

struct Analysis {
  std::uint64_t revision = 0;         // of the workspace when it was made
  std::set<std::string> asked_paths;  // whatever was read for it, or looked for in vain
  std::string path;                   // of the load
  std::string folder;                 // of the project
  SourceFiles files;
  std::vector<std::string> paths;  // by FileId
  std::vector<TextLines> lines;    // by FileId
  GatherResult gathered;
  std::shared_ptr<const LoadedStation> station;  // null: none is known
  std::optional<SequencedLoad> load;
  std::optional<CheckedLoad> checked;
  bool needs_check = false;
  Diagnostics diagnostics;                    // all but those of the checks
  std::vector<Diagnostic> check_diagnostics;  // until the checks are done, those of the text before

  // Whether all it was made from is still the same.
  [[nodiscard]] bool is_of(const Workspace& workspace) const;
  [[nodiscard]] const Tree& tree() const { return gathered.trees.front(); }
  [[nodiscard]] std::optional<FileId> file_of(const std::string& path) const;
  [[nodiscard]] TextRange range(Span span) const;
  [[nodiscard]] std::uint32_t offset(FileId file, TextPosition position) const;
};

// Stations by path; read again when one of their texts has changed.
class StationCache {
 public:
  const StationModel& get(Workspace& workspace, const std::string& folder, const std::string& path);

 private:
  std::map<std::string, std::unique_ptr<StationModel>> models_;
};

// Everything but the checks. `before`: the last analysis of the same load, for what has not changed.
std::shared_ptr<Analysis> analyse(Workspace& workspace, StationCache& stations, const std::string& path,
                                  const std::shared_ptr<Analysis>& before);

// The checks of one load, made apart from everything else: neither reads what changes while the other runs.
struct CheckJob {
  std::shared_ptr<Analysis> analysis;  // only read until the job is done
  SequencedLoad load;                  // with the times at which the station's clock lets it run
  CheckedLoad checked;
  Diagnostics diagnostics;
};

// On any thread, one job at a time.
void run(EditorHost& host, CheckJob& job);

}  // namespace cairn
