// Each page of a model code: its failing example gives the code and no other, its mended one loads.

#include <gtest/gtest.h>

#include "compiler/text/catalogue.h"
#include "tests/model/sample.h"

namespace cairn {
namespace {

std::string example(const std::string& page, const std::string& heading) {
  const std::string fence = "```yaml\n";
  const std::size_t begin = page.find(fence, page.find(heading)) + fence.size();
  return page.substr(begin, page.find("```", begin) - begin);
}

TEST(ModelPages, ExamplesFailAndPass) {
  std::size_t pages = 0;
  for (const CatalogueEntry& entry : catalogue()) {
    if (!entry.code.starts_with("model/")) continue;
    std::string name(entry.code);
    name[name.find('/')] = '-';
    const auto page = samples::file_text("docs/diagnostics/" + name + ".md");
    ASSERT_TRUE(page) << name;
    ++pages;
    samples::Result mended;
    samples::load_text(mended, example(*page, "## Mended"));
    EXPECT_TRUE(mended.loaded) << name << "\n" << mended.rendered();
    EXPECT_TRUE(mended.diagnostics.all().empty()) << name << "\n" << mended.rendered();
    if (entry.code == "model/too-many-errors") continue;  // no short text shows it
    samples::Result failing;
    samples::load_text(failing, example(*page, "## Fails"));
    EXPECT_FALSE(failing.loaded) << name;
    ASSERT_EQ(failing.diagnostics.all().size(), 1U) << name << "\n" << failing.rendered();
    EXPECT_EQ(failing.diagnostics.all()[0].code, entry.code) << failing.rendered();
  }
  EXPECT_GE(pages, 22U);
}

TEST(ModelPages, TheBaseStationLoadsAlone) {
  samples::Result result;
  samples::load(result, {}, "docs/diagnostics/base-station.yaml");
  ASSERT_TRUE(result.loaded) << result.rendered();
  EXPECT_EQ(result.loaded->station.name, "alder");
}

}  // namespace
}  // namespace cairn
