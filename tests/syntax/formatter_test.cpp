// What the formatter may change and what not: on worked layouts, on every example and page, on random
// programs.
//
// Held for each: the words and comments stay in order, a second pass changes nothing, and what comes out
// reads without a complaint.

#include "compiler/syntax/formatter.h"

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <sstream>

#include "compiler/syntax/tokens.h"
#include "compiler/text/catalogue.h"
#include "tests/place.h"
#include "tests/syntax/random_program.h"
#include "tests/syntax/sample.h"

namespace cairn {
namespace {

namespace fs = std::filesystem;

std::optional<std::string> formatted(const std::string& text, std::size_t width = 100) {
  SourceFiles files;
  Diagnostics diagnostics;
  return format(files, files.add("a.cairn", text), {}, {width}, diagnostics);
}

// The words and the comments, each list for itself, by a second reading than the formatter's own.
std::vector<std::string> listed(std::string_view text, bool comments) {
  std::vector<Token> found;
  TokenSource source(text, text.starts_with("\xEF\xBB\xBF") ? 3 : 0, &found);
  std::vector<std::string> words;
  for (Token token = source.next(); token.kind != TokenKind::EndOfFile; token = source.next()) {
    if (!comments) words.emplace_back(text.substr(token.begin, token.end - token.begin));
  }
  if (!comments) return words;
  for (const Token& token : found) {
    std::string word(text.substr(token.begin, token.end - token.begin));
    while (!word.empty() && (word.back() == ' ' || word.back() == '\t')) word.pop_back();
    words.push_back(word);
  }
  return words;
}

void hold_laws(const std::string& text) {
  const auto once = formatted(text);
  ASSERT_TRUE(once) << text;
  EXPECT_EQ(listed(text, false), listed(*once, false)) << text;
  EXPECT_EQ(listed(text, true), listed(*once, true)) << text;
  EXPECT_TRUE(same_words(text, *once)) << text;
  const auto twice = formatted(*once);
  ASSERT_TRUE(twice) << *once;
  EXPECT_EQ(*twice, *once) << text;
  EXPECT_EQ(once->find_first_of("\t\r"), std::string::npos) << text;
  EXPECT_EQ(once->find(" \n"), std::string::npos) << text;
  EXPECT_EQ(once->find("\n\n\n"), std::string::npos) << text;
  EXPECT_FALSE(once->ends_with("\n\n")) << text;
}

std::string read(const fs::path& path) {
  std::ostringstream text;
  text << std::ifstream(path).rdbuf();
  return text.str();
}

TEST(Formatter, LaysOutByHandWorkedExample) {
  const std::string before =
      "use   \"a.cairn\"\nload\"x\"for alder{ # why\n  span 2031-05-14T06:00:00Z to\n2031-05-15T06:00:00Z\n"
      "let p=-( 3+2 )*- 1\n\n\n\nmark b = sun.elevation falls below 0.5deg number 2\n at b - 3 h as c{bring "
      "camera . "
      "cover to open after 5 s send x.b x = - 3 y=true # end\n# own\n}\nif p>3 and not(b){}else if c is in[ "
      "x,y ]{note "
      "\"q\"}else{do r( p = 1 ,b=2 )}}\nroutine r( p :Count=1,b: Length ) {\n}";
  const std::string after =
      "use \"a.cairn\"\n"
      "\n"
      "load \"x\" for alder {  # why\n"
      "  span 2031-05-14T06:00:00Z to 2031-05-15T06:00:00Z\n"
      "  let p = -(3 + 2) * -1\n"
      "\n"
      "  mark b = sun.elevation falls below 0.5 deg number 2\n"
      "  at b - 3 h as c {\n"
      "    bring camera.cover to open\n"
      "    after 5 s send x.b x=-3 y=true  # end\n"
      "    # own\n"
      "  }\n"
      "  if p > 3 and not (b) {} else if c is in [x, y] {\n"
      "    note \"q\"\n"
      "  } else {\n"
      "    do r(p=1, b=2)\n"
      "  }\n"
      "}\n"
      "\n"
      "routine r(p: Count = 1, b: Length) {}\n";
  EXPECT_EQ(formatted(before).value_or(""), after);
}

TEST(Formatter, KeepsCommentsWhereTheyStand) {
  const std::string text =
      "# head\n"
      "\n"
      "# of r\n"
      "routine r() {  # opens\n"
      "  # first\n"
      "  note \"a\"  # side\n"
      "\n"
      "  # last\n"
      "}  # closes\n"
      "\n"
      "# of t\n"
      "routine t() {\n"
      "  # alone\n"
      "}\n";
  EXPECT_EQ(formatted(text).value_or(""), text);
}

TEST(Formatter, BreaksLongStatementsBetweenArguments) {
  EXPECT_EQ(formatted("routine r() { send camera.expose exposure=40 ms frames=4 flash=true gain=3 }", 40)
                .value_or(""),
            "routine r() {\n"
            "  send camera.expose exposure=40 ms\n"
            "      frames=4 flash=true gain=3\n"
            "}\n");
  EXPECT_EQ(formatted("routine r() { note \"longer than the line can be by far\" }", 20).value_or(""),
            "routine r() {\n"
            "  note \"longer than the line can be by far\"\n"
            "}\n");
  // A comment at the end does not count, nor do marks that combine.
  EXPECT_EQ(
      formatted("routine r() { send x.b c=1 e=2 # longer than the line can be by far\n }", 20).value_or(""),
      "routine r() {\n"
      "  send x.b c=1 e=2  # longer than the line can be by far\n"
      "}\n");
}

TEST(Formatter, WritesPartsInOneLine) {
  EXPECT_EQ(in_one_line("at sunset   -3 h # why\n"), "at sunset - 3 h");
  EXPECT_EQ(in_one_line("from\r\n2031-05-14T06:00:00Z to x every( 6 h )"),
            "from 2031-05-14T06:00:00Z to x every (6 h)");
  EXPECT_EQ(in_one_line(""), "");
}

TEST(Formatter, EmptyFilesStayEmpty) {
  EXPECT_EQ(formatted("").value_or("x"), "");
  EXPECT_EQ(formatted("\n \r\n\t").value_or("x"), "");
  EXPECT_EQ(formatted("\n\n# only\n\n").value_or("x"), "# only\n");
}

TEST(Formatter, LeavesAloneWhatItCannotRead) {
  SourceFiles files;
  Diagnostics diagnostics;
  EXPECT_FALSE(format(files, files.add("a.cairn", "load \"x\" for {"), {}, {}, diagnostics));
  EXPECT_TRUE(diagnostics.has_errors());
  EXPECT_FALSE(formatted("let p = \"open"));
  EXPECT_FALSE(formatted("let p = 3 \xff"));
}

TEST(Formatter, SameWordsSeesEveryDifference) {
  EXPECT_TRUE(same_words("let p = 3 # x", "let p=3#x") == false);
  EXPECT_TRUE(same_words("let p = 3 # x  \n", "let  p\n=3\n# x"));
  EXPECT_FALSE(same_words("let p = 3", "let p = 30"));
  EXPECT_FALSE(same_words("let p = 3 # x", "let p = 3"));
  EXPECT_FALSE(same_words("let p = 3", "let p = 3 # x"));
  EXPECT_FALSE(same_words("# x\nlet p = 3", "let p = 3 # x"));
}

TEST(Formatter, LawsHoldForTheSample) { hold_laws(std::string(sample)); }

TEST(Formatter, LawsHoldForEveryExample) {
  std::size_t count = 0;
  for (const auto& entry : fs::recursive_directory_iterator(fs::path(test::source_folder()) / "examples")) {
    if (entry.path().extension() != ".cairn") continue;
    const std::string text = read(entry.path());
    const auto result = formatted(text);
    if (!result) {
      EXPECT_NE(entry.path().string().find("broken"), std::string::npos) << entry.path();
      continue;
    }
    ++count;
    hold_laws(text);
    EXPECT_EQ(*result, text) << entry.path() << " is not formatted";
  }
  EXPECT_GE(count, 20U);
}

TEST(Formatter, LawsHoldForEveryPage) {
  std::size_t count = 0;
  for (const auto& entry : fs::recursive_directory_iterator(fs::path(test::source_folder()) / "docs")) {
    if (entry.path().extension() != ".md") continue;
    const std::string page = read(entry.path());
    const std::string fence = "```cairn\n";
    for (std::size_t at = page.find(fence); at != std::string::npos; at = page.find(fence, at + 1)) {
      const std::size_t begin = at + fence.size();
      const std::string text = page.substr(begin, page.find("```", begin) - begin);
      if (!formatted(text)) continue;  // of a page about syntax
      ++count;
      hold_laws(text);
    }
  }
  EXPECT_GE(count, 40U);
}

TEST(Formatter, LawsHoldForRandomPrograms) {
  for (std::uint64_t seed = 1; seed <= 3000; ++seed) {
    std::mt19937_64 random(seed);
    const std::vector<std::string> words = test::random_words(random);
    const std::string text = test::random_layout(words, random);
    ASSERT_EQ(listed(text, false), words) << "seed " << seed;
    hold_laws(text);
    // Nothing but blank lines and the place of comments hangs on the layout that was there.
    if (text.find('#') == std::string::npos) {
      std::string spaced;
      for (const std::string& word : words) spaced += word + " ";
      std::string dense = formatted(text).value_or("");
      std::size_t blank = 0;
      while ((blank = dense.find("\n\n")) != std::string::npos) dense.erase(blank, 1);
      std::string plain = formatted(spaced).value_or("");
      while ((blank = plain.find("\n\n")) != std::string::npos) plain.erase(blank, 1);
      EXPECT_EQ(dense, plain) << "seed " << seed;
    }
    if (HasFailure()) FAIL() << "seed " << seed;
  }
}

}  // namespace
}  // namespace cairn
