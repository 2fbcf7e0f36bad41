// Windows from a table with commas, as stations' pass lists come: the same tree as the YAML list would give.

#pragma once

#include <optional>

#include "compiler/model/load_yaml.h"

namespace cairn {

// The first line names the columns `antenna`, `opens` and `closes`, in any order; each further line is a
// window. What is wrong in a value is found by whoever reads the tree, as in YAML.
std::optional<YamlNode> load_windows_csv(const SourceFiles& files, FileId file, const YamlLimits& limits,
                                         Diagnostics& diagnostics);

}  // namespace cairn
