// What the server answers, as values; reply.cpp turns them into JSON.
//
// Positions count lines from 0 and UTF-16 units within the line, as the protocol does.

#pragma once

#include <compare>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace cairn {

struct TextPosition {
  std::uint32_t line = 0;
  std::uint32_t character = 0;
  friend auto operator<=>(const TextPosition&, const TextPosition&) = default;
};

struct TextRange {
  TextPosition begin;
  TextPosition end;
  friend bool operator==(const TextRange&, const TextRange&) = default;
};

struct Location {
  std::string uri;
  TextRange range;
};

struct TextEdit {
  std::string uri;
  TextRange range;
  std::string text;
};

struct RelatedPlace {
  Location location;
  std::string message;
};

struct EditorDiagnostic {
  TextRange range;
  int severity = 1;  // 1 error, 2 warning, 3 information
  std::string code;
  std::string message;
  std::vector<RelatedPlace> related;
};

struct HoverAnswer {
  std::string markdown;
  TextRange range;
};

// Numbers of the protocol.
enum class CompletionKind : std::uint8_t {
  Method = 2,
  Function = 3,
  Variable = 6,
  Unit = 11,
  Module = 9,
  Property = 10,
  Value = 12,
  Keyword = 14,
  File = 17,
  Member = 20,
  Event = 23
};

struct CompletionItem {
  std::string label;
  CompletionKind kind = CompletionKind::Value;
  std::string detail;
  std::string documentation;
  std::string insert;  // empty: the label
};

enum class SymbolKind : std::uint8_t {
  File = 1,
  Module = 2,
  Method = 6,
  Property = 7,
  Function = 12,
  Variable = 13,
  Constant = 14,
  Event = 24
};

struct SymbolNode {
  std::string name;
  std::string detail;
  SymbolKind kind = SymbolKind::Variable;
  TextRange range;
  TextRange selection;
  std::vector<SymbolNode> children;
};

struct InlayHint {
  TextPosition position;
  std::string label;
  std::string tooltip;
};

struct CodeAction {
  std::string title;
  std::string kind = "quickfix";
  bool preferred = false;
  std::vector<TextEdit> edits;
};

}  // namespace cairn
