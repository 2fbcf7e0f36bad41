// Diagnostics as the protocol shows them: by document.

#pragma once

#include <map>
#include <string>
#include <vector>

#include "compiler/editor/analysis.h"

namespace cairn {

using DiagnosticsByUri = std::map<std::string, std::vector<EditorDiagnostic>>;

// Adds those of the analysis; what another one has said of the same place is not said again.
void add_diagnostics(Workspace& workspace, const Analysis& analysis, DiagnosticsByUri& into);

// The fixes that touch the range, each by itself; with `all` one action that applies every safe one.
std::vector<CodeAction> code_actions(Workspace& workspace, const Analysis& analysis, FileId file,
                                     TextRange range, bool all);

}  // namespace cairn
