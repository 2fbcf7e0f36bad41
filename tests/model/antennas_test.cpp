// Windows computed from an antenna's place: held against published rise and set times, and what may go wrong.

#include <gtest/gtest.h>

#include "tests/model/sample.h"

namespace cairn {
namespace {

const std::string site = "site: {latitude: \"-20 deg\", longitude: \"30 deg\"}\n";
const std::string antennas =
    "antennas: {sierra: {latitude: \"40 deg\", longitude: \"-4 deg\", height: \"700 m\", mask: \"10 "
    "deg\"}}\n";

std::string search(const std::string& rest) {
  return site + antennas + "windows: [{antenna: sierra, " + rest + "}]\n";
}

Instant utc(const char* text) { return *parse_utc(text, published_leap_seconds()); }

// Moon above 10 degrees, 40 N 4 W 700 m: astronomy-engine 2.1.19 and PyEphem 4.1.4, which agree to 0.1 s.
TEST(ComputedWindows, AreThePublishedPasses) {
  samples::Result result;
  samples::load_over(result, search("from: \"2031-01-14T08:00:00Z\", to: \"2031-01-16T03:00:00Z\""));
  ASSERT_TRUE(result.loaded) << result.rendered();
  const Station& station = result.loaded->station;
  std::vector<Window> found;
  for (const Window& window : station.windows) {
    if (station.antennas[window.antenna].name == "sierra") found.push_back(window);
  }
  ASSERT_EQ(found.size(), 3U);
  const struct {
    Instant time;
    const char* published;
  } rows[] = {{found[0].opens, "2031-01-14T08:00:00Z"},   {found[0].closes, "2031-01-14T09:16:03.3Z"},
              {found[1].opens, "2031-01-15T00:13:58.5Z"}, {found[1].closes, "2031-01-15T09:44:10.6Z"},
              {found[2].opens, "2031-01-16T01:20:58.0Z"}, {found[2].closes, "2031-01-16T03:00:00Z"}};
  for (const auto& row : rows) {
    EXPECT_NEAR((row.time - utc(row.published)).seconds(), 0, 5) << row.published;
    EXPECT_EQ(row.time.tai_nanoseconds % nanoseconds_per_second, 0);
  }
}

TEST(ComputedWindows, ShortPassesAreLeftOut) {
  samples::Result result;
  samples::load_over(
      result, search("from: \"2031-01-14T08:00:00Z\", to: \"2031-01-16T03:00:00Z\", shortest: \"2 h\""));
  ASSERT_TRUE(result.loaded) << result.rendered();
  std::size_t count = 0;
  for (const Window& window : result.loaded->station.windows) {
    count += result.loaded->station.antennas[window.antenna].name == "sierra" ? 1U : 0U;
  }
  EXPECT_EQ(count, 1U);
}

TEST(ComputedWindows, MistakesAreToldAtTheirPlace) {
  const struct {
    std::string text;
    std::string code;
    std::string under;
  } rows[] = {
      {site + antennas +
           "windows: [{antenna: siera, from: \"2031-01-14T08:00:00Z\", to: \"2031-01-15T08:00:00Z\"}]\n",
       "model/unknown-name", "siera"},
      {site + antennas +
           "windows: [{antenna: plain, opens: \"2031-01-14T08:00:00Z\", closes: \"2031-01-14T09:00:00Z\"}, "
           "{antenna: plain, from: \"2031-01-15T08:00:00Z\", to: \"2031-01-16T08:00:00Z\"}]\n",
       "model/unknown-name", "plain"},
      {search("from: \"2031-01-14T08:00:00Z\", to: \"2031-01-14T07:00:00Z\""), "model/windows",
       "\"2031-01-14T07:00:00Z\""},
      {search("from: \"2031-01-14T08:00:00Z\", to: \"2033-01-14T07:00:00Z\""), "model/out-of-range",
       "\"2033-01-14T07:00:00Z\""},
      {search("from: \"2031-01-14T08:00:00Z\""), "model/missing-key", "{"},
      {search(
           "from: \"2031-01-14T08:00:00Z\", closes: \"2031-01-14T09:00:00Z\", to: \"2031-01-15T07:00:00Z\""),
       "model/unknown-key", "closes"},
      {site + "antennas: {sierra: {latitude: \"40 deg\", longitude: \"-4 deg\"}}\n", "model/missing-key",
       "sierra"},
      {site + "antennas: {sierra: {latitude: \"40 deg\", longitude: \"-4 deg\", mask: \"95 deg\"}}\n",
       "model/out-of-range", "95 deg"},
      {site + "antennas: {sierra: {latitude: \"40 deg\", longitude: \"-4 deg\", mask: \"5 deg\", refraction: "
              "yes}}\n",
       "model/unknown-name", "yes"},
  };
  for (const auto& row : rows) {
    samples::Result result;
    samples::load_over(result, row.text);
    ASSERT_EQ(result.diagnostics.all().size(), 1U) << row.text << result.rendered();
    EXPECT_EQ(result.diagnostics.all()[0].code, row.code) << row.text << result.rendered();
    EXPECT_EQ(result.files.text(result.diagnostics.all()[0].primary), row.under)
        << row.text << result.rendered();
  }
}

}  // namespace
}  // namespace cairn
