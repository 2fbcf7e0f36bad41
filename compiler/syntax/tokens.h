// Words of the language, cut by hand.
//
// The definition is grammar/CairnLexer.g4; this source gives the same tokens without building an object for
// each, and a test holds the two against each other. Nothing is stored: a token is a kind and two offsets.

#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace cairn {

// Numbered as the generated lexer numbers them (asserted in antlr_adapter.cpp).
enum class TokenKind : std::uint8_t {
  EndOfFile = 0,
  Use = 1,
  Load,
  For,
  SpanWord,
  To,
  Let,
  Mark,
  Note,
  Send,
  Now,
  Bring,
  Withdraw,
  Do,
  At,
  About,
  As,
  After,
  From,
  Every,
  Together,
  Routine,
  Start,
  End,
  Of,
  Window,
  Opens,
  Closes,
  Rises,
  Falls,
  Above,
  Below,
  NumberWord,
  In,
  Repeat,
  If,
  Else,
  And,
  Or,
  Not,
  Is,
  Require,
  Rule,
  Expect,
  Within,
  Waive,
  Because,
  Until,
  Never,
  Always,
  While,
  Between,
  Only,
  Inside,
  Outside,
  Before,
  No,
  Once,
  Lasts,
  Apart,
  Followed,
  Command,
  Time,
  True,
  False,
  // Words that may be names too.
  Each,
  Times,
  Any,
  More,
  LessWord,
  Than,
  By,
  Since,
  First,
  Last,
  Reference,
  OpenBrace,
  CloseBrace,
  OpenParenthesis,
  CloseParenthesis,
  OpenBracket,
  CloseBracket,
  LessOrEqual,
  Less,
  GreaterOrEqual,
  Greater,
  Equals,
  Dot,
  Comma,
  Colon,
  Plus,
  Minus,
  Star,
  Slash,
  Unit,
  Name,
  Instant,
  BadInstant,
  Number,
  Text,
  UnclosedText,
  Comment,
  Space,
  BadCharacter
};

struct Token {
  TokenKind kind = TokenKind::EndOfFile;
  std::uint32_t begin = 0;
  std::uint32_t end = 0;
  friend bool operator==(const Token&, const Token&) = default;
};

class TokenSource {
 public:
  // Begins at `offset`; comments are added to `comments` when given, and never returned.
  TokenSource(std::string_view text, std::size_t offset, std::vector<Token>* comments)
      : text_(text), offset_(offset), comments_(comments) {}
  // After the last token: EndOfFile, for ever.
  Token next();

 private:
  std::string_view text_;
  std::size_t offset_;
  std::vector<Token>* comments_;
};

// How messages name a kind: "`span`", "a name", "a unit of measure".
std::string kind_words(TokenKind kind);
// The reserved spelling of a keyword or symbol; empty for kinds with many spellings.
std::string_view kind_spelling(TokenKind kind);

// Reserved: no name can be spelled so.
constexpr bool is_keyword(TokenKind kind) { return kind >= TokenKind::Use && kind <= TokenKind::False; }
// A word of the language, reserved or not.
constexpr bool is_word(TokenKind kind) { return kind >= TokenKind::Use && kind <= TokenKind::Reference; }
constexpr bool is_name(TokenKind kind) {
  return kind == TokenKind::Name || (kind >= TokenKind::Each && kind <= TokenKind::Reference);
}

constexpr bool starts_item(TokenKind kind) {
  return kind == TokenKind::Use || kind == TokenKind::Load || kind == TokenKind::Routine ||
         kind == TokenKind::Rule;
}

constexpr bool starts_leaf(TokenKind kind) {
  return kind == TokenKind::Let || kind == TokenKind::Mark || kind == TokenKind::Note ||
         kind == TokenKind::Send || kind == TokenKind::Bring || kind == TokenKind::Withdraw ||
         kind == TokenKind::Do || kind == TokenKind::Require || kind == TokenKind::Expect ||
         kind == TokenKind::Waive;
}

constexpr bool starts_head(TokenKind kind) {
  return kind == TokenKind::At || kind == TokenKind::After || kind == TokenKind::From ||
         kind == TokenKind::Together || kind == TokenKind::For || kind == TokenKind::Repeat ||
         kind == TokenKind::If;
}

constexpr bool starts_statement(TokenKind kind) { return starts_leaf(kind) || starts_head(kind); }

// What a value or condition may begin with.
constexpr bool starts_value(TokenKind kind) {
  return is_name(kind) || kind == TokenKind::Minus || kind == TokenKind::Number ||
         kind == TokenKind::Instant || kind == TokenKind::Text || kind == TokenKind::True ||
         kind == TokenKind::False || kind == TokenKind::OpenParenthesis;
}
constexpr bool starts_sentence(TokenKind kind) {
  return starts_value(kind) || kind == TokenKind::Never || kind == TokenKind::Always ||
         kind == TokenKind::Not || kind == TokenKind::Command || kind == TokenKind::Window ||
         kind == TokenKind::Start || kind == TokenKind::End || kind == TokenKind::Time;
}

}  // namespace cairn
