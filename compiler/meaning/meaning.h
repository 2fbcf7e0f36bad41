// From trees to a checked load: names, types, dimensions, constants.
//
// Takes the load file's tree and those of all files it uses (already gathered, see `gather`), and the
// station. Error values are silent: what is built on a reported mistake reports nothing more.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "compiler/model/model.h"
#include "compiler/syntax/parse.h"
#include "compiler/text/diagnostic.h"

namespace cairn {

struct Program;  // program.h: the checked form that sequence/ expands; owned by meaning/

// Parses the load and every file it uses, once each; cycles and paths that leave the project folder are
// reported. The load's own tree comes first.
struct GatherResult {
  std::vector<Tree> trees;
  std::vector<FileId> files;
};
GatherResult gather(SourceFiles& files, FileId load, const ReadText& read, const ParseLimits& limits,
                    Diagnostics& diagnostics);

// The station a load is for: the word after `for` in its first load item; nullopt (reported) if there is
// none.
std::optional<Word> station_of(const Tree& tree, Diagnostics& diagnostics);

}  // namespace cairn
