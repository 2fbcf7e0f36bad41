// Each page of a syntax code: its failing example gives the code, its mended one is read without a word.

#include <gtest/gtest.h>

#include <array>
#include <fstream>
#include <sstream>
#include <string>

#include "compiler/syntax/parse.h"
#include "compiler/text/catalogue.h"
#include "tests/place.h"

namespace cairn {
namespace {

std::string example(const std::string& page, const std::string& heading) {
  const std::string fence = "```cairn\n";
  const std::size_t begin = page.find(fence, page.find(heading)) + fence.size();
  return page.substr(begin, page.find("```", begin) - begin);
}

TEST(SyntaxPages, ExamplesFailAndPass) {
  constexpr std::array<std::string_view, 3> not_writable{
      "syntax/bad-encoding", "syntax/file-too-large", "syntax/too-many-errors"};  // no short text shows them
  for (const CatalogueEntry& entry : catalogue()) {
    if (!entry.code.starts_with("syntax/")) continue;
    std::string name(entry.code);
    name[name.find('/')] = '-';
    std::ifstream file(std::string(cairn::test::source_folder()) + "/docs/diagnostics/" + name + ".md");
    ASSERT_TRUE(file.good()) << name;
    std::ostringstream page;
    page << file.rdbuf();
    SourceFiles files;
    Diagnostics mended;
    parse(files, files.add("mended.cairn", example(page.str(), "## Mended")), {}, mended);
    EXPECT_TRUE(mended.all().empty()) << name;
    bool writable = true;
    for (const std::string_view code : not_writable) writable = writable && code != entry.code;
    if (!writable) continue;
    Diagnostics failing;
    parse(files, files.add("fails.cairn", example(page.str(), "## Fails")), {}, failing);
    ASSERT_EQ(failing.all().size(), 1U) << name;
    EXPECT_EQ(failing.all()[0].code, entry.code);
  }
}

}  // namespace
}  // namespace cairn
