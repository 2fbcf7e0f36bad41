// Diagnostics as JSON, read back by a reader that others wrote.

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <random>

#include "compiler/text/render.h"

namespace cairn {
namespace {

using nlohmann::json;

constexpr DiagnosticKind<std::string> wrong{"area/wrong", Severity::Error, "`{}` is wrong"};

TEST(RenderJson, SaysAllThatIsKnown) {
  SourceFiles files;
  const FileId load = files.add("a.cairn", "né\n\tsend camra\n");
  const FileId station = files.add("alder.yaml", "units:\n");
  Diagnostics diagnostics;
  diagnostics.report(wrong, {load, 10, 15}, "camra")
      .under("here")
      .context({station, 0, 5}, "declared")
      .cause({load, 5, 9}, "sent")
      .fix({load, 10, 15}, "camera", FixKind::Guess, "did you mean `camera`?")
      .fix({load, 0, 3}, "", FixKind::Safe, "leave it out")
      .hint("look there");
  EXPECT_EQ(json::parse(render_json(diagnostics.all(), files)), json::parse(R"([{
    "code": "area/wrong", "severity": "error", "message": "`camra` is wrong", "under": "here",
    "place": {"file": "a.cairn", "begin": {"line": 2, "column": 7, "offset": 10},
              "end": {"line": 2, "column": 12, "offset": 15}},
    "labels": [
      {"role": "context", "text": "declared", "place": {"file": "alder.yaml",
        "begin": {"line": 1, "column": 1, "offset": 0}, "end": {"line": 1, "column": 6, "offset": 5}}},
      {"role": "cause", "text": "sent", "place": {"file": "a.cairn",
        "begin": {"line": 2, "column": 2, "offset": 5}, "end": {"line": 2, "column": 6, "offset": 9}}}],
    "fixes": [
      {"kind": "guess", "text": "did you mean `camera`?", "replacement": "camera", "place": {"file": "a.cairn",
        "begin": {"line": 2, "column": 7, "offset": 10}, "end": {"line": 2, "column": 12, "offset": 15}}},
      {"kind": "safe", "text": "leave it out", "replacement": "", "place": {"file": "a.cairn",
        "begin": {"line": 1, "column": 1, "offset": 0}, "end": {"line": 1, "column": 3, "offset": 3}}}],
    "hints": ["look there"]}])"));
}

TEST(RenderJson, WithoutAPlaceAndWithoutAnything) {
  Diagnostics diagnostics;
  diagnostics.report(wrong, {}, "x");
  EXPECT_TRUE(json::parse(render_json(diagnostics.all(), {}))[0]["place"].is_null());
  EXPECT_EQ(json::parse(render_json({}, {})), json::array());
}

TEST(RenderJson, AnyBytesMakeValidJson) {
  // The reader refuses text that is not UTF-8 as well as wrong syntax.
  ASSERT_FALSE(json::accept("\"\xFF\""));
  ASSERT_FALSE(json::accept("\"\xED\xA0\x80\""));
  std::mt19937 random(5);
  for (int round = 0; round < 3000; ++round) {
    std::string text;
    const std::size_t size = random() % 40;
    for (std::size_t i = 0; i < size; ++i) text += static_cast<char>(random() % 256);
    SourceFiles files;
    const FileId file = files.add(text, text);
    Diagnostics diagnostics;
    diagnostics.report(wrong, {file, 0, 3}, text)
        .under(text)
        .hint(text)
        .context({file, 1, 2}, text)
        .fix({file, 0, 1}, text, FixKind::Safe, text);
    ASSERT_TRUE(json::accept(render_json(diagnostics.all(), files))) << round;
  }
}

TEST(RenderJson, GoodTextComesBackUnchanged) {
  for (const std::string text :
       {"\"quoted\" \\ back", "tab\tline\nreturn\r", "né 🌒 −20° 終", "\x01\x1F\x7F", ".", " "}) {
    SourceFiles files;
    Diagnostics diagnostics;
    diagnostics.report(wrong, {files.add("a", "x"), 0, 1}, "x").hint(text);
    EXPECT_EQ(json::parse(render_json(diagnostics.all(), files))[0]["hints"][0], text);
  }
}

TEST(RenderJson, SurrogatesAndOverlongFormsAreReplaced) {
  for (const char* text : {"\xED\xA0\x80", "\xC0\xAF", "\xF4\x90\x80\x80", "\xE0\x80\xAF"}) {
    Diagnostics diagnostics;
    diagnostics.report(wrong, {}, text);
    EXPECT_TRUE(json::accept(render_json(diagnostics.all(), {}))) << text;
  }
}

}  // namespace
}  // namespace cairn
