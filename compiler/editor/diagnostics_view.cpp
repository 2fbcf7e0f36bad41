// Message, labels and hints in one text, because clients show little else; labels also as related places.

#include "compiler/editor/diagnostics_view.h"

#include <algorithm>

namespace cairn {

namespace {

EditorDiagnostic shown(Workspace& workspace, const Analysis& analysis, const Diagnostic& diagnostic) {
  EditorDiagnostic result;
  if (diagnostic.primary.is_valid()) result.range = analysis.range(diagnostic.primary);
  result.severity = static_cast<int>(diagnostic.severity) + 1;
  result.code = std::string(diagnostic.code);
  result.message = diagnostic.message;
  if (!diagnostic.primary_label.empty()) result.message += "\n" + diagnostic.primary_label;
  for (const Fix& fix : diagnostic.fixes) result.message += "\n" + fix.text;
  for (const std::string& hint : diagnostic.hints) result.message += "\n" + hint;
  for (const Label& label : diagnostic.labels) {
    if (!label.span.is_valid()) continue;
    const std::string& path = analysis.paths[label.span.file.value];
    result.related.push_back({{workspace.uri_of(path), analysis.range(label.span)}, label.text});
  }
  return result;
}

TextEdit edit_of(Workspace& workspace, const Analysis& analysis, const Fix& fix) {
  return {workspace.uri_of(analysis.paths[fix.span.file.value]), analysis.range(fix.span), fix.replacement};
}

template <class Visit>
void each_diagnostic(const Analysis& analysis, const Visit& visit) {
  for (const Diagnostic& diagnostic : analysis.diagnostics.all()) visit(diagnostic);
  if (!analysis.load) return;  // a text that cannot be checked has nothing but its own mistakes
  for (const Diagnostic& diagnostic : analysis.check_diagnostics) visit(diagnostic);
}

}  // namespace

void add_diagnostics(Workspace& workspace, const Analysis& analysis, DiagnosticsByUri& into) {
  each_diagnostic(analysis, [&](const Diagnostic& diagnostic) {
    const bool placed =
        diagnostic.primary.is_valid() && diagnostic.primary.file.value < analysis.paths.size();
    const std::string& path = placed ? analysis.paths[diagnostic.primary.file.value] : analysis.path;
    std::vector<EditorDiagnostic>& list = into[workspace.uri_of(path)];
    EditorDiagnostic one = shown(workspace, analysis, diagnostic);
    const bool known = std::any_of(list.begin(), list.end(), [&one](const EditorDiagnostic& other) {
      return other.code == one.code && other.range == one.range;
    });
    if (!known) list.push_back(std::move(one));
  });
}

std::vector<CodeAction> code_actions(Workspace& workspace, const Analysis& analysis, FileId file,
                                     TextRange range, bool all) {
  std::vector<CodeAction> actions;
  CodeAction whole;
  whole.title = "Apply every safe correction";
  whole.kind = "source.fixAll";
  Span last;
  each_diagnostic(analysis, [&](const Diagnostic& diagnostic) {
    if (!diagnostic.primary.is_valid() || diagnostic.primary.file != file) return;
    const TextRange place = analysis.range(diagnostic.primary);
    const bool touches = !(range.end < place.begin) && !(place.end < range.begin);
    for (const Fix& fix : diagnostic.fixes) {
      const bool overlaps = last.is_valid() && fix.span.file == last.file && fix.span.begin < last.end;
      if (all && fix.kind == FixKind::Safe && !overlaps) {
        whole.edits.push_back(edit_of(workspace, analysis, fix));
        last = fix.span;
      }
      if (all || !touches) continue;
      CodeAction action;
      action.title = fix.text;
      action.preferred = fix.kind == FixKind::Safe || diagnostic.fixes.size() == 1;
      action.edits.push_back(edit_of(workspace, analysis, fix));
      actions.push_back(std::move(action));
    }
  });
  if (all && !whole.edits.empty()) actions.push_back(std::move(whole));
  return actions;
}

}  // namespace cairn
