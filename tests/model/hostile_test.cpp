// Hostile and broken input: it may be refused, it may not crash, hang or pass unseen.

#include <gtest/gtest.h>

#include <chrono>

#include "tests/model/sample.h"

namespace cairn {
namespace {

// Loads, renders, and holds what must always be so: a station, or at least one error.
void survive(const std::string& text) {
  samples::Result result;
  samples::load_text(result, text);
  EXPECT_EQ(result.loaded.has_value(), !result.diagnostics.has_errors());
  result.diagnostics.sort(result.files);
  EXPECT_FALSE(result.diagnostics.has_errors() && result.rendered().empty());
  EXPECT_FALSE(render_json(result.diagnostics.all(), result.files).empty());
  for (const Diagnostic& diagnostic : result.diagnostics.all()) {
    const Span span = diagnostic.primary;
    if (!span.is_valid()) continue;
    EXPECT_LE(span.begin, span.end);
    EXPECT_LE(span.end, result.files.text(span.file).size());
  }
}

std::string base() { return *samples::file_text("docs/diagnostics/base-station.yaml"); }

TEST(ModelHostile, TruncatedAtEachByte) {
  const std::string whole = base();
  for (std::size_t size = 0; size <= whole.size(); ++size) survive(whole.substr(0, size));
}

TEST(ModelHostile, EachByteFlipped) {
  const std::string whole = base();
  for (std::size_t at = 0; at < whole.size(); ++at) {
    for (const unsigned mask : {0x01U, 0x04U, 0x10U, 0x20U, 0x80U}) {
      std::string text = whole;
      text[at] = static_cast<char>(static_cast<unsigned char>(text[at]) ^ mask);
      survive(text);
    }
  }
}

TEST(ModelHostile, BytesReplacedByMarksOfYaml) {
  const std::string whole = base();
  constexpr std::size_t step = 7;  // prime, so that every kind of place is met; keeps the test quick
  for (std::size_t at = 0; at < whole.size(); at += step) {
    for (const char mark : std::string_view("\n\t:-?,[]{}#&*!|>'\"%@")) {
      std::string text = whole;
      text[at] = mark;
      survive(text);
    }
  }
}

TEST(ModelHostile, DeepNesting) {
  for (const std::size_t depth : {20U, 31U, 32U, 33U, 1000U, 100'000U}) {
    for (const std::string_view open : {"[", "{a: ", "- ", "? ", "- ? "}) {
      std::string text = "title: ";
      if (open[0] == '-' || open[0] == '?') text += "\n  ";
      for (std::size_t i = 0; i < depth; ++i) text += open;
      survive(text);
    }
    survive("title: " + std::string(depth, '[') + std::string(depth, ']') + "\n");
  }
  samples::Result result;
  samples::load_text(result, "title: " + std::string(40, '[') + std::string(40, ']') + "\n");
  EXPECT_TRUE(result.has("model/too-large")) << result.rendered();
}

TEST(ModelHostile, AliasBombs) {
  std::string text = "a0: &a0 [x, x, x, x, x, x, x, x, x, x]\n";
  for (int i = 1; i < 12; ++i) {
    const std::string below = "*a" + std::to_string(i - 1);
    text += "a" + std::to_string(i) + ": &a" + std::to_string(i) + " [" + below;
    for (int k = 0; k < 9; ++k) text += ", " + below;
    text += "]\n";
  }
  samples::Result result;
  samples::load_text(result, text);
  EXPECT_TRUE(result.has("model/too-large")) << result.rendered();
  // Few values, but each of them long.
  std::string words = "a: &a " + std::string(1'000'000, 'x') + "\nb: [*a";
  for (int i = 0; i < 1000; ++i) words += ", *a";
  samples::Result long_words;
  samples::load_text(long_words, words + "]\n");
  EXPECT_TRUE(long_words.has("model/too-large"));
  // Each alias one level deeper than the last.
  std::string chain = "a0: &a0 [x]\n";
  for (int i = 1; i < 60; ++i) {
    chain += "a" + std::to_string(i) + ": &a" + std::to_string(i) + " [*a" + std::to_string(i - 1) + "]\n";
  }
  samples::Result deep;
  samples::load_text(deep, chain);
  EXPECT_TRUE(deep.has("model/too-large"));
}

TEST(ModelHostile, LargeFilesEndInReasonableTime) {
  const auto begin = std::chrono::steady_clock::now();
  samples::Result too_large;
  samples::load_text(too_large, std::string((4U << 20U) + 1, '#'));
  EXPECT_TRUE(too_large.has("model/too-large"));
  std::string keys;
  for (int i = 0; i < 60'000; ++i) keys += "k" + std::to_string(i) + ": {}\n";
  survive(keys);
  survive("units:\n" + std::string(100'000, ' ') + "x\n");
  survive("windows: [" + std::string(300'000, ',') + "]\n");
  std::string units = "include: [base-station.yaml]\nunits:\n";
  for (int i = 0; i < 20'000; ++i)
    units += "  u" + std::to_string(i) + ": {states: {off: {heat: {nowhere: \"1 %\"}}}}\n";
  survive(units);
  std::string states = "include: [base-station.yaml]\nunits: {u: {states: {";
  for (int i = 0; i < 50'000; ++i) states += "t" + std::to_string(i) + ": {}, ";
  survive(states + "}}}\n");
  EXPECT_LT(std::chrono::steady_clock::now() - begin, std::chrono::seconds(60));
}

TEST(ModelHostile, OddBytesAndLineEnds) {
  survive(std::string("title: a\0b\n", 11));
  survive("\xFF\xFEt\0i\0");
  survive("title: \xC0\x80\n");
  survive("title: \xED\xA0\x80\n");
  survive("title: \xF4\x90\x80\x80\n");
  survive("--- a\n--- b\n");
  survive("%YAML 9.9\n---\ntitle: a\n");
  survive("\"unclosed");
  survive("a: |9\n x\n");
  survive("a: \"\\xZZ\"\n");
  survive("a: \"\\UFFFFFFFF\"\n");
}

TEST(ModelHostile, CarriageReturnsAndAByteOrderMarkAreRead) {
  std::string text = "\xEF\xBB\xBF";
  for (const char c : base()) text += c == '\n' ? std::string("\r\n") : std::string(1, c);
  samples::Result result;
  samples::load_text(result, text);
  ASSERT_TRUE(result.loaded) << result.rendered();
  const Station& station = result.loaded->station;
  EXPECT_EQ(result.files.text(result.loaded->place(station.units[find_unit(station, "camera")].origin)),
            "camera");
}

}  // namespace
}  // namespace cairn
