// What to say about a statement that cannot be read.
//
// The statement is cut into tokens once more, up to the one that does not fit, and the generated parser says
// what it would have accepted there; this turns it into words and, where a near spelling exists, a fix.

#pragma once

#include <string>

#include "compiler/syntax/statement_reader.h"

namespace cairn {

struct MistakePlace {
  std::string_view text;
  FileId file;
  std::uint32_t begin = 0;  // of the statement's keyword (for a stray token: of the statement before it)
  Token failed;             // the token that does not fit
};

// Reports the one mistake of a statement, head or item.
void report_mistake(const MistakePlace& place, Diagnostics& diagnostics);

// A token where a statement (or, outside blocks, an item) should begin. `after_statement`: on the line of
// another statement, which it probably belongs to.
void report_unknown_statement(const MistakePlace& place, bool in_block, bool after_statement,
                              Diagnostics& diagnostics);

// A token that has no place in a rule: after its sentence (`second`), or where its sentence should be.
void report_not_in_rule(const MistakePlace& place, Span rule, bool second, Diagnostics& diagnostics);

// The file ends, or an item begins, inside the block that `block` opened. `crowded`, when valid: the first
// statement that stands as far left as its block.
void report_unclosed_block(const MistakePlace& place, Span block, Span crowded, bool at_margin,
                           Diagnostics& diagnostics);

// Is the failed word probably a misspelt keyword that begins a statement?
bool near_statement(const MistakePlace& place);

// True when the token is wrong in itself (a stray character, text without its end, ...), and says so.
bool report_broken_token(const MistakePlace& place, Diagnostics& diagnostics);

// "`span`", "the name `camera`", "the number `3`": how messages show a token.
std::string token_words(std::string_view text, const Token& token);

}  // namespace cairn
