// The shape of a file: its symbols, and what each word is.

#include <algorithm>
#include <map>

#include "compiler/editor/features.h"
#include "compiler/syntax/formatter.h"
#include "compiler/syntax/tokens.h"

namespace cairn {

namespace {

class Outliner {
 public:
  Outliner(const Analysis& analysis, const Tree& tree) : analysis_(analysis), tree_(tree) {}

  std::vector<SymbolNode> run() {
    std::vector<SymbolNode> symbols;
    for (const Item& item : tree_.items) {
      switch (item.kind) {
        case ItemKind::Use:
          break;
        case ItemKind::Let:
          symbols.push_back(node(item.name, "", SymbolKind::Constant, item.span));
          break;
        case ItemKind::Load:
          symbols.push_back(
              node(item.text, "load for " + std::string(item.station.text), SymbolKind::Module, item.span));
          children(item.first_child, symbols.back().children);
          break;
        case ItemKind::Routine:
          symbols.push_back(node(item.name, "routine", SymbolKind::Function, item.span));
          children(item.first_child, symbols.back().children);
          break;
        case ItemKind::Rule:
          symbols.push_back(node(item.name, "rule", SymbolKind::Function, item.span));
          break;
      }
    }
    return symbols;
  }

 private:
  SymbolNode node(const Word& name, std::string detail, SymbolKind kind, Span whole) const {
    SymbolNode symbol;
    symbol.name = name.text.empty() ? "-" : std::string(name.text);
    symbol.detail = std::move(detail);
    symbol.kind = kind;
    symbol.range = analysis_.range(whole);
    symbol.selection = analysis_.range(name.span.is_valid() ? name.span : whole);
    return symbol;
  }

  void children(StatementId first, std::vector<SymbolNode>& into) const {
    for (StatementId id = first; id.is_valid(); id = tree_.statements[id].next) {
      const Statement& what = tree_.statements[id];
      if (what.kind == StatementKind::Let) {
        into.push_back(node(what.name, "", SymbolKind::Constant, what.span));
      } else if (what.kind == StatementKind::Mark) {
        into.push_back(node(what.name, "mark", SymbolKind::Event, what.span));
      } else if (what.kind == StatementKind::At || what.kind == StatementKind::Every) {
        block(what, into);
      } else if (what.first_child.is_valid()) {
        children(what.first_child, into);
      }
    }
  }

  void block(const Statement& what, std::vector<SymbolNode>& into) const {
    const ExpressionId last = what.kind == StatementKind::At ? what.value : what.third;
    const Span head = cover(what.keyword, tree_.expressions[last].span);
    SymbolNode symbol = node({analysis_.files.text(head), head}, "", SymbolKind::Method, what.span);
    symbol.name = in_one_line(symbol.name);
    if (what.name.is_present()) {
      symbol.detail = symbol.name;
      symbol.name = std::string(what.name.text);
    }
    children(what.first_child, symbol.children);
    into.push_back(std::move(symbol));
  }

  const Analysis& analysis_;
  const Tree& tree_;
};

// Indices into semantic_token_words().
enum class TokenWord : std::uint32_t {
  Keyword,
  Comment,
  Text,
  Number,
  Operator,
  Variable,
  Parameter,
  Function,
  Namespace,
  Method,
  EnumMember,
  Property,
  Event,
  Type
};

TokenWord word_of(NameKind kind) {
  switch (kind) {
    case NameKind::Mark:
    case NameKind::Block:
      return TokenWord::Event;
    case NameKind::Parameter:
    case NameKind::Turn:
      return TokenWord::Parameter;
    case NameKind::Routine:
    case NameKind::Rule:
      return TokenWord::Function;
    case NameKind::Station:
    case NameKind::Unit:
    case NameKind::Antenna:
      return TokenWord::Namespace;
    case NameKind::Part:
    case NameKind::Argument:
      return TokenWord::Property;
    case NameKind::State:
    case NameKind::Choice:
      return TokenWord::EnumMember;
    case NameKind::Command:
      return TokenWord::Method;
    default:
      return TokenWord::Variable;
  }
}

TokenWord word_of(TokenKind kind) {
  switch (kind) {
    case TokenKind::Text:
    case TokenKind::UnclosedText:
      return TokenWord::Text;
    case TokenKind::Number:
    case TokenKind::Instant:
    case TokenKind::BadInstant:
      return TokenWord::Number;
    case TokenKind::Unit:
      return TokenWord::Type;
    case TokenKind::Comment:
      return TokenWord::Comment;
    case TokenKind::Name:
      return TokenWord::Variable;
    default:
      return is_word(kind) ? TokenWord::Keyword : TokenWord::Operator;
  }
}

}  // namespace

std::vector<SymbolNode> outline(const Analysis& analysis, FileId file) {
  for (const Tree& tree : analysis.gathered.trees) {
    if (tree.file == file) return Outliner(analysis, tree).run();
  }
  return {};
}

std::vector<std::uint32_t> semantic_tokens(const Analysis& analysis, const std::vector<NameUse>& names,
                                           FileId file) {
  const std::string_view text = analysis.files.text(file);
  std::map<std::uint32_t, NameKind> named;
  for (const NameUse& use : names) {
    if (use.span.file == file) named.emplace(use.span.begin, use.kind);
  }
  std::vector<Token> comments;
  std::vector<Token> tokens;
  TokenSource source(text, text.starts_with("\xEF\xBB\xBF") ? 3 : 0, &comments);
  for (Token token = source.next(); token.kind != TokenKind::EndOfFile; token = source.next()) {
    if (token.kind < TokenKind::OpenBrace || token.kind > TokenKind::Colon) tokens.push_back(token);
  }
  std::vector<Token> all;
  std::merge(tokens.begin(), tokens.end(), comments.begin(), comments.end(), std::back_inserter(all),
             [](const Token& a, const Token& b) { return a.begin < b.begin; });
  std::vector<std::uint32_t> data;
  data.reserve(all.size() * 5);
  TextPosition before;
  const TextLines& lines = analysis.lines[file.value];
  for (const Token& token : all) {
    if (token.kind == TokenKind::BadCharacter) continue;
    const auto name = named.find(token.begin);
    const TokenWord word =
        name != named.end() && is_name(token.kind) ? word_of(name->second) : word_of(token.kind);
    const TextPosition position = lines.position(text, token.begin);
    const bool same_line = position.line == before.line;
    data.push_back(position.line - before.line);
    data.push_back(position.character - (same_line ? before.character : 0));
    data.push_back(utf16_length(text.substr(token.begin, token.end - token.begin)));
    data.push_back(static_cast<std::uint32_t>(word));
    data.push_back(0);
    before = position;
  }
  return data;
}

}  // namespace cairn
