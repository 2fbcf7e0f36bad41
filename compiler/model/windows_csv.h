// Windows, or Sun and Earth over a site, from a table with commas: the same tree as the YAML list would give.

#pragma once

#include <optional>

#include "compiler/model/load_yaml.h"

namespace cairn {

// The first line names the columns, in any order: `antenna`, `opens` and `closes`, or those of a row of
// `sky`. What is wrong in a value is found by whoever reads the tree, as in YAML.
std::optional<YamlNode> load_windows_csv(const SourceFiles& files, FileId file, const YamlLimits& limits,
                                         Diagnostics& diagnostics);

}  // namespace cairn
