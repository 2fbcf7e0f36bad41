// One mistake, one message: a token that is wrong in itself goes before the grammar's expectation, which is
// told in the reader's words (a value, an operator) and not as a list of every token.

#include "compiler/syntax/mistakes.h"

#include <algorithm>
#include <cctype>
#include <optional>
#include <utility>
#include <vector>

#include "compiler/syntax/antlr_adapter.h"
#include "compiler/syntax/mends.h"
#include "compiler/text/catalogue.h"
#include "compiler/text/spelling.h"

namespace cairn {
namespace {

constexpr std::size_t longest_shown = 40;

std::string quoted(std::string_view text) {
  if (text.size() <= longest_shown) return "`" + std::string(text) + "`";
  std::size_t end = longest_shown;
  while (end > 0 && (static_cast<unsigned char>(text[end]) & 0xC0U) == 0x80U) --end;
  return "`" + std::string(text.substr(0, end)) + "...`";
}

std::string unquoted(std::string_view text) {
  const std::string shown = quoted(text);
  return shown.substr(1, shown.size() - 2);
}

std::string_view spelling(std::string_view text, const Token& token) {
  return text.substr(token.begin, token.end - token.begin);
}

bool contains(const std::vector<TokenKind>& kinds, TokenKind kind) {
  return std::find(kinds.begin(), kinds.end(), kind) != kinds.end();
}

std::vector<std::string> statement_words(bool in_block) {
  std::vector<std::string> words;
  for (auto kind = TokenKind::Use; kind <= TokenKind::False;
       kind = static_cast<TokenKind>(static_cast<int>(kind) + 1)) {
    const bool fits = in_block ? starts_statement(kind) : starts_item(kind) || kind == TokenKind::Let;
    if (fits) words.emplace_back(kind_spelling(kind));
  }
  return words;
}

std::string join_or(const std::vector<std::string>& words) {
  std::string text;
  for (std::size_t i = 0; i < words.size(); ++i) {
    if (i > 0) text += i + 1 == words.size() ? " or " : ", ";
    text += words[i];
  }
  return text;
}

// The grammar's expectation in few words.
std::string expectation(const std::vector<TokenKind>& kinds) {
  std::vector<std::string> words;
  const bool value = contains(kinds, TokenKind::Number);
  const bool after_value = !value && contains(kinds, TokenKind::Star);
  bool only_operators = true;
  if (value) words.emplace_back("a value");
  for (const TokenKind kind : kinds) {
    if (is_word(kind) && is_name(kind) && contains(kinds, TokenKind::Name)) continue;  // a name as well
    switch (kind) {
      case TokenKind::Number:
      case TokenKind::Instant:
      case TokenKind::Text:
      case TokenKind::Name:
      case TokenKind::True:
      case TokenKind::False:
      case TokenKind::OpenParenthesis:
      case TokenKind::Minus:
      case TokenKind::Not:
      case TokenKind::Command:
      case TokenKind::Time:
        if (value) continue;
        break;
      case TokenKind::Window:
      case TokenKind::Start:
      case TokenKind::End:
        if (value && contains(kinds, TokenKind::Command)) continue;
        break;
      default:
        break;
    }
    if (after_value && (kind == TokenKind::Plus || kind == TokenKind::Minus || kind == TokenKind::Star ||
                        kind == TokenKind::Slash || kind == TokenKind::Unit || kind == TokenKind::Dot ||
                        kind == TokenKind::Less || kind == TokenKind::LessOrEqual ||
                        kind == TokenKind::Greater || kind == TokenKind::GreaterOrEqual ||
                        kind == TokenKind::Is || kind == TokenKind::And || kind == TokenKind::Or)) {
      continue;
    }
    only_operators = false;
    words.push_back(kind_words(kind));
  }
  constexpr std::size_t most_words = 6;
  if (after_value && only_operators) return "an operator or the end of the statement";
  if (words.size() > most_words) return "a statement";
  if (words.empty()) return "the end of the statement";
  return join_or(words);
}

// Tokens of the statement up to the failed one.
std::vector<Token> tokens_of(const MistakePlace& place) {
  std::vector<Token> tokens;
  TokenSource source(place.text, place.begin, nullptr);
  for (;;) {
    tokens.push_back(source.next());
    if (tokens.back().begin >= place.failed.begin || tokens.back().kind == TokenKind::EndOfFile)
      return tokens;
  }
}

bool on_one_line(const MistakePlace& place, const Token& first, const Token& last) {
  return place.text.substr(first.begin, last.end - first.begin).find('\n') == std::string_view::npos;
}

Span span_of(const MistakePlace& place, const Token& token) { return {place.file, token.begin, token.end}; }

void report_unknown_unit(const MistakePlace& place, const Token& token, Diagnostics& diagnostics) {
  const std::string_view word = spelling(place.text, token);
  auto report = diagnostics.report(diagnostics::UnknownUnit, span_of(place, token), unquoted(word));
  mend_unit(span_of(place, token), word, report);
}

// The keyword among the expected ones that the failed word is a slip of.
std::optional<std::string> near_keyword(const MistakePlace& place, const std::vector<TokenKind>& expected) {
  std::vector<std::string> words;
  for (const TokenKind kind : expected) {
    if (is_word(kind)) words.emplace_back(kind_spelling(kind));
  }
  const std::string_view word = spelling(place.text, place.failed);
  return word.size() > longest_shown ? std::nullopt : nearest_word(word, words);
}

// A number run together with letters, dots or commas, or a word where its unit should stand.
bool report_number_trouble(const MistakePlace& place, const std::vector<Token>& tokens,
                           const std::vector<TokenKind>& expected, Diagnostics& diagnostics) {
  const std::size_t count = tokens.size();
  const Token failed = tokens.back();
  if (count >= 2) {
    const Token before = tokens[count - 2];
    const bool touching = before.end == failed.begin;
    if (before.kind == TokenKind::Number && touching &&
        (failed.kind == TokenKind::Dot || failed.kind == TokenKind::Comma || is_name(failed.kind) ||
         failed.kind == TokenKind::Number)) {
      std::uint32_t end = failed.end;
      while (end < place.text.size() &&
             (std::isalnum(static_cast<unsigned char>(place.text[end])) != 0 || place.text[end] == '_' ||
              place.text[end] == '.' || place.text[end] == ',')) {
        ++end;
      }
      const Span whole{place.file, before.begin, end};
      const std::string_view number = place.text.substr(before.begin, end - before.begin);
      auto report = diagnostics.report(diagnostics::BadNumber, whole, unquoted(number));
      mend_number(whole, number, report);
      return true;
    }
    if (failed.kind == TokenKind::Dot && contains(expected, TokenKind::Number) &&
        failed.end < place.text.size() && place.text[failed.end] >= '0' && place.text[failed.end] <= '9') {
      TokenSource source(place.text, failed.end, nullptr);
      const Token digits = source.next();
      const std::string good = "0." + std::string(spelling(place.text, digits));
      const Span whole{place.file, failed.begin, digits.end};
      diagnostics
          .report(diagnostics::BadNumber, whole,
                  unquoted(place.text.substr(failed.begin, digits.end - failed.begin)))
          .fix(whole, good, FixKind::Safe, "write `" + unquoted(good) + "`");
      return true;
    }
    if (before.kind == TokenKind::Number && is_name(failed.kind) && on_one_line(place, before, failed) &&
        !near_keyword(place, expected)) {
      report_unknown_unit(place, failed, diagnostics);
      return true;
    }
  }
  if (count >= 3 && tokens[count - 3].kind == TokenKind::Number && is_name(tokens[count - 2].kind) &&
      contains(expected, TokenKind::Equals)) {
    const Token number = tokens[count - 3];
    const Token word = tokens[count - 2];
    if (on_one_line(place, number, word)) {
      if (number.end == word.begin) {
        const std::string_view run = place.text.substr(number.begin, word.end - number.begin);
        const Span whole{place.file, number.begin, word.end};
        auto report = diagnostics.report(diagnostics::BadNumber, whole, unquoted(run));
        mend_number(whole, run, report);
      } else {
        report_unknown_unit(place, word, diagnostics);
      }
      return true;
    }
  }
  return false;
}

// `=` behind a statement that seemed to be whole: the word before it names an argument, and what should stand
// before that word does not.
bool report_lone_argument(const MistakePlace& place, Diagnostics& diagnostics) {
  const std::vector<Token> tokens = tokens_of(place);
  if (tokens.size() < 3) return false;
  const Token name = tokens[tokens.size() - 2];
  if (!is_name(name.kind)) return false;
  const Token before = tokens[tokens.size() - 3];
  const bool path = before.kind == TokenKind::Dot;
  diagnostics
      .report(diagnostics::UnexpectedToken, Span{place.file, name.begin, place.failed.end},
              quoted(place.text.substr(name.begin, place.failed.end - name.begin)),
              std::string(path ? "the name of a command" : "a value"))
      .context(span_of(place, tokens.front()), "in this statement")
      .hint(path ? "a command is written `UNIT.COMMAND` before its arguments"
                 : "each argument is written `NAME=VALUE`; one of the two is missing before this one");
  return true;
}

}  // namespace

std::string token_words(std::string_view text, const Token& token) {
  const std::string_view shown = spelling(text, token);
  if (is_keyword(token.kind)) return "the reserved word " + quoted(shown);
  if (is_name(token.kind)) return "the name " + quoted(shown);
  switch (token.kind) {
    case TokenKind::EndOfFile:
      return "the end of the file";
    case TokenKind::Unit:
      return "the unit of measure " + quoted(shown);
    case TokenKind::Name:
      return "the name " + quoted(shown);
    case TokenKind::Number:
      return "the number " + quoted(shown);
    case TokenKind::Instant:
      return "the instant " + quoted(shown);
    case TokenKind::Text:
      return "the text " + quoted(shown);
    default:
      return quoted(shown);
  }
}

bool report_broken_token(const MistakePlace& place, Diagnostics& diagnostics) {
  const Token token = place.failed;
  const std::string_view shown = spelling(place.text, token);
  switch (token.kind) {
    case TokenKind::UnclosedText:
      diagnostics.report(diagnostics::UnclosedText, span_of(place, token))
          .hint("text ends on the line it begins on; write a line break inside it as `\\n`");
      return true;
    case TokenKind::BadInstant: {
      auto report = diagnostics.report(diagnostics::BadInstant, span_of(place, token), unquoted(shown));
      mend_instant(place.text, span_of(place, token), report);
      return true;
    }
    case TokenKind::BadCharacter: {
      const bool printable = shown.size() > 1 || (shown[0] >= ' ' && shown[0] < '\x7F');
      constexpr std::string_view digits = "0123456789ABCDEF";
      const auto byte = static_cast<unsigned char>(shown[0]);
      std::string words = printable ? quoted(shown) : "the control character `\\x";
      if (!printable) words += {digits[byte >> 4U], digits[byte & 15U], '`'};
      auto report = diagnostics.report(diagnostics::BadCharacter, span_of(place, token), words);
      mend_character(place.text, span_of(place, token), report);
      return true;
    }
    default:
      return false;
  }
}

bool near_statement(const MistakePlace& place) {
  const std::string_view word = spelling(place.text, place.failed);
  if (!is_name(place.failed.kind) || word.size() > longest_shown) return false;
  std::size_t next = place.failed.end;
  while (next < place.text.size() && place.text[next] == ' ') ++next;
  if (next < place.text.size() && (place.text[next] == '=' || place.text[next] == '.')) return false;
  return nearest_word(word, statement_words(true)).has_value() ||
         nearest_word(word, statement_words(false)).has_value();
}

void report_mistake(const MistakePlace& place, Diagnostics& diagnostics) {
  if (report_broken_token(place, diagnostics)) return;
  const std::vector<Token> tokens = tokens_of(place);
  const std::vector<TokenKind> expected = expected_tokens(tokens);
  if (report_number_trouble(place, tokens, expected, diagnostics)) return;
  const Token failed = place.failed;
  auto report = diagnostics.report(diagnostics::UnexpectedToken, span_of(place, failed),
                                   token_words(place.text, failed), expectation(expected));
  if (tokens.size() >= 2) {
    const Token first = tokens.front();
    report.context(span_of(place, first), "in this statement");
  }
  const auto near = is_name(failed.kind) ? near_keyword(place, expected) : std::nullopt;
  if (near) {
    report.fix(span_of(place, failed), *near, FixKind::Guess, "did you mean `" + *near + "`?");
  } else {
    mend_statement(place, tokens, expected, report);
  }
}

void report_unknown_statement(const MistakePlace& place, bool in_block, bool after_statement,
                              Diagnostics& diagnostics) {
  if (report_broken_token(place, diagnostics)) return;
  const Token failed = place.failed;
  if (after_statement && !near_statement(place) &&
      report_number_trouble(place, tokens_of(place), {}, diagnostics)) {
    return;
  }
  if (after_statement && failed.kind == TokenKind::Equals && report_lone_argument(place, diagnostics)) return;
  const Span span = span_of(place, failed);
  const std::string_view shown = spelling(place.text, failed);
  const bool short_name = is_name(failed.kind) && shown.size() <= longest_shown;
  const auto near = short_name ? nearest_word(shown, statement_words(in_block)) : std::nullopt;
  if (near || (is_name(failed.kind) && !after_statement)) {
    auto report = diagnostics.report(diagnostics::UnknownStatement, span, unquoted(shown));
    if (near) {
      report.fix(span, *near, FixKind::Guess, "did you mean `" + *near + "`?");
    } else {
      mend_unknown_word(place, in_block, report);
    }
    return;
  }
  const std::string wanted = !in_block         ? "`use`, `let`, `routine`, `rule` or `load`"
                             : after_statement ? "the next statement or `}`"
                                               : "a statement or `}`";
  auto report =
      diagnostics.report(diagnostics::UnexpectedToken, span, token_words(place.text, failed), wanted);
  mend_stray(place, after_statement ? tokens_of(place) : std::vector<Token>{}, in_block, report);
}

void report_not_in_rule(const MistakePlace& place, Span rule, bool second, Diagnostics& diagnostics) {
  if (report_broken_token(place, diagnostics)) return;
  diagnostics
      .report(diagnostics::UnexpectedToken, span_of(place, place.failed),
              token_words(place.text, place.failed), std::string(second ? "`}`" : "a condition"))
      .context(rule, "in this rule")
      .hint(second && starts_sentence(place.failed.kind)
                ? "a rule holds one sentence: join two with `and`, or give the second a rule of its own"
                : "a rule is written `rule NAME \"WHY\" { CONDITION }`, or with a form such as `CONDITION no "
                  "more "
                  "than DURATION in any DURATION`");
}

void report_unclosed_block(const MistakePlace& place, Span block, Span crowded, bool at_margin,
                           Diagnostics& diagnostics) {
  const auto text_at = [&](Span span) {
    return std::string(place.text.substr(span.begin, span.end - span.begin));
  };
  const std::string word = text_at(block);
  const bool known = crowded.is_valid();
  const bool brace = known && text_at(crowded) == "}";
  auto report = diagnostics.report(diagnostics::UnclosedBlock, known ? crowded : span_of(place, place.failed),
                                   brace   ? "the `}` of another block"
                                   : known ? "`" + text_at(crowded) + "`"
                                           : token_words(place.text, place.failed),
                                   word);
  report.context(block, "the block was opened here");
  if (brace) {
    report.under("this stands further left than the block: its own `}` is probably missing before it");
  } else if (known) {
    report.under("this stands as far left as its block: the `}` is probably missing before it");
  }
  if (starts_item(place.failed.kind) && !at_margin) {
    report.hint(
        "`" + std::string(spelling(place.text, place.failed)) +
        "` stands outside all blocks: move it out of this one, or add the `}` that is missing above it");
  } else {
    report.hint("add a `}` where the block of `" + word + "` ends");
  }
}

}  // namespace cairn
