// YAML text to a tree with places; the one door of the YAML library.

#pragma once

#include <cstddef>
#include <optional>

#include "compiler/model/node.h"
#include "compiler/text/diagnostic.h"

namespace cairn {

// What a hostile or broken file may cost at most. Aliases count as often as they are used.
struct YamlLimits {
  std::size_t file_bytes = 4U << 20U;
  std::size_t depth = 32;
  std::size_t nodes = 200'000;
  std::size_t text_bytes = 16U << 20U;
};

// Reads one document. nullopt when the text is no YAML or goes over a limit; a duplicate key is reported and
// its second value dropped, so that reading goes on.
std::optional<YamlNode> load_yaml(const SourceFiles& files, FileId file, const YamlLimits& limits,
                                  Diagnostics& diagnostics);

}  // namespace cairn
