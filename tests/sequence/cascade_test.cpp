// One mistake, one message: single mistakes in every token of a long correct load.
//
// Each token is deleted, doubled, swapped with the next and misspelt. What is still a correct load does not
// count; of the rest, nearly all must give exactly one error, at the mistake.

#include <gtest/gtest.h>

#include <algorithm>
#include <cctype>
#include <cstdlib>
#include <iostream>
#include <map>

#include "compiler/syntax/tokens.h"
#include "tests/sequence/long_load.h"
#include "tests/sequence/small_station.h"

namespace cairn::test {
namespace {

std::vector<Token> tokens_of(std::string_view text) {
  std::vector<Token> tokens;
  TokenSource source(text, 0, nullptr);
  for (Token token = source.next(); token.kind != TokenKind::EndOfFile; token = source.next())
    tokens.push_back(token);
  return tokens;
}

struct Mutant {
  std::string text;
  std::size_t begin = 0;  // of the mistake in it
  std::size_t end = 0;
};

std::string_view word(const Token& token) { return long_load.substr(token.begin, token.end - token.begin); }

Mutant replaced(std::size_t begin, std::size_t end, const std::string& by) {
  return {std::string(long_load.substr(0, begin)) + by + std::string(long_load.substr(end)), begin,
          begin + by.size()};
}

// Another letter in the middle of a word; another character for what has no letters.
std::string misspelt(std::string_view text) {
  std::string result(text);
  for (std::size_t i = result.size() / 2; i < result.size(); ++i) {
    if (std::isalpha(static_cast<unsigned char>(result[i])) == 0) continue;
    result[i] = result[i] == 'q' ? 'x' : 'q';
    return result;
  }
  return text == "=" ? ":" : "=";
}

enum class Way { Delete, Double, Swap, Misspell };

Mutant mutant(const std::vector<Token>& tokens, std::size_t i, Way way) {
  const Token& token = tokens[i];
  switch (way) {
    case Way::Delete:
      return replaced(token.begin, token.end, "");
    case Way::Double:
      return replaced(token.begin, token.end, std::string(word(token)) + " " + std::string(word(token)));
    case Way::Swap: {
      const Token& next = tokens[i + 1];
      const std::string between(long_load.substr(token.end, next.begin - token.end));
      return replaced(token.begin, next.end,
                      std::string(word(next)) + (between.empty() ? " " : between) + std::string(word(token)));
    }
    case Way::Misspell:
      break;
  }
  return replaced(token.begin, token.end, misspelt(word(token)));
}

bool is_part(char c) { return std::isalnum(static_cast<unsigned char>(c)) != 0 || c == '_' || c == '-'; }
bool is_space(char c) { return c == ' ' || c == '\n'; }

// Whether the span covers or touches the mistake; white space and comments between do not part them.
bool touches(const Mutant& made, Span span) {
  std::size_t begin = made.begin;
  std::size_t end = made.end;
  // Tokens that have grown together are one mistake.
  while (begin > 0 && is_part(made.text[begin - 1])) --begin;
  while (end < made.text.size() && is_part(made.text[end])) ++end;
  while (begin > 0 && is_space(made.text[begin - 1])) --begin;
  while (end < made.text.size() && (is_space(made.text[end]) || made.text[end] == '#')) {
    end = made.text[end] == '#' ? std::min(made.text.find('\n', end), made.text.size()) : end + 1;
  }
  return span.begin <= end && span.end >= begin;
}

TEST(Cascade, TheLoadIsCorrect) {
  const Outcome outcome = compile_text(std::string(long_load));
  EXPECT_TRUE(outcome.load.has_value()) << outcome.text;
  EXPECT_EQ(outcome.codes().size(), 0U) << outcome.text;
  EXPECT_GE(std::count(long_load.begin(), long_load.end(), '\n'), 200);
}

TEST(Cascade, OneMistakeGivesOneErrorAtItsPlace) {
  const std::vector<Token> tokens = tokens_of(long_load);
  const char* show = std::getenv("CAIRN_SHOW_CASCADES");
  std::size_t mistakes = 0;
  std::size_t good = 0;
  std::size_t several = 0;
  std::size_t elsewhere = 0;
  for (std::size_t i = 0; i + 1 < tokens.size(); ++i) {
    for (const Way way : {Way::Delete, Way::Double, Way::Swap, Way::Misspell}) {
      const Mutant made = mutant(tokens, i, way);
      if (made.text == long_load) continue;
      const Outcome outcome = compile_text(made.text);
      std::vector<const Diagnostic*> errors;
      for (const Diagnostic& one : outcome.diagnostics.all()) {
        if (one.severity == Severity::Error) errors.push_back(&one);
      }
      if (errors.empty()) continue;
      ++mistakes;
      const bool at_place = touches(made, errors.front()->primary);
      if (errors.size() == 1 && at_place) {
        ++good;
        continue;
      }
      ++(errors.size() > 1 ? several : elsewhere);
      if (show == nullptr) continue;
      const std::size_t line = made.text.rfind('\n', made.begin) + 1;
      std::cout << "way " << static_cast<int>(way) << " `" << word(tokens[i])
                << "`: " << made.text.substr(line, made.text.find('\n', made.end) - line) << "\n";
      for (const Diagnostic* one : errors) std::cout << "    " << one->code << ": " << one->message << "\n";
    }
  }
  std::cout << mistakes << " mistakes, " << good << " with one error at their place, " << several
            << " with several, " << elsewhere << " with one elsewhere\n";
  EXPECT_GT(mistakes, 3000U);
  EXPECT_GE(static_cast<double>(good), 0.97 * static_cast<double>(mistakes));
}

}  // namespace
}  // namespace cairn::test
