// What would mend a statement that cannot be read: its form, and the slips that people make most.
//
// A mend names what stands in the text: the routine that lacks its parentheses, the argument that lacks its
// `=`. Where nothing of that kind is found, the form of the statement is shown.

#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "compiler/syntax/mistakes.h"

namespace cairn {

// How a statement or item is written: "send UNIT.COMMAND name=value ..."; empty for other tokens.
std::string_view form_of(TokenKind keyword);

// Adds at least one hint or fix. `tokens` are those of the statement, the failed one last.
void mend_statement(const MistakePlace& place, const std::vector<Token>& tokens,
                    const std::vector<TokenKind>& expected, DiagnosticBuilder& report);

// The same for a token where a statement should begin; `before` are the tokens of the statement before it,
// the failed one last, when that stands on the same line.
void mend_stray(const MistakePlace& place, const std::vector<Token>& before, bool in_block,
                DiagnosticBuilder& report);

// A word that begins no statement and is no slip of one that does.
void mend_unknown_word(const MistakePlace& place, bool in_block, DiagnosticBuilder& report);

// The unit of measure that a word is probably meant to be.
std::optional<std::string> unit_meant(std::string_view word);
void mend_unit(Span span, std::string_view word, DiagnosticBuilder& report);

// `number` is what was written: "0,8", "90seconds", "1_000".
void mend_number(Span span, std::string_view number, DiagnosticBuilder& report);

// An instant that lacks its time, its `Z`, or has an offset. `span` grows over what belongs to it.
void mend_instant(std::string_view text, Span span, DiagnosticBuilder& report);

void mend_character(std::string_view text, Span span, DiagnosticBuilder& report);

}  // namespace cairn
