// Lines and columns: the places where off-by-one errors live.

#include "compiler/text/source.h"

#include <gtest/gtest.h>

#include <random>
#include <string>

namespace cairn {
namespace {

struct OneFile {
  explicit OneFile(std::string text) : id(files.add("load.cairn", std::move(text))) {}
  [[nodiscard]] std::string at(std::size_t offset) const {
    const Position position = files.position(id, static_cast<std::uint32_t>(offset));
    return std::to_string(position.line) + ":" + std::to_string(position.column);
  }
  SourceFiles files;
  FileId id;
};

TEST(Position, CountsFromOne) {
  const OneFile file("send\nbring\n");
  EXPECT_EQ(file.at(0), "1:1");
  EXPECT_EQ(file.at(3), "1:4");
  EXPECT_EQ(file.at(4), "1:5");  // the line end belongs to its line
  EXPECT_EQ(file.at(5), "2:1");
  EXPECT_EQ(file.at(9), "2:5");
}

TEST(Position, EndOfFile) {
  EXPECT_EQ(OneFile("").at(0), "1:1");
  EXPECT_EQ(OneFile("ab").at(2), "1:3");    // no last line end
  EXPECT_EQ(OneFile("ab\n").at(3), "2:1");  // an empty line after the last line end
  EXPECT_EQ(OneFile("ab").at(1000), "1:3");
}

TEST(Position, ATabIsOneColumn) {
  const OneFile file("\t\tsend");
  EXPECT_EQ(file.at(2), "1:3");
}

TEST(Position, CarriageReturnsEndWithTheirLine) {
  const OneFile file("one\r\ntwo\r\n");
  EXPECT_EQ(file.at(3), "1:4");
  EXPECT_EQ(file.at(5), "2:1");
  EXPECT_EQ(file.files.line_text(file.id, 1), "one");
  EXPECT_EQ(file.files.line_text(file.id, 2), "two");
  // Alone it ends no line.
  const OneFile alone("one\rtwo");
  EXPECT_EQ(alone.at(4), "1:5");
  EXPECT_EQ(alone.files.line_count(alone.id), 1U);
}

TEST(Position, CountsCharactersNotBytes) {
  const OneFile accents("né à");  // 2-byte letters at 1 and 4
  EXPECT_EQ(accents.at(1), "1:2");
  EXPECT_EQ(accents.at(3), "1:3");
  EXPECT_EQ(accents.at(4), "1:4");
  EXPECT_EQ(accents.at(6), "1:5");
  const OneFile emoji("🌒 moon");
  EXPECT_EQ(emoji.at(0), "1:1");
  EXPECT_EQ(emoji.at(4), "1:2");
  EXPECT_EQ(emoji.at(5), "1:3");
  const OneFile decomposed("e\xCC\x81x");  // e, combining acute, x: three characters
  EXPECT_EQ(decomposed.at(3), "1:3");
}

TEST(Lines, TextAndBeginOfEach) {
  const OneFile file("first\n\nthird");
  EXPECT_EQ(file.files.line_count(file.id), 3U);
  EXPECT_EQ(file.files.line_text(file.id, 1), "first");
  EXPECT_EQ(file.files.line_text(file.id, 2), "");
  EXPECT_EQ(file.files.line_text(file.id, 3), "third");
  EXPECT_EQ(file.files.line_begin(file.id, 2), 6U);
  EXPECT_EQ(file.files.line_begin(file.id, 3), 7U);
}

TEST(Lines, OfAnEmptyFile) {
  const OneFile file("");
  EXPECT_EQ(file.files.line_count(file.id), 1U);
  EXPECT_EQ(file.files.line_text(file.id, 1), "");
}

// Against the slow obvious way, on random text of awkward pieces.
TEST(Position, AgreesWithCountingFromTheStart) {
  std::mt19937 random(7);
  const std::string pieces[] = {"a", "\n", "\r\n", "\t", "é", "🌒", "e\xCC\x81", "  ", "\r", "終"};
  for (int round = 0; round < 200; ++round) {
    std::string text;
    const std::size_t count = random() % 30;
    for (std::size_t i = 0; i < count; ++i) text += pieces[random() % std::size(pieces)];
    const OneFile file(text);
    std::size_t line = 1;
    std::size_t column = 1;
    for (std::size_t at = 0; at <= text.size(); ++at) {
      const bool begins = at == text.size() || (static_cast<unsigned char>(text[at]) & 0xC0U) != 0x80U;
      if (begins) {
        ASSERT_EQ(file.at(at), std::to_string(line) + ":" + std::to_string(column)) << round << " " << at;
      }
      if (at == text.size()) break;
      const bool next_begins =
          at + 1 == text.size() || (static_cast<unsigned char>(text[at + 1]) & 0xC0U) != 0x80U;
      if (text[at] == '\n') {
        ++line;
        column = 1;
      } else if (next_begins) {
        ++column;
      }
    }
  }
}

TEST(Span, TextIsCutToTheFile) {
  const OneFile file("send camera");
  EXPECT_EQ(file.files.text(Span{file.id, 5, 11}), "camera");
  EXPECT_EQ(file.files.text(Span{file.id, 5, 99}), "camera");
  EXPECT_EQ(file.files.text(Span{file.id, 50, 99}), "");
  EXPECT_EQ(file.files.text(Span{file.id, 5, 3}), "");
}

TEST(Span, CoverIsTheSmallestThatHoldsBoth) {
  const OneFile file("send camera");
  EXPECT_EQ(cover({file.id, 5, 11}, {file.id, 0, 4}), (Span{file.id, 0, 11}));
  EXPECT_EQ(cover({file.id, 0, 11}, {file.id, 2, 4}), (Span{file.id, 0, 11}));
  EXPECT_EQ(cover({}, {file.id, 2, 4}), (Span{file.id, 2, 4}));
  EXPECT_EQ(cover({file.id, 2, 4}, {}), (Span{file.id, 2, 4}));
}

TEST(SourceFiles, TextStaysWhereItIs) {
  SourceFiles files;
  const FileId first = files.add("a", "short");
  const char* place = files.text(first).data();
  for (int i = 0; i < 1000; ++i) files.add("b", "x");
  EXPECT_EQ(files.text(first).data(), place);
}

}  // namespace
}  // namespace cairn
