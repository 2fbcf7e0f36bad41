// Answers as JSON: each function gives one JSON value as text.

#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "compiler/editor/answers.h"

namespace cairn {

// Codes of JSON-RPC 2.0 and the Language Server Protocol 3.17.
enum class ReplyError : int {
  ParseError = -32700,
  InvalidRequest = -32600,
  MethodNotFound = -32601,
  InvalidParams = -32602,
  ServerNotInitialized = -32002,
  RequestFailed = -32803,
  ContentModified = -32801,
  RequestCancelled = -32800,
};

// Whole messages.
std::string result_message(const std::string& id, const std::string& result);
std::string error_message(const std::string& id, ReplyError code, std::string_view message);
std::string diagnostics_message(const std::string& uri, const std::vector<EditorDiagnostic>& diagnostics);
std::string show_message(std::string_view text);

// Results.
std::string capabilities_json(std::string_view version);
std::string hover_json(const std::optional<HoverAnswer>& hover);
std::string completion_json(const std::vector<CompletionItem>& items, bool snippets);
std::string locations_json(const std::vector<Location>& locations);
std::string edits_json(const std::vector<TextEdit>& edits);           // of one document
std::string workspace_edit_json(const std::vector<TextEdit>& edits);  // by document
std::string prepare_rename_json(const TextRange& range, std::string_view name);
std::string symbols_json(const std::vector<SymbolNode>& symbols);
std::string semantic_tokens_json(const std::vector<std::uint32_t>& data);
std::string inlay_hints_json(const std::vector<InlayHint>& hints);
std::string code_actions_json(const std::vector<CodeAction>& actions);

// The words that semantic tokens are numbered by.
std::vector<std::string> semantic_token_words();

}  // namespace cairn
