// What the editor asks of the world and of the checks; made in compiler/command/.
//
// Open documents hide the files of the same path: whoever reads for the editor asks `Workspace` first.

#pragma once

#include <expected>
#include <memory>
#include <string>
#include <vector>

#include "compiler/sequence/sequence.h"
#include "constraints/checks/checks.h"

namespace cairn {

// What the checks say of a load.
struct CheckedLoad {
  Timeline timeline;
  CheckResults results;
  bool whole = false;  // all checks were made
};

class EditorHost {
 public:
  EditorHost() = default;
  EditorHost(const EditorHost&) = delete;
  EditorHost& operator=(const EditorHost&) = delete;
  virtual ~EditorHost() = default;

  // The text of a file; the error is one sentence without the path.
  virtual std::expected<std::string, std::string> read(const std::string& path) = 0;
  // The path without links and dots, whether or not it exists.
  virtual std::string whole(const std::string& path) = 0;
  // The folder that holds all files of the project a load belongs to.
  virtual std::string project_folder(const std::string& load) = 0;
  // A path below the folder as a whole one; an error when a link leads out of it.
  virtual std::expected<std::string, std::string> inside(const std::string& folder,
                                                         const std::string& path) = 0;
  // The path seen from the folder; its own name when it lies outside.
  virtual std::string relative(const std::string& folder, const std::string& path) = 0;
  virtual bool exists(const std::string& path) = 0;
  // Files below the folder whose names end so, relative to it, in order.
  virtual std::vector<std::string> files_below(const std::string& folder, const std::string& ending) = 0;

  virtual const LeapSecondTable& leap_seconds() = 0;
  // Makes every check of a load, as `cairn check` does, and reports what fails. `commands` of the load may be
  // brought to times that the station's clock can say. May be called on a thread of its own, one call at a
  // time.
  virtual CheckedLoad check(const std::shared_ptr<const LoadedStation>& station, SequencedLoad& load,
                            const SourceFiles& files, Diagnostics& diagnostics) = 0;
};

}  // namespace cairn
