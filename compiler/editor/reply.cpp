// The door through which JSON goes out. Text that is not well-formed is mended on its way.

#include "compiler/editor/reply.h"

#include <nlohmann/json.hpp>
#include <utility>

namespace cairn {

namespace {

using Json = nlohmann::json;

std::string text_of(const Json& json) { return json.dump(-1, ' ', false, Json::error_handler_t::replace); }

Json json_of(const TextPosition& position) {
  return {{"line", position.line}, {"character", position.character}};
}
Json json_of(const TextRange& range) {
  return {{"start", json_of(range.begin)}, {"end", json_of(range.end)}};
}
Json json_of(const Location& location) { return {{"uri", location.uri}, {"range", json_of(location.range)}}; }
Json json_of(const TextEdit& edit) { return {{"range", json_of(edit.range)}, {"newText", edit.text}}; }

Json json_of(const EditorDiagnostic& diagnostic) {
  Json json{{"range", json_of(diagnostic.range)},
            {"severity", diagnostic.severity},
            {"code", diagnostic.code},
            {"source", "cairn"},
            {"message", diagnostic.message}};
  if (!diagnostic.related.empty()) {
    Json related = Json::array();
    for (const RelatedPlace& place : diagnostic.related) {
      related.push_back({{"location", json_of(place.location)}, {"message", place.message}});
    }
    json["relatedInformation"] = std::move(related);
  }
  return json;
}

Json json_of(const SymbolNode& symbol) {
  Json children = Json::array();
  for (const SymbolNode& child : symbol.children) children.push_back(json_of(child));
  return {{"name", symbol.name},
          {"detail", symbol.detail},
          {"kind", static_cast<int>(symbol.kind)},
          {"range", json_of(symbol.range)},
          {"selectionRange", json_of(symbol.selection)},
          {"children", std::move(children)}};
}

Json workspace_edit(const std::vector<TextEdit>& edits) {
  Json changes = Json::object();
  for (const TextEdit& edit : edits) changes[edit.uri].push_back(json_of(edit));
  return {{"changes", std::move(changes)}};
}

}  // namespace

std::string result_message(const std::string& id, const std::string& result) {
  return R"({"jsonrpc":"2.0","id":)" + (id.empty() ? "null" : id) + R"(,"result":)" + result + "}";
}

std::string error_message(const std::string& id, ReplyError code, std::string_view message) {
  const Json error{{"code", static_cast<int>(code)}, {"message", message}};
  return R"({"jsonrpc":"2.0","id":)" + (id.empty() ? "null" : id) + R"(,"error":)" + text_of(error) + "}";
}

std::string diagnostics_message(const std::string& uri, const std::vector<EditorDiagnostic>& diagnostics) {
  Json list = Json::array();
  for (const EditorDiagnostic& diagnostic : diagnostics) list.push_back(json_of(diagnostic));
  return text_of({{"jsonrpc", "2.0"},
                  {"method", "textDocument/publishDiagnostics"},
                  {"params", {{"uri", uri}, {"diagnostics", std::move(list)}}}});
}

std::string show_message(std::string_view text) {
  return text_of(
      {{"jsonrpc", "2.0"}, {"method", "window/showMessage"}, {"params", {{"type", 1}, {"message", text}}}});
}

std::string capabilities_json(std::string_view version) {
  const Json tokens{{"legend", {{"tokenTypes", semantic_token_words()}, {"tokenModifiers", Json::array()}}},
                    {"full", true}};
  const Json sync{{"openClose", true}, {"change", 2}, {"save", true}};
  const Json capabilities{{"positionEncoding", "utf-16"},
                          {"textDocumentSync", sync},
                          {"hoverProvider", true},
                          {"completionProvider", {{"triggerCharacters", {".", "=", "\"", "("}}}},
                          {"definitionProvider", true},
                          {"referencesProvider", true},
                          {"renameProvider", {{"prepareProvider", true}}},
                          {"documentFormattingProvider", true},
                          {"documentSymbolProvider", true},
                          {"semanticTokensProvider", tokens},
                          {"inlayHintProvider", true},
                          {"codeActionProvider", {{"codeActionKinds", {"quickfix", "source.fixAll"}}}}};
  return text_of({{"capabilities", capabilities}, {"serverInfo", {{"name", "cairn"}, {"version", version}}}});
}

std::string hover_json(const std::optional<HoverAnswer>& hover) {
  if (!hover) return "null";
  return text_of(
      {{"contents", {{"kind", "markdown"}, {"value", hover->markdown}}}, {"range", json_of(hover->range)}});
}

std::string completion_json(const std::vector<CompletionItem>& items, bool snippets) {
  Json list = Json::array();
  std::size_t rank = 0;
  for (const CompletionItem& item : items) {
    Json json{{"label", item.label}, {"kind", static_cast<int>(item.kind)}};
    std::string order = std::to_string(rank++);
    json["sortText"] = std::string(order.size() < 5 ? 5 - order.size() : 0, '0') + order;
    if (!item.detail.empty()) json["detail"] = item.detail;
    if (!item.documentation.empty())
      json["documentation"] = {{"kind", "markdown"}, {"value", item.documentation}};
    const bool is_snippet = item.insert.find('$') != std::string::npos;
    if (!item.insert.empty() && (snippets || !is_snippet)) {
      json["insertText"] = item.insert;
      if (is_snippet) json["insertTextFormat"] = 2;
    }
    list.push_back(std::move(json));
  }
  return text_of(list);
}

std::string locations_json(const std::vector<Location>& locations) {
  Json list = Json::array();
  for (const Location& location : locations) list.push_back(json_of(location));
  return text_of(list);
}

std::string edits_json(const std::vector<TextEdit>& edits) {
  Json list = Json::array();
  for (const TextEdit& edit : edits) list.push_back(json_of(edit));
  return text_of(list);
}

std::string workspace_edit_json(const std::vector<TextEdit>& edits) { return text_of(workspace_edit(edits)); }

std::string prepare_rename_json(const TextRange& range, std::string_view name) {
  return text_of({{"range", json_of(range)}, {"placeholder", name}});
}

std::string symbols_json(const std::vector<SymbolNode>& symbols) {
  Json list = Json::array();
  for (const SymbolNode& symbol : symbols) list.push_back(json_of(symbol));
  return text_of(list);
}

std::string semantic_tokens_json(const std::vector<std::uint32_t>& data) { return text_of({{"data", data}}); }

std::string inlay_hints_json(const std::vector<InlayHint>& hints) {
  Json list = Json::array();
  for (const InlayHint& hint : hints) {
    Json json{{"position", json_of(hint.position)}, {"label", hint.label}, {"paddingLeft", true}};
    if (!hint.tooltip.empty()) json["tooltip"] = hint.tooltip;
    list.push_back(std::move(json));
  }
  return text_of(list);
}

std::string code_actions_json(const std::vector<CodeAction>& actions) {
  Json list = Json::array();
  for (const CodeAction& action : actions) {
    list.push_back({{"title", action.title},
                    {"kind", action.kind},
                    {"isPreferred", action.preferred},
                    {"edit", workspace_edit(action.edits)}});
  }
  return text_of(list);
}

std::vector<std::string> semantic_token_words() {
  return {"keyword",  "comment",   "string", "number",     "operator", "variable", "parameter",
          "function", "namespace", "method", "enumMember", "property", "event",    "type"};
}

}  // namespace cairn
