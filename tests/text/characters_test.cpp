// UTF-8 as it is and as it is not; what a terminal may see.

#include "compiler/text/characters.h"

#include <gtest/gtest.h>

namespace cairn {
namespace {

TEST(Character, OfEachLength) {
  EXPECT_EQ(character_at("a", 0).code, U'a');
  EXPECT_EQ(character_at("é", 0).code, U'é');
  EXPECT_EQ(character_at("終", 0).code, U'終');
  EXPECT_EQ(character_at("🌒", 0).code, U'🌒');
  EXPECT_EQ(character_at("🌒", 0).length, 4U);
  EXPECT_EQ(character_at("a\xC3\xA9", 1).length, 2U);
}

// Table 3-7 of the Unicode standard gives the well-formed sequences; one of each kind that is not among them.
TEST(Character, NotWellFormed) {
  for (const char* text : {"\x80",
                           "\xBF",
                           "\xC0\x80",
                           "\xC1\xBF",
                           "\xE0\x80\x80",
                           "\xE0\x9F\xBF",
                           "\xED\xA0\x80",
                           "\xED\xBF\xBF",
                           "\xF0\x80\x80\x80",
                           "\xF0\x8F\xBF\xBF",
                           "\xF4\x90\x80\x80",
                           "\xF5\x80\x80\x80",
                           "\xFE",
                           "\xFF",
                           "\xC3",
                           "\xE2\x82",
                           "\xF0\x9F\x8C",
                           "\xC3(",
                           "\xE2(\xA1",
                           "\xF0\x9F(\x92"}) {
    const Character character = character_at(text, 0);
    EXPECT_FALSE(character.well_formed) << text;
    EXPECT_EQ(character.length, 1U) << text;
  }
}

TEST(Character, TheEdgesAreWellFormed) {
  for (const char* text : {"\xC2\x80", "\xDF\xBF", "\xE0\xA0\x80", "\xED\x9F\xBF", "\xEE\x80\x80",
                           "\xEF\xBF\xBF", "\xF0\x90\x80\x80", "\xF4\x8F\xBF\xBF"}) {
    EXPECT_TRUE(character_at(text, 0).well_formed) << text;
    EXPECT_EQ(well_formed(text), text);
  }
}

TEST(Columns, OnATerminal) {
  EXPECT_EQ(columns_of(U'a'), 1);
  EXPECT_EQ(columns_of(U'é'), 1);
  EXPECT_EQ(columns_of(U'\u0301'), 0);
  EXPECT_EQ(columns_of(U'終'), 2);
  EXPECT_EQ(columns_of(U'🌒'), 2);
  EXPECT_EQ(columns_of(U'−'), 1);
}

TEST(Shown, NothingATerminalWouldObey) {
  EXPECT_EQ(shown("a\tb\nc"), "a b c");
  EXPECT_EQ(shown("\x1B[31m"), ".[31m");
  EXPECT_EQ(shown("\xC2\x9B"), ".");  // CSI as one control character
  EXPECT_EQ(shown("a\xE2\x80\xAE"
                  "b"),
            "a.b");  // right-to-left override
  EXPECT_EQ(shown("a\xE2\x80\x8B"
                  "b"),
            "a.b");  // zero-width blank
  EXPECT_EQ(shown("\xEF\xBB\xBF"
                  "load"),
            ".load");
  EXPECT_EQ(shown("\x7F\r"), "..");
  EXPECT_EQ(shown("\xFF\xC3"), "..");
  EXPECT_EQ(shown("né 🌒 −20°"), "né 🌒 −20°");
}

TEST(WellFormed, ReplacesByteByByte) {
  EXPECT_EQ(well_formed("a\xFF"
                        "b"),
            "a\xEF\xBF\xBD"
            "b");
  EXPECT_EQ(well_formed("\xED\xA0\x80"), "\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD");
  EXPECT_EQ(well_formed("\x01 a\n"), "\x01 a\n");
}

}  // namespace
}  // namespace cairn
