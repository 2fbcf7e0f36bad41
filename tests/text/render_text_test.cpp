// Diagnostics as a terminal shows them: whole outputs, so that a change of looks is seen.

#include <gmock/gmock.h>

#include <random>

#include "compiler/text/render.h"

namespace cairn {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

constexpr DiagnosticKind<std::string> wrong{"area/wrong", Severity::Error, "`{}` is wrong"};
constexpr DiagnosticKind<> doubtful{"area/doubtful", Severity::Warning, "this is doubtful"};

struct Rendered {
  SourceFiles files;
  Diagnostics diagnostics;
  [[nodiscard]] std::string text(RenderOptions options = {}) const {
    return render_text(diagnostics.all(), files, options);
  }
};

RenderOptions one_line() {
  RenderOptions options;
  options.one_line = true;
  return options;
}

RenderOptions in_colour() {
  RenderOptions options;
  options.colour = true;
  return options;
}

// The line of the excerpt and the line of marks, for a span in one line of text.
std::string marks(const std::string& text, std::uint32_t begin, std::uint32_t end, int width = 100) {
  Rendered r;
  r.diagnostics.report(doubtful, {r.files.add("a", text), begin, end});
  RenderOptions options;
  options.width = width;
  const std::string whole = r.text(options);
  const std::size_t from = whole.find(" | ") + 3;
  const std::size_t line_end = whole.find('\n', from);
  const std::size_t under = whole.find(" | ", line_end) + 3;
  return whole.substr(from, line_end - from) + "\n" + whole.substr(under, whole.find('\n', under) - under);
}

TEST(RenderText, WithLabelsFixesAndHints) {
  Rendered r;
  const FileId load = r.files.add("loads/a.cairn", "load \"a\" for alder {\n  send camra.expose\n}\n");
  const FileId station = r.files.add("stations/alder.yaml", "units:\n  camera: {}\n");
  r.diagnostics.report(wrong, {load, 28, 33}, "camra")
      .under("here")
      .context({station, 9, 15}, "the nearest unit")
      .cause({load, 23, 27}, "by this")
      .fix({load, 28, 33}, "camera", FixKind::Guess, "did you mean `camera`?")
      .hint("units stand in the station file");
  EXPECT_EQ(r.text(), R"(error[area/wrong]: `camra` is wrong
   --> loads/a.cairn:2:8
     2 |   send camra.expose
       |        ^^^^^ here
   see stations/alder.yaml:2:3
     2 |   camera: {}
       |   ------ the nearest unit
   by  loads/a.cairn:2:3
     2 |   send camra.expose
       |   ---- by this
   mend: did you mean `camera`?
   hint: units stand in the station file

1 error, 0 warnings; `cairn explain CODE` tells more about each
)");
}

TEST(RenderText, WithoutAPlace) {
  Rendered r;
  r.diagnostics.report(wrong, {}, "missing.cairn");
  EXPECT_EQ(r.text(),
            "error[area/wrong]: `missing.cairn` is wrong\n\n1 error, 0 warnings; `cairn explain CODE` tells "
            "more about each\n");
}

TEST(RenderText, OneLineEach) {
  Rendered r;
  const FileId file = r.files.add("a.cairn", "send\n\tbring x\n");
  r.diagnostics.report(wrong, {file, 6, 11}, "bring").hint("left out").under("left out");
  r.diagnostics.report(doubtful, {file, 0, 4});
  r.diagnostics.report(wrong, {}, "nowhere");
  EXPECT_EQ(r.text(one_line()),
            "a.cairn:2:2: error[area/wrong]: `bring` is wrong\n"
            "a.cairn:1:1: warning[area/doubtful]: this is doubtful\n"
            "error[area/wrong]: `nowhere` is wrong\n");
  RenderOptions from_above = one_line();
  from_above.path_prefix = "posts/";
  EXPECT_THAT(r.text(from_above), HasSubstr("posts/a.cairn:2:2: "));
}

TEST(RenderText, AMessageNeverBreaksItsLine) {
  Rendered r;
  r.diagnostics.report(wrong, {r.files.add("a\nb", "x"), 0, 1}, "two\nlines");
  EXPECT_EQ(r.text(one_line()), "a b:1:1: error[area/wrong]: `two lines` is wrong\n");
}

TEST(RenderText, ColourOnlyAroundTheSameText) {
  Rendered r;
  r.diagnostics.report(wrong, {r.files.add("a.cairn", "send"), 0, 4}, "send").under("here");
  const std::string plain = r.text();
  EXPECT_THAT(plain, Not(HasSubstr("\x1b")));
  std::string coloured = r.text(in_colour());
  EXPECT_THAT(coloured, HasSubstr("\x1b[1;31merror[area/wrong]\x1b[0m"));
  EXPECT_THAT(coloured, HasSubstr("\x1b[1;31m^^^^\x1b[0m"));
  std::size_t opened = 0;
  for (std::size_t at = coloured.find('\x1b'); at != std::string::npos; at = coloured.find('\x1b')) {
    const std::size_t end = coloured.find('m', at);
    opened += coloured.substr(at, end - at + 1) == "\x1b[0m" ? 0U : 1U;
    coloured.erase(at, end - at + 1);
  }
  EXPECT_GT(opened, 0U);
  EXPECT_EQ(coloured, plain);
}

TEST(RenderText, NothingForNothing) { EXPECT_EQ(Rendered{}.text(), ""); }

TEST(Marks, UnderTheVeryCharacters) {
  EXPECT_EQ(marks("send x", 5, 6), "send x\n     ^");
  EXPECT_EQ(marks("\tsend x", 1, 5), " send x\n ^^^^");
  EXPECT_EQ(marks("send x\r\n", 0, 6), "send x\n^^^^^^");
  EXPECT_EQ(marks("né x", 4, 5), "né x\n   ^");
  EXPECT_EQ(marks("🌒 x", 5, 6), "🌒 x\n   ^");                 // two columns wide
  EXPECT_EQ(marks("e\xCC\x81 x", 4, 5), "e\xCC\x81 x\n  ^");  // combining: no column
  EXPECT_EQ(marks("e\xCC\x81 x", 1, 3), "e\xCC\x81 x\n^");    // shown with its letter
  EXPECT_EQ(marks("終 x", 0, 3), "終 x\n^^");
}

TEST(Marks, AtTheEndOfLineAndFile) {
  EXPECT_EQ(marks("send", 4, 4), "send\n    ^");
  EXPECT_EQ(marks("send\nx", 4, 5), "send\n    ^");
  EXPECT_EQ(marks("", 0, 0), "\n^");
  EXPECT_EQ(marks("send", 0, 0), "send\n^");
  // A span over several lines is marked to the end of its first.
  EXPECT_EQ(marks("at x {\n}\n", 0, 8), "at x {\n^^^^^^");
}

TEST(Marks, LongLinesAreCutAroundTheSpan) {
  const std::string filler(300, 'a');
  const std::string shown = marks(filler + "HERE" + filler, 300, 304, 60);
  EXPECT_THAT(shown, HasSubstr("aHEREa"));
  EXPECT_TRUE(shown.starts_with("...")) << shown;
  const std::string first = shown.substr(0, shown.find('\n'));
  const std::string second = shown.substr(shown.find('\n') + 1);
  EXPECT_TRUE(first.ends_with("...")) << shown;
  EXPECT_LE(first.size() + 9, 60U);
  EXPECT_EQ(first.find("HERE"), second.find("^^^^"));
  EXPECT_EQ(marks("HERE" + filler, 0, 4, 60).substr(0, 5), "HEREa");
  EXPECT_THAT(marks(filler + "HERE", 300, 304, 60), HasSubstr("aHERE\n"));
}

TEST(Marks, NoControlReachesTheTerminal) {
  EXPECT_EQ(marks("a\x1B[2Jb", 0, 1), "a.[2Jb\n^");
  EXPECT_EQ(marks("a\xFFz", 2, 3), "a.z\n  ^");
  Rendered r;
  const FileId file = r.files.add("a\x1B[31m.cairn", "x");
  r.diagnostics.report(wrong, {file, 0, 1}, "\x1B[31m")
      .under("\x1B[31m")
      .hint("\x1B[31m")
      .context({file, 0, 1}, "\x1B[31m")
      .fix({file, 0, 1}, "\x1B[31m", FixKind::Safe, "\x1B[31m");
  EXPECT_THAT(r.text(), Not(HasSubstr("\x1B")));
  EXPECT_THAT(r.text(one_line()), Not(HasSubstr("\x1B")));
}

// Any bytes, any span: rendering neither fails nor lets a control through.
TEST(Marks, AnyBytesAnySpan) {
  std::mt19937 random(11);
  for (int round = 0; round < 3000; ++round) {
    std::string text;
    const std::size_t size = random() % 80;
    for (std::size_t i = 0; i < size; ++i) text += static_cast<char>(random() % 256);
    Rendered r;
    const FileId file = r.files.add("a", text);
    const auto begin = static_cast<std::uint32_t>(random() % 90);
    const auto end = static_cast<std::uint32_t>(random() % 90);
    r.diagnostics.report(wrong, {file, begin, end}, text);
    RenderOptions options;
    options.width = static_cast<int>(random() % 120) - 10;
    for (const char c : r.text(options))
      ASSERT_TRUE(c == '\n' || static_cast<unsigned char>(c) >= 0x20) << round;
  }
}

}  // namespace
}  // namespace cairn
