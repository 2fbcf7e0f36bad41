// Each page of a syntax code: its failing example gives the code, its mended one is read without a word.

#include <gtest/gtest.h>

#include <array>
#include <fstream>
#include <set>
#include <sstream>
#include <string>

#include "compiler/syntax/parse.h"
#include "compiler/syntax/tokens.h"
#include "compiler/text/catalogue.h"
#include "tests/place.h"

namespace cairn {
namespace {

std::string example(const std::string& page, const std::string& heading) {
  const std::string fence = "```cairn\n";
  const std::size_t begin = page.find(fence, page.find(heading)) + fence.size();
  return page.substr(begin, page.find("```", begin) - begin);
}

TEST(SyntaxPages, ExamplesFailAndPass) {
  constexpr std::array<std::string_view, 3> not_writable{
      "syntax/bad-encoding", "syntax/file-too-large", "syntax/too-many-errors"};  // no short text shows them
  for (const CatalogueEntry& entry : catalogue()) {
    if (!entry.code.starts_with("syntax/")) continue;
    std::string name(entry.code);
    name[name.find('/')] = '-';
    std::ifstream file(std::string(cairn::test::source_folder()) + "/docs/diagnostics/" + name + ".md");
    ASSERT_TRUE(file.good()) << name;
    std::ostringstream page;
    page << file.rdbuf();
    SourceFiles files;
    Diagnostics mended;
    parse(files, files.add("mended.cairn", example(page.str(), "## Mended")), {}, mended);
    EXPECT_TRUE(mended.all().empty()) << name;
    bool writable = true;
    for (const std::string_view code : not_writable) writable = writable && code != entry.code;
    if (!writable) continue;
    Diagnostics failing;
    parse(files, files.add("fails.cairn", example(page.str(), "## Fails")), {}, failing);
    ASSERT_EQ(failing.all().size(), 1U) << name;
    EXPECT_EQ(failing.all()[0].code, entry.code);
  }
}

// Whoever learns the language from its page has seen every word and every sign of it at work.
TEST(LanguagePage, ItsExamplesUseEveryWordAndSign) {
  std::ifstream file(std::string(cairn::test::source_folder()) + "/docs/language.md");
  ASSERT_TRUE(file.good());
  std::ostringstream whole;
  whole << file.rdbuf();
  const std::string page = whole.str();
  std::set<TokenKind> used;
  const std::string fence = "```cairn\n";
  for (std::size_t at = page.find(fence); at != std::string::npos; at = page.find(fence, at)) {
    at += fence.size();
    const std::string code = page.substr(at, page.find("```", at) - at);
    TokenSource source(code, 0, nullptr);
    for (Token token = source.next(); token.kind != TokenKind::EndOfFile; token = source.next())
      used.insert(token.kind);
  }
  for (auto value = static_cast<std::uint8_t>(TokenKind::Use);
       value <= static_cast<std::uint8_t>(TokenKind::Text); ++value) {
    const auto kind = static_cast<TokenKind>(value);
    if (kind == TokenKind::BadInstant) continue;
    EXPECT_TRUE(used.contains(kind)) << kind_words(kind);
  }
}

}  // namespace
}  // namespace cairn
