// Positions in UTF-16 units, and what stays true of the lines of a text that changes: held against lines
// found anew.

#include "compiler/editor/text_lines.h"

#include <gtest/gtest.h>

#include <random>

#include "compiler/editor/workspace.h"

namespace cairn {
namespace {

TEST(TextLines, CountsInUtf16Units) {
  // a, a-umlaut (2 bytes, 1 unit), a crescent (4 bytes, 2 units), b; the example of the protocol's page in
  // kind.
  const std::string text = "a\u00e4\U0001F319b\nx";
  const TextLines lines(text);
  EXPECT_EQ(lines.offset(text, {0, 0}), 0U);
  EXPECT_EQ(lines.offset(text, {0, 1}), 1U);
  EXPECT_EQ(lines.offset(text, {0, 2}), 3U);
  EXPECT_EQ(lines.offset(text, {0, 3}), 3U);  // in the middle of the crescent
  EXPECT_EQ(lines.offset(text, {0, 4}), 7U);
  EXPECT_EQ(lines.offset(text, {0, 5}), 8U);
  EXPECT_EQ(lines.offset(text, {0, 99}), 8U);
  EXPECT_EQ(lines.offset(text, {1, 1}), 10U);
  EXPECT_EQ(lines.offset(text, {7, 0}), 10U);
  EXPECT_EQ(lines.position(text, 7), (TextPosition{0, 4}));
  EXPECT_EQ(lines.position(text, 5), (TextPosition{0, 2}));
  EXPECT_EQ(lines.position(text, 9), (TextPosition{1, 0}));
  EXPECT_EQ(utf16_length(text), 7U);
}

TEST(TextLines, EndsLinesAsTheProtocolDoes) {
  const std::string text = "a\r\nb\rc\nd";
  const TextLines lines(text);
  EXPECT_EQ(lines.count(), 4U);
  EXPECT_EQ(lines.offset(text, {0, 9}), 1U);
  EXPECT_EQ(lines.offset(text, {1, 0}), 3U);
  EXPECT_EQ(lines.offset(text, {2, 0}), 5U);
  EXPECT_EQ(lines.offset(text, {3, 1}), 8U);
}

TEST(TextLines, ReplacingIsAsFindingAnew) {
  std::mt19937_64 random(11);
  const auto number = [&random](std::size_t most) {
    return std::uniform_int_distribution<std::size_t>(0, most)(random);
  };
  const std::vector<std::string> pieces{"\n", "\r", "\r\n", "a", "\u00e4", "\U0001F319", "", "x\ny", "\n\n"};
  std::string text;
  TextLines lines(text);
  for (int turn = 0; turn < 20000; ++turn) {
    const std::size_t begin = number(text.size());
    const std::size_t length = number(std::min<std::size_t>(text.size() - begin, 3));
    const std::string& piece = pieces[number(pieces.size() - 1)];
    text.replace(begin, length, piece);
    lines.replace(static_cast<std::uint32_t>(begin), static_cast<std::uint32_t>(length),
                  static_cast<std::uint32_t>(piece.size()), text);
    const TextLines anew(text);
    ASSERT_EQ(lines.count(), anew.count()) << turn;
    const auto at = static_cast<std::uint32_t>(number(text.size()));
    ASSERT_EQ(lines.position(text, at), anew.position(text, at)) << turn;
    if (text.size() > 200) {
      text.clear();
      lines = TextLines(text);
    }
  }
}

TEST(Addresses, LeadToPathsAndBack) {
  EXPECT_EQ(path_of_uri("file:///a/b%20c%C3%A4.cairn"), "/a/b c\u00e4.cairn");
  EXPECT_EQ(uri_of_path("/a/b c\u00e4.cairn"), "file:///a/b%20c%C3%A4.cairn");
  EXPECT_EQ(path_of_uri("file://host/a"), "/a");
  for (const char* wrong : {"", "file:", "http://a/b", "untitled:one", "file:///a%2", "file:///a%zz",
                            "file:///a%00b", "file://"}) {
    EXPECT_FALSE(path_of_uri(wrong)) << wrong;
  }
}

}  // namespace
}  // namespace cairn
