// Before reading: the wrong encoding in the words of whoever saved the file, and the sizes of the tables.

#include "compiler/syntax/prelude.h"

#include <algorithm>
#include <string>

#include "compiler/syntax/tokens.h"
#include "compiler/text/catalogue.h"

namespace cairn {

void report_encoding(std::string_view text, Span at, Diagnostics& diagnostics) {
  const auto byte = static_cast<unsigned char>(text[at.begin]);
  constexpr std::string_view digits = "0123456789ABCDEF";
  const std::string shown{'`', digits[byte >> 4U], digits[byte & 15U], '`'};
  const std::string what = byte == 0 ? std::string("NUL") : "malformed UTF-8, " + shown + ",";
  auto report = diagnostics.report(diagnostics::BadEncoding, at, what, std::size_t{at.begin});
  const bool wide = text.starts_with("\xFF\xFE") || text.starts_with("\xFE\xFF") ||
                    (text.size() > 3 && (text[0] == '\0') != (text[1] == '\0') &&
                     (text[0] == '\0') == (text[2] == '\0') && (text[1] == '\0') == (text[3] == '\0'));
  const std::string_view head = text.substr(0, 4096);
  const auto controls = std::count_if(head.begin(), head.end(), [](char c) { return c >= 0 && c < 9; });
  if (wide) {
    report.hint("the file is UTF-16: save it as UTF-8");
  } else if (controls > 0) {
    report.hint("this is no text: is it the right file?");
  } else {
    report.hint("save the file as UTF-8; it was probably saved in an older encoding such as Latin-1");
  }
}

void reserve_tables(std::string_view text, std::size_t offset, Tree& tree) {
  constexpr std::size_t most = 1000000;
  std::size_t statements = 0;
  std::size_t arguments = 0;
  std::size_t expressions = 0;
  std::size_t paths = 0;
  TokenSource source(text, offset, nullptr);
  TokenKind before = TokenKind::EndOfFile;
  for (Token token = source.next(); token.kind != TokenKind::EndOfFile; token = source.next()) {
    if (starts_statement(token.kind)) ++statements;
    switch (token.kind) {
      case TokenKind::Send:
      case TokenKind::Bring:
      case TokenKind::Withdraw:
        ++paths;
        break;
      case TokenKind::Equals:
        ++arguments;
        break;
      case TokenKind::Number:
      case TokenKind::Instant:
      case TokenKind::True:
      case TokenKind::False:
      case TokenKind::Plus:
      case TokenKind::Minus:
      case TokenKind::Star:
      case TokenKind::Slash:
        ++expressions;
        break;
      case TokenKind::Name:
      case TokenKind::Text:
        if (before == TokenKind::Equals) ++expressions;
        break;
      default:
        break;
    }
    before = token.kind;
  }
  tree.statements.reserve(std::min(statements, most));
  tree.arguments.reserve(std::min(arguments, most));
  tree.expressions.reserve(std::min(expressions, most));
  tree.paths.reserve(std::min(paths, most));
}

std::size_t indentation_at(std::string_view text, std::uint32_t offset) {
  std::size_t line = offset;
  while (line > 0 && text[line - 1] != '\n') --line;
  std::size_t at = line;
  while (at < text.size() && (text[at] == ' ' || text[at] == '\t')) ++at;
  return at - line;
}

}  // namespace cairn
