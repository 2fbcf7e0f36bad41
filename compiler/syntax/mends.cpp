// Statement by statement: which slip leads to this token, and what to write instead.

#include "compiler/syntax/mends.h"

#include <algorithm>
#include <array>
#include <utility>

#include "compiler/text/spelling.h"

namespace cairn {
namespace {

constexpr std::string_view bring_form = "bring UNIT to STATE` or `bring UNIT.PART to STATE";

std::string_view spelling(std::string_view text, const Token& token) {
  return text.substr(token.begin, token.end - token.begin);
}

std::string ticked(std::string_view text) {
  constexpr std::size_t longest_shown = 40;
  if (text.size() <= longest_shown) return "`" + std::string(text) + "`";
  std::size_t end = longest_shown;
  while (end > 0 && (static_cast<unsigned char>(text[end]) & 0xC0U) == 0x80U) --end;
  return "`" + std::string(text.substr(0, end)) + "...`";
}

bool contains(const std::vector<TokenKind>& kinds, TokenKind kind) {
  return std::find(kinds.begin(), kinds.end(), kind) != kinds.end();
}

Span span_of(const MistakePlace& place, const Token& token) { return {place.file, token.begin, token.end}; }

bool is_comment_of_others(const MistakePlace& place) {
  const std::string_view rest = place.text.substr(place.failed.begin);
  return rest.starts_with("//") || rest.starts_with("/*");
}

void mend_comment(const MistakePlace& place, DiagnosticBuilder& report) {
  report.fix({place.file, place.failed.begin, place.failed.begin + 2}, "#", FixKind::Guess,
             "a comment begins with `#` and runs to the end of its line");
}

// `send a.b c=1, d=2`, `send a.b(c=1)`, `send a.b c: 1`, `send a b`.
bool mend_send(const MistakePlace& place, std::vector<Token> tokens, const std::vector<TokenKind>& expected,
               DiagnosticBuilder& report) {
  if (tokens.size() > 2 && tokens[1].kind == TokenKind::Now) tokens.erase(tokens.begin() + 1);
  const Token failed = tokens.back();
  const std::string call =
      tokens.size() > 3 && tokens[2].kind == TokenKind::Dot
          ? std::string(spelling(place.text, tokens[1])) + "." + std::string(spelling(place.text, tokens[3]))
          : "UNIT.COMMAND";
  if (failed.kind == TokenKind::Comma) {
    report.fix(span_of(place, failed), "", FixKind::Safe,
               "leave the `,` out: the arguments of `send` stand side by side");
    return true;
  }
  if (failed.kind == TokenKind::OpenParenthesis) {
    report.hint("`send` takes its arguments without parentheses: " + ticked("send " + call + " NAME=VALUE"));
    return true;
  }
  if (tokens.size() == 3 && is_name(failed.kind) && contains(expected, TokenKind::Dot)) {
    const std::string whole(spelling(place.text, tokens[1]));
    report.fix(
        {place.file, tokens[1].end, failed.begin}, ".", FixKind::Guess,
        "did you mean " + ticked("send " + whole + "." + std::string(spelling(place.text, failed))) + "?");
    return true;
  }
  return false;
}

// `do x`, `do x(1)`, `do x(a=1 b=2)`.
bool mend_do(const MistakePlace& place, const std::vector<Token>& tokens,
             const std::vector<TokenKind>& expected, DiagnosticBuilder& report) {
  if (tokens.size() < 3) return false;
  const Token failed = tokens.back();
  const Token before = tokens[tokens.size() - 2];
  const std::string name(spelling(place.text, tokens[1]));
  if (contains(expected, TokenKind::OpenParenthesis)) {
    report.fix({place.file, before.end, before.end}, "()", FixKind::Guess,
               "a routine is called with parentheses: " + ticked("do " + name + "()"));
    return true;
  }
  if (before.kind == TokenKind::OpenParenthesis || before.kind == TokenKind::Comma) {
    const std::size_t end = std::min(place.text.find_first_of("),\n", failed.begin), place.text.size());
    report.hint("arguments are given by name: " +
                ticked("do " + name +
                       "(NAME=" + std::string(place.text.substr(failed.begin, end - failed.begin)) + ")"));
    return true;
  }
  if (is_name(failed.kind) && contains(expected, TokenKind::Comma)) {
    report.fix({place.file, before.end, before.end}, ",", FixKind::Safe,
               "write a `,` between the arguments of a routine");
    return true;
  }
  return false;
}

bool mend_argument(const MistakePlace& place, const std::vector<Token>& tokens, DiagnosticBuilder& report) {
  const Token failed = tokens.back();
  const Token before = tokens[tokens.size() - 2];
  const std::string name(spelling(place.text, before));
  if (failed.kind == TokenKind::Colon) {
    report.fix(span_of(place, failed), "=", FixKind::Safe, "write " + ticked(name + "=VALUE"));
  } else if (starts_statement(failed.kind)) {
    report.fix({place.file, before.begin, failed.begin}, "", FixKind::Guess,
               "leave " + ticked(name) + " out: statements follow one another without a word between them");
  } else if (failed.kind == TokenKind::Number || is_name(failed.kind) || failed.kind == TokenKind::Instant ||
             failed.kind == TokenKind::Text || failed.kind == TokenKind::Minus) {
    report.fix({place.file, before.end, failed.begin}, "=", FixKind::Guess,
               "write " + ticked(name + "=" + std::string(spelling(place.text, failed))));
  } else {
    report.hint(ticked(name) + " is read as the name of an argument: after it comes `=` and a value");
  }
  return true;
}

bool mend_text(const MistakePlace& place, const std::vector<Token>& tokens,
               const std::vector<TokenKind>& expected, DiagnosticBuilder& report) {
  const Token failed = tokens.back();
  const std::string word(spelling(place.text, failed));
  if (contains(expected, TokenKind::Text) && !contains(expected, TokenKind::Number) && is_name(failed.kind)) {
    report.fix(span_of(place, failed), "\"" + word + "\"", FixKind::Guess,
               "write it in quotes: " + ticked("\"" + word + "\""));
    return true;
  }
  if (contains(expected, TokenKind::Name) && !contains(expected, TokenKind::Number) &&
      failed.kind == TokenKind::Text && word.size() > 2) {
    const std::string bare = word.substr(1, word.size() - 2);
    report.fix(span_of(place, failed), bare, FixKind::Guess,
               "write the name without quotes: " + ticked(bare));
    return true;
  }
  return false;
}

bool mend_name(const MistakePlace& place, const Token& failed, const std::vector<TokenKind>& expected,
               DiagnosticBuilder& report) {
  if (!is_keyword(failed.kind) && failed.kind != TokenKind::Unit) return false;
  const std::string word(spelling(place.text, failed));
  const std::string what =
      failed.kind == TokenKind::Unit ? " is a unit of measure" : " is a word of the language";
  const bool value = contains(expected, TokenKind::Number);
  if (contains(expected, TokenKind::Name) && !value) {
    report.hint(ticked(word) + what + ", so it cannot be a name: choose a longer one, such as " +
                ticked("my-" + word));
    return true;
  }
  if (value && failed.kind == TokenKind::Unit) {
    report.hint(ticked(word) + what +
                ", so it cannot be a name; as a unit it follows a number: " + ticked("1 " + word));
    return true;
  }
  return false;
}

std::string statement_list(bool in_block) {
  if (!in_block) return "outside blocks stand `use`, `let`, `routine`, `rule` and `load`";
  return "statements begin with `let`, `mark`, `note`, `send`, `bring`, `withdraw`, `do`, `at`, `after`, "
         "`from`, "
         "`together`, "
         "`for each`, `repeat`, `if`, `require`, `expect` or `waive`";
}

// Words that other languages have, and ours for them.
constexpr std::array<std::pair<std::string_view, std::string_view>, 28> other_words{{
    {"wait", "after"},      {"delay", "after"},     {"sleep", "after"},       {"then", "after"},
    {"call", "do"},         {"run", "do"},          {"execute", "send"},      {"command", "send"},
    {"cmd", "send"},        {"set", "let"},         {"var", "let"},           {"const", "let"},
    {"define", "let"},      {"include", "use"},     {"import", "use"},        {"function", "routine"},
    {"def", "routine"},     {"proc", "routine"},    {"macro", "routine"},     {"foreach", "for each"},
    {"loop", "repeat"},     {"while", "from"},      {"parallel", "together"}, {"comment", "note"},
    {"delete", "withdraw"}, {"cancel", "withdraw"}, {"remove", "withdraw"},   {"revoke", "withdraw"},
}};

}  // namespace

std::string_view form_of(TokenKind keyword) {
  switch (keyword) {
    case TokenKind::Use:
      return "use \"PATH\"";
    case TokenKind::Load:
      return "load \"NAME\" for STATION { span BEGIN to END ... }";
    case TokenKind::SpanWord:
      return "span BEGIN to END";
    case TokenKind::Let:
      return "let NAME = VALUE";
    case TokenKind::Mark:
      return "mark NAME = INSTANT";
    case TokenKind::Note:
      return "note \"WORDS\"";
    case TokenKind::Send:
      return "send UNIT.COMMAND NAME=VALUE ...` or `send now UNIT.COMMAND NAME=VALUE ...";
    case TokenKind::Bring:
      return bring_form;
    case TokenKind::Withdraw:
      return "withdraw UNIT.COMMAND at INSTANT` or `withdraw UNIT.COMMAND NAME=VALUE ... at INSTANT";
    case TokenKind::Do:
      return "do ROUTINE(NAME=VALUE, ...)";
    case TokenKind::At:
      return "at INSTANT { ... }` or `at INSTANT as NAME { ... }";
    case TokenKind::After:
      return "after DURATION STATEMENT` or `after DURATION { ... }";
    case TokenKind::From:
      return "from BEGIN to END every DURATION { ... }";
    case TokenKind::Together:
      return "together { ... }";
    case TokenKind::For:
      return "for each NAME in [VALUE, ...] { ... }`, `for each NAME in window ANTENNA opens { ... }` or "
             "`for each NAME in QUANTITY rises above VALUE { ... }";
    case TokenKind::Repeat:
      return "repeat NUMBER times { ... }";
    case TokenKind::If:
      return "if CONDITION { ... }` or `if CONDITION { ... } else { ... }";
    case TokenKind::Require:
      return "require CONDITION` or `require CONDITION between BEGIN and END";
    case TokenKind::Expect:
      return "expect CONDITION within DURATION";
    case TokenKind::Waive:
      return "waive CHECK to MARGIN from BEGIN to END because \"WORDS\" reference \"WORDS\" until INSTANT";
    case TokenKind::Rule:
      return "rule NAME \"WHY\" { ... }";
    case TokenKind::Else:
      return "if CONDITION { ... } else { ... }";
    case TokenKind::Routine:
      return "routine NAME(PARAMETER: Type, ...) { ... }";
    default:
      return {};
  }
}

namespace {

std::string form_hint(const MistakePlace& place, const std::vector<Token>& tokens) {
  const TokenKind keyword = tokens.front().kind;
  if (keyword == TokenKind::Mark) {
    for (const Token& token : tokens) {
      if (token.kind == TokenKind::Rises || token.kind == TokenKind::Falls) {
        return "it is written `mark NAME = QUANTITY rises above VALUE` or `falls below VALUE`, then `number "
               "N` or nothing";
      }
      if (token.kind == TokenKind::Window) {
        return "it is written `mark NAME = window ANTENNA N opens` or `closes`; N may be left out for the "
               "first";
      }
      if (token.kind == TokenKind::Start || token.kind == TokenKind::End) {
        return "it is written `mark NAME = start of BLOCK` or `end of BLOCK`";
      }
    }
  }
  const std::string_view form = form_of(keyword);
  if (form.empty()) return {};
  return std::string(ticked(spelling(place.text, tokens.front()))) + " is written `" + std::string(form) +
         "`";
}

}  // namespace

void mend_statement(const MistakePlace& place, const std::vector<Token>& tokens,
                    const std::vector<TokenKind>& expected, DiagnosticBuilder& report) {
  if (is_comment_of_others(place)) return mend_comment(place, report);
  const TokenKind keyword = tokens.front().kind;
  const bool with_arguments = keyword == TokenKind::Send || keyword == TokenKind::Do;
  if (with_arguments && tokens.size() >= 4 && contains(expected, TokenKind::Equals) &&
      mend_argument(place, tokens, report)) {
    return;
  }
  if (keyword == TokenKind::Send && mend_send(place, tokens, expected, report)) return;
  if (keyword == TokenKind::Do && mend_do(place, tokens, expected, report)) return;
  if (tokens.back().kind == TokenKind::Equals && contains(expected, TokenKind::Is)) {
    const std::uint32_t begin = tokens.back().begin;
    const bool doubled = place.text.substr(begin).starts_with("==");
    const bool spaced = begin > 0 && place.text[begin - 1] == ' ';
    report.fix({place.file, begin, begin + (doubled ? 2 : 1)}, spaced ? "is" : " is ", FixKind::Guess,
               "values are compared with `is`: write `is` here");
    return;
  }
  if (mend_text(place, tokens, expected, report)) return;
  const bool named = tokens.size() > 1 && mend_name(place, tokens.back(), expected, report);
  if (named) return;
  const std::string form = form_hint(place, tokens);
  report.hint(form.empty() ? statement_list(true) : form);
}

void mend_stray(const MistakePlace& place, const std::vector<Token>& before, bool in_block,
                DiagnosticBuilder& report) {
  if (is_comment_of_others(place)) return mend_comment(place, report);
  if (place.failed.kind == TokenKind::Else) {
    report.hint("`else` stands after the `}` of an `if` block: `if CONDITION { ... } else { ... }`");
    return;
  }
  if (place.failed.kind == TokenKind::CloseBrace) {
    report.hint("no block is open here: take this `}` away, or look for one too many above");
    return;
  }
  if (before.size() > 1) {
    if (before.front().kind == TokenKind::Send && mend_send(place, before, {}, report)) return;
    const std::string form = form_hint(place, before);
    if (!form.empty()) {
      report.hint("the statement ends before this; " + form);
      return;
    }
  }
  report.hint(statement_list(in_block));
}

void mend_unknown_word(const MistakePlace& place, bool in_block, DiagnosticBuilder& report) {
  const std::string word(spelling(place.text, place.failed));
  const Span span = span_of(place, place.failed);
  std::size_t next = place.failed.end;
  while (next < place.text.size() && place.text[next] == ' ') ++next;
  const char follows = next < place.text.size() ? place.text[next] : '\0';
  if (follows == '.' && in_block) {
    report.fix({span.file, span.begin, span.begin}, "send ", FixKind::Guess,
               "to send a command, write `send` before it: " + ticked("send " + word + ".COMMAND"));
    return;
  }
  if (follows == '=') {
    report.fix({span.file, span.begin, span.begin}, "let ", FixKind::Guess,
               "to give a name to a value: " + ticked("let " + word + " = VALUE"));
    return;
  }
  for (const auto& [other, ours] : other_words) {
    if (other != word) continue;
    report.fix(span, std::string(ours), FixKind::Guess, "did you mean " + ticked(ours) + "?");
    return;
  }
  report.hint(statement_list(in_block));
}

}  // namespace cairn
