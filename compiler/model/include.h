// A station file and all it includes, merged into one tree.
//
// Maps are merged key by key; for anything else the including file wins over the included one, and a later
// include over an earlier one. Only `windows`, the list that posts share, is joined: windows of all files
// count.

#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "compiler/model/load_yaml.h"
#include "compiler/model/model.h"

namespace cairn {

struct IncludeLimits {
  std::size_t files = 64;  // read in one station, repeated ones counted each time
  std::size_t depth = 16;  // includes within includes
  YamlLimits yaml;
};

struct MergedTree {
  YamlNode root;
  std::vector<FileId> files;
};

std::optional<MergedTree> read_with_includes(const std::string& path, const ReadText& read,
                                             SourceFiles& files, const IncludeLimits& limits,
                                             Diagnostics& diagnostics);

// `written` as seen from the file `from`; nullopt when it would leave the project folder (or, for a station
// file given from outside it, that file's own folder).
std::optional<std::string> resolve_include(std::string_view from, std::string_view written);

}  // namespace cairn
