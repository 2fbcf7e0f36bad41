// Each page of this room's codes: its failing example gives the code and no other error, its mended one none.
//
// Read against the small station of the tests, which has the camera and probe of the examples. Left out are
// pages whose example needs what only the full station has.

#include <gmock/gmock.h>

#include <algorithm>
#include <array>
#include <fstream>
#include <sstream>

#include "compiler/text/catalogue.h"
#include "tests/place.h"
#include "tests/sequence/small_station.h"

namespace cairn::test {
namespace {

using ::testing::ElementsAre;
using ::testing::IsEmpty;

std::string example(const std::string& page, const std::string& heading) {
  const std::string fence = "```cairn\n";
  const std::size_t begin = page.find(fence, page.find(heading)) + fence.size();
  return page.substr(begin, page.find("```", begin) - begin);
}

TEST(Pages, ExamplesFailAndPass) {
  constexpr std::array<std::string_view, 7> needs_full_station{
      "meaning/unknown-node",         // thermal nodes
      "meaning/not-allowed",          // the vane's turns
      "meaning/use-cycle",            // needs a second file
      "sequence/bring-no-path",       // the cover's need
      "sequence/bring-from-unknown",  // a station file
      "time/after-leap-table",        // a warning
      "meaning/resolution",           // the power box's trip level
  };
  for (const CatalogueEntry& entry : catalogue()) {
    const bool ours = entry.code.starts_with("units/") || entry.code.starts_with("meaning/") ||
                      entry.code.starts_with("sequence/") || entry.code.starts_with("time/");
    if (!ours) continue;
    std::string name(entry.code);
    name[name.find('/')] = '-';
    std::ifstream file(std::string(cairn::test::source_folder()) + "/docs/diagnostics/" + name + ".md");
    ASSERT_TRUE(file.good()) << name;
    std::ostringstream page;
    page << file.rdbuf();
    if (std::find(needs_full_station.begin(), needs_full_station.end(), entry.code) !=
        needs_full_station.end()) {
      continue;
    }
    const Outcome failing = compile_text(example(page.str(), "## Fails"));
    EXPECT_THAT(failing.codes(), ElementsAre(entry.code)) << name << "\n" << failing.text;
    const Outcome mended = compile_text(example(page.str(), "## Mended"));
    EXPECT_THAT(mended.codes(), IsEmpty()) << name << "\n" << mended.text;
  }
}

}  // namespace
}  // namespace cairn::test
