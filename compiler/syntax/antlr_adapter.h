// The one door to ANTLR: the generated lexer and parser, and none of their types.
//
// Good statements never come here. A statement that fails does: the generated parser says what it would have
// accepted where it failed, so that messages follow the grammar. The tests and the benchmark use the rest.

#pragma once

#include <cstddef>
#include <span>
#include <string_view>
#include <vector>

#include "compiler/syntax/tokens.h"

namespace cairn {

// What the grammar accepts in place of the first token of `statement` that it cannot accept, read by the rule
// that the first token selects. Empty when the grammar has no complaint.
std::vector<TokenKind> expected_tokens(std::span<const Token> statement);

// The generated lexer's tokens without comments, and with the EndOfFile token; `text` is good UTF-8.
std::vector<Token> generated_tokens(std::string_view text);

// The usual way with ANTLR: every token, then the whole tree. Gives the number of syntax errors.
struct PlainResult {
  std::size_t errors = 0;
  std::size_t tokens = 0;
  std::size_t nodes = 0;
};
PlainResult plain_parse(std::string_view text);

}  // namespace cairn
