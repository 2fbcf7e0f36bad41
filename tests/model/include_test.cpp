// Includes: who wins, what is joined, and which names are refused.

#include "compiler/model/include.h"

#include <gtest/gtest.h>

#include "tests/model/sample.h"

namespace cairn {
namespace {

TEST(Include, NamesAreResolvedInsideTheProject) {
  EXPECT_EQ(resolve_include("stations/alder.yaml", "shared/site.yaml"), "stations/shared/site.yaml");
  EXPECT_EQ(resolve_include("stations/alder.yaml", "../common/./site.yaml"), "common/site.yaml");
  EXPECT_EQ(resolve_include("alder.yaml", "site.yaml"), "site.yaml");
  EXPECT_EQ(resolve_include("stations/alder.yaml", "../../site.yaml"), std::nullopt);
  EXPECT_EQ(resolve_include("alder.yaml", "../site.yaml"), std::nullopt);
  EXPECT_EQ(resolve_include("alder.yaml", "a/../../site.yaml"), std::nullopt);
  EXPECT_EQ(resolve_include("alder.yaml", "/etc/site.yaml"), std::nullopt);
  EXPECT_EQ(resolve_include("alder.yaml", "C:/site.yaml"), std::nullopt);
  EXPECT_EQ(resolve_include("alder.yaml", "a\\site.yaml"), std::nullopt);
  EXPECT_EQ(resolve_include("alder.yaml", std::string("a\0b", 3)), std::nullopt);
  EXPECT_EQ(resolve_include("alder.yaml", ""), std::nullopt);
  EXPECT_EQ(resolve_include("alder.yaml", "."), std::nullopt);
  // A station from outside the project may reach only what lies beside or below it.
  EXPECT_EQ(resolve_include("/home/alder.yaml", "site.yaml"), "/home/site.yaml");
  EXPECT_EQ(resolve_include("/home/alder.yaml", "../site.yaml"), std::nullopt);
  EXPECT_EQ(resolve_include("../posts/alder.yaml", "../site.yaml"), std::nullopt);
}

TEST(Include, TheIncludingFileWinsAndMapsAreMerged) {
  samples::Result result;
  samples::load(result,
                {{"docs/diagnostics/example.yaml",
                  "include: [base-station.yaml, over.yaml]\ntitle: mine\nlink: {rate: \"2 kbit/s\"}\n"},
                 {"docs/diagnostics/over.yaml", "title: theirs\naddress: 99\nlink: {source_id: 7}\n"}});
  ASSERT_TRUE(result.loaded) << result.rendered();
  const Station& station = result.loaded->station;
  EXPECT_EQ(station.title, "mine");
  EXPECT_EQ(station.address, 99);
  EXPECT_EQ(station.link.rate, 2000);
  EXPECT_EQ(station.link.source_id, 7);
  EXPECT_EQ(station.link.application_id, 291);
  ASSERT_EQ(result.loaded->files.size(), 3U);
  EXPECT_EQ(result.files.name(result.loaded->files[0]), "docs/diagnostics/example.yaml");
}

TEST(Include, OnlyWindowsAreJoined) {
  samples::Result result;
  samples::load_over(
      result,
      "windows: [{antenna: east-dish, opens: \"2031-05-13T04:00:00Z\", closes: \"2031-05-13T05:00:00Z\"}]\n"
      "thermal: {links: [{between: [electronics, space], conductance: \"1 W/K\"}]}\n");
  ASSERT_TRUE(result.loaded) << result.rendered();
  EXPECT_EQ(result.loaded->station.windows.size(), 2U);
  ASSERT_EQ(result.loaded->station.thermal.links.size(), 1U);
  EXPECT_FALSE(result.loaded->station.thermal.links[0].radiative);
}

TEST(Include, ACycleShowsItsWay) {
  samples::Result result;
  samples::load(result, {{"docs/diagnostics/example.yaml", "include: [one.yaml]\n"},
                         {"docs/diagnostics/one.yaml", "include: [two.yaml]\n"},
                         {"docs/diagnostics/two.yaml", "include: [one.yaml]\n"}});
  ASSERT_FALSE(result.loaded);
  ASSERT_TRUE(result.has("model/include-cycle")) << result.rendered();
  EXPECT_EQ(result.first("model/include-cycle")->labels.size(), 1U);
}

TEST(Include, AFileMayBeReachedByTwoWays) {
  samples::Result result;
  samples::load(result, {{"docs/diagnostics/example.yaml", "include: [one.yaml, two.yaml]\n"},
                         {"docs/diagnostics/one.yaml", "include: [base-station.yaml]\n"},
                         {"docs/diagnostics/two.yaml", "include: [site.yaml]\n"},
                         {"docs/diagnostics/site.yaml", "title: shared\n"}});
  ASSERT_TRUE(result.loaded) << result.rendered();
  EXPECT_EQ(result.loaded->files.size(), 5U);
}

TEST(Include, ManyWaysAreBounded) {
  samples::Texts texts{{"docs/diagnostics/example.yaml", "include: [f0.yaml, f0.yaml]\n"}};
  for (int i = 0; i < 30; ++i) {
    const std::string next = "f" + std::to_string(i + 1) + ".yaml";
    texts["docs/diagnostics/f" + std::to_string(i) + ".yaml"] = "include: [" + next + ", " + next + "]\n";
  }
  samples::Result result;
  samples::load(result, texts);
  EXPECT_FALSE(result.loaded);
  EXPECT_TRUE(result.has("model/too-large")) << result.rendered();
}

TEST(Include, AMissingStationFileIsReportedWithoutAPlace) {
  samples::Result result;
  samples::load(result, {}, "no/such.yaml");
  ASSERT_EQ(result.diagnostics.all().size(), 1U);
  EXPECT_EQ(result.diagnostics.all()[0].code, "model/cannot-read");
  EXPECT_FALSE(result.diagnostics.all()[0].primary.is_valid());
}

}  // namespace
}  // namespace cairn
