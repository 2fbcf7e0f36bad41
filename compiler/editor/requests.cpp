// The requests about a place in a document.

#include <algorithm>

#include "compiler/editor/diagnostics_view.h"
#include "compiler/editor/features.h"
#include "compiler/editor/reply.h"
#include "compiler/editor/server.h"
#include "compiler/syntax/formatter.h"
#include "compiler/syntax/tokens.h"

namespace cairn {

namespace {

constexpr int request_failed = static_cast<int>(ReplyError::RequestFailed);

Location location_of(Workspace& workspace, const Analysis& analysis, Span span) {
  return {workspace.uri_of(analysis.paths[span.file.value]), analysis.range(span)};
}

// One word that may be a name: nothing else of the language is written so.
bool may_be_name(std::string_view word) {
  TokenSource source(word, 0, nullptr);
  const Token token = source.next();
  return is_name(token.kind) && token.begin == 0 && token.end == word.size();
}

}  // namespace

void LanguageServer::hover(const Request& request) {
  const auto view = view_of(request);
  if (!view) return reply(request, "null");
  if (waits_for_checks(request, *view->seen)) return;
  const Analysis& analysis = *view->seen->analysis;
  const std::uint32_t offset = analysis.offset(view->file, request.position);
  reply(request, hover_json(cairn::hover(analysis, names(*view->seen), view->file, offset,
                                         workspace_.host().leap_seconds())));
}

void LanguageServer::complete(const Request& request) {
  const auto view = view_of(request);
  if (!view) return reply(request, "[]");
  const Analysis& analysis = *view->seen->analysis;
  std::vector<std::string> stations;
  for (std::string file : workspace_.host().files_below(analysis.folder + "/stations", ".yaml")) {
    if (file.find('/') == std::string::npos) stations.push_back(file.substr(0, file.size() - 5));
  }
  // Paths are written relative to the file.
  std::vector<std::string> modules;
  const std::string own = workspace_.host().relative(analysis.folder, view->document->path);
  std::string up;
  for (const char c : own) up += c == '/' ? "../" : "";
  for (const std::string& file : workspace_.host().files_below(analysis.folder, ".cairn")) {
    if (file != own) modules.push_back(up + file);
  }
  const std::uint32_t offset = analysis.offset(view->file, request.position);
  reply(request,
        completion_json(cairn::complete(analysis, view->file, offset, stations, modules), snippets_));
}

void LanguageServer::define(const Request& request) {
  const auto view = view_of(request);
  if (!view) return reply(request, "[]");
  const Analysis& analysis = *view->seen->analysis;
  const NameUse* name =
      name_at(names(*view->seen), view->file, analysis.offset(view->file, request.position));
  std::vector<Location> places;
  if (name != nullptr && name->target.is_valid())
    places.push_back(location_of(workspace_, analysis, name->target));
  reply(request, locations_json(places));
}

void LanguageServer::refer(const Request& request) {
  const auto view = view_of(request);
  if (!view) return reply(request, "[]");
  const Analysis& analysis = *view->seen->analysis;
  const std::vector<NameUse>& all = names(*view->seen);
  std::vector<Location> places;
  if (const NameUse* name = name_at(all, view->file, analysis.offset(view->file, request.position))) {
    for (const NameUse& use : uses_of(all, *name)) {
      if (use.defines && !request.include_declaration) continue;
      places.push_back(location_of(workspace_, analysis, use.span));
    }
  }
  reply(request, locations_json(places));
}

void LanguageServer::prepare_rename(const Request& request) {
  const auto view = view_of(request);
  if (!view) return reply(request, "null");
  const Analysis& analysis = *view->seen->analysis;
  const NameUse* name =
      name_at(names(*view->seen), view->file, analysis.offset(view->file, request.position));
  if (name == nullptr || !is_of_language(name->kind) || !name->target.is_valid())
    return reply(request, "null");
  reply(request, prepare_rename_json(analysis.range(name->span), analysis.files.text(name->span)));
}

void LanguageServer::rename(const Request& request) {
  const auto view = view_of(request);
  if (!view) return fail(request, request_failed, "the document is not open");
  const Analysis& analysis = *view->seen->analysis;
  const std::vector<NameUse>& all = names(*view->seen);
  const NameUse* name = name_at(all, view->file, analysis.offset(view->file, request.position));
  if (name == nullptr || !name->target.is_valid())
    return fail(request, request_failed, "nothing here has a name");
  if (!is_of_language(name->kind)) {
    return fail(request, request_failed, "this name comes from the station file; rename it there");
  }
  if (!may_be_name(request.new_name)) {
    return fail(request, request_failed,
                "`" + request.new_name +
                    "` cannot be a name: names are letters, digits, `-` and `_`, and no word of the language "
                    "or unit of measure");
  }
  if (analysis.diagnostics.has_errors()) {
    return fail(request, request_failed, "mend the errors first: uses of the name in them would be missed");
  }
  for (const NameUse& other : all) {
    const bool same = is_of_language(other.kind) && analysis.files.text(other.span) == request.new_name;
    if (same && other.target != name->target) {
      return fail(request, request_failed,
                  "`" + request.new_name + "` is taken: another " + std::string(to_word(other.kind)) +
                      " has that name");
    }
  }
  std::vector<TextEdit> edits;
  for (const NameUse& use : uses_of(all, *name)) {
    const Location place = location_of(workspace_, analysis, use.span);
    edits.push_back({place.uri, place.range, request.new_name});
  }
  reply(request, workspace_edit_json(edits));
}

void LanguageServer::format_document(const Request& request) {
  const Document* document = workspace_.find(request.uri);
  if (document == nullptr || !document->is_language()) return reply(request, "null");
  SourceFiles files;
  Diagnostics diagnostics;
  const auto after = format(files, files.add(document->path, document->text), {}, {}, diagnostics);
  if (!after || !same_words(document->text, *after)) return reply(request, "null");
  std::vector<TextEdit> edits;
  if (*after != document->text) {
    // From the first difference to the last, so that the cursor stays where it is.
    const std::string& before = document->text;
    std::size_t begin = 0;
    while (begin < before.size() && begin < after->size() && before[begin] == (*after)[begin]) ++begin;
    while (begin > 0 && before[begin - 1] != '\n') --begin;
    std::size_t tail = 0;
    while (tail < before.size() - begin && tail < after->size() - begin &&
           before[before.size() - 1 - tail] == (*after)[after->size() - 1 - tail]) {
      ++tail;
    }
    while (tail > 0 && before[before.size() - tail - 1] != '\n') --tail;
    const TextRange range{document->lines.position(before, static_cast<std::uint32_t>(begin)),
                          document->lines.position(before, static_cast<std::uint32_t>(before.size() - tail))};
    edits.push_back({document->uri, range, after->substr(begin, after->size() - tail - begin)});
  }
  reply(request, edits_json(edits));
}

void LanguageServer::symbols(const Request& request) {
  const auto view = view_of(request);
  if (!view) return reply(request, "[]");
  reply(request, symbols_json(outline(*view->seen->analysis, view->file)));
}

void LanguageServer::tokens(const Request& request) {
  const auto view = view_of(request);
  if (!view || !view->document->is_language()) return reply(request, "null");
  reply(request,
        semantic_tokens_json(semantic_tokens(*view->seen->analysis, names(*view->seen), view->file)));
}

void LanguageServer::hints(const Request& request) {
  const auto view = view_of(request);
  if (!view) return reply(request, "[]");
  if (waits_for_checks(request, *view->seen)) return;
  reply(request, inlay_hints_json(inlay_hints(*view->seen->analysis, view->file, request.range,
                                              workspace_.host().leap_seconds())));
}

void LanguageServer::actions(const Request& request) {
  const auto view = view_of(request);
  if (!view) return reply(request, "[]");
  const Analysis& analysis = *view->seen->analysis;
  const auto wants = [&request](std::string_view kind) {
    return request.only.empty() ||
           std::any_of(request.only.begin(), request.only.end(), [kind](const std::string& only) {
             return kind == only ||
                    (kind.starts_with(only) && kind.size() > only.size() && kind[only.size()] == '.');
           });
  };
  std::vector<CodeAction> found;
  if (wants("quickfix")) found = code_actions(workspace_, analysis, view->file, request.range, false);
  if (wants("source.fixAll")) {
    for (CodeAction& action : code_actions(workspace_, analysis, view->file, request.range, true)) {
      found.push_back(std::move(action));
    }
  }
  reply(request, code_actions_json(found));
}

}  // namespace cairn
