// Renderings of diagnostics: for a terminal and for programs.

#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "compiler/text/diagnostic.h"

namespace cairn {

struct RenderOptions {
  bool colour = false;
  bool one_line = false;    // path:line:column: severity[code]: message
  int width = 100;          // columns of the terminal; long source lines are cut around the span
  std::string path_prefix;  // before every file name, so that it opens from where the user stands
};

// Excerpts with the spans underlined, labels, fixes and hints, and a last line that counts.
std::string render_text(const std::vector<Diagnostic>& diagnostics, const SourceFiles& files,
                        const RenderOptions& options);

// An array of objects: code, severity, message, file, begin/end (line, column, offset), labels, fixes, hints.
std::string render_json(const std::vector<Diagnostic>& diagnostics, const SourceFiles& files);

}  // namespace cairn
