// Every word and unit of measure of the language is coloured by the extension's grammar.
//
// Words are those that the tokens know; a word that the grammar lacks would be coloured as a name.

#include <gtest/gtest.h>

#include <fstream>
#include <nlohmann/json.hpp>
#include <set>

#include "compiler/syntax/tokens.h"
#include "tests/place.h"

namespace cairn {
namespace {

// The alternatives of every group in the patterns.
void collect(const nlohmann::json& value, std::set<std::string>& words) {
  if (value.is_string()) {
    std::string word;
    for (const char c : value.get<std::string>()) {
      const bool is_part =
          (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '/' || c == '%';
      if (is_part) {
        word += c;
      } else {
        words.insert(word);
        word.clear();
      }
    }
    words.insert(word);
  } else if (value.is_structured()) {
    for (const auto& inner : value) collect(inner, words);
  }
}

std::set<std::string> missing(const nlohmann::json& grammar) {
  std::set<std::string> words;
  collect(grammar.at("repository"), words);
  std::set<std::string> lacking;
  for (std::uint8_t kind = 1; kind < static_cast<std::uint8_t>(TokenKind::OpenBrace); ++kind) {
    const std::string word(kind_spelling(static_cast<TokenKind>(kind)));
    if (!words.contains(word)) lacking.insert(word);
  }
  for (const char* unit : {"ms", "kWh", "degC", "deg/s", "W/m2", "kbit/s", "%", "ppm", "Hz"}) {
    if (!words.contains(unit)) lacking.insert(unit);
  }
  return lacking;
}

TEST(Colours, EveryWordOfTheLanguageIsThere) {
  std::ifstream file(std::string(test::source_folder()) +
                     "/compiler/editor/extension/syntaxes/cairn.tmLanguage.json");
  const nlohmann::json grammar = nlohmann::json::parse(file);
  EXPECT_EQ(missing(grammar), std::set<std::string>{})
      << "add them to the patterns of compiler/editor/extension/syntaxes/cairn.tmLanguage.json";
  nlohmann::json planted = grammar;
  planted["repository"].erase("word");
  EXPECT_TRUE(missing(planted).contains("bring"));
}

}  // namespace
}  // namespace cairn
