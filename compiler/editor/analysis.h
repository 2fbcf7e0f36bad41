// One load, understood as far as it goes: trees, station, times, checks, and everything there is to say.
//
// Stands for itself: nothing in it changes when the documents do. What later texts still have in common with
// it is taken over from the analysis before.

#pragma once

#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "compiler/editor/text_lines.h"
#include "compiler/editor/workspace.h"
#include "compiler/meaning/meaning.h"

namespace cairn {

// A station file with all it includes, and the texts it was made from.
struct StationModel {
  std::shared_ptr<const LoadedStation> station;            // null: it has mistakes
  std::vector<std::pair<std::string, std::string>> texts;  // path, text
  SourceFiles files;                                       // its own numbering
  Diagnostics diagnostics;
};

struct Analysis {
  std::string path;    // of the load
  std::string folder;  // of the project
  SourceFiles files;
  std::vector<std::string> paths;  // by FileId
  std::vector<TextLines> lines;    // by FileId
  GatherResult gathered;
  std::shared_ptr<const LoadedStation> station;  // null: none is known
  std::optional<SequencedLoad> load;
  std::optional<CheckedLoad> checked;
  bool needs_check = false;
  Diagnostics diagnostics;  // all but those of the checks
  Diagnostics check_diagnostics;

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

// Makes the checks that are still to be made.
void check(Workspace& workspace, Analysis& analysis);

}  // namespace cairn
