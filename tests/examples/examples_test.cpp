// Every example that people are shown does what is said beside it, with the whole of Cairn and the real
// station.
//
// Pages of diagnostics: the failing example gives its code and nothing else, the mended one gives nothing and
// all checks hold. Loads in examples/broken give the code that their first line expects. The other loads
// hold.

#include <gmock/gmock.h>

#include <filesystem>
#include <fstream>
#include <map>
#include <set>

#include "compiler/command/pipeline.h"
#include "compiler/text/catalogue.h"
#include "compiler/text/render.h"
#include "tests/layers/source_tree.h"
#include "tests/place.h"

namespace cairn::test {
namespace {

namespace fs = std::filesystem;
using ::testing::ElementsAre;
using ::testing::IsEmpty;

// The leap-second table of today ends before 2031; every example says so, and no page but its own is about
// that.
constexpr std::string_view always_said = "time/after-leap-table";

// A copy of examples/ in which one file more may stand.
class Project {
 public:
  Project() {
    std::string name = (fs::path(testing::TempDir()) / "cairn-examples-XXXXXX").string();
    if (const char* made = mkdtemp(name.data())) folder_ = made;
    fs::copy(fs::path(cairn::test::source_folder()) / "examples", folder_, fs::copy_options::recursive);
  }
  ~Project() {
    std::error_code ignored;
    if (!folder_.empty()) fs::remove_all(folder_, ignored);
  }
  Project(const Project&) = delete;
  Project& operator=(const Project&) = delete;

  void write(const std::string& path, std::string_view text) const { std::ofstream(folder_ / path) << text; }
  [[nodiscard]] std::string path(const std::string& path) const { return (folder_ / path).string(); }

 private:
  fs::path folder_;
};

struct Outcome {
  std::set<std::string> codes;
  bool holds = false;
  std::string text;
};

Outcome check(const Project& project, const std::string& load, const std::string& station) {
  CompileOptions options;
  options.load = project.path(load);
  if (!station.empty()) options.station = project.path(station);
  SourceFiles files;
  Diagnostics diagnostics;
  const auto compiled = compile(World{}, options, files, diagnostics);
  Outcome outcome;
  for (const Diagnostic& diagnostic : diagnostics.all()) {
    if (diagnostic.code != always_said) outcome.codes.emplace(diagnostic.code);
  }
  outcome.holds =
      compiled && compiled->translation.empty() && overall(compiled->results.findings) == Verdict::Holds;
  RenderOptions short_form;
  short_form.one_line = true;
  outcome.text = render_text(diagnostics.all(), files, short_form);
  return outcome;
}

struct Example {
  std::string language;
  std::string text;
};

Example example_under(const std::string& page, const std::string& heading) {
  const std::size_t fence = page.find("```", page.find("\n" + heading + "\n"));
  const std::size_t begin = page.find('\n', fence) + 1;
  return {page.substr(fence + 3, begin - fence - 4), page.substr(begin, page.find("```", begin) - begin)};
}

Outcome run(const Project& project, const Example& example) {
  if (example.language == "yaml") {
    project.write("stations/page.yaml", example.text);
    return check(project, "loads/alder-41-evening.cairn", "stations/page.yaml");
  }
  project.write("loads/page.cairn", example.text);
  return check(project, "loads/page.cairn", "");
}

// Pages whose failing example shows another code, or none, and why.
struct Special {
  std::string shows;
  std::string why;
};
const std::map<std::string, Special> special{
    {"table/horizon", {"table/late", "planning keeps the horizon by itself"}},
    {"table/spacing", {"sequence/spacing", "expansion keeps the spacing by itself"}},
    {"table/time-tag", {"", "no windows are known for that year, which other codes say as well"}},
    {"table/withdraw", {"", "needs the plan of a load before: tests/command/withdraw_test.cpp"}},
    {"table/without", {"", "needs the plan of a load before: tests/command/withdraw_test.cpp"}},
    {"meaning/use-cycle", {"", "needs a second file"}},
    {"sequence/bring-from-unknown", {"", "a passage of a station file"}},
    {"syntax/bad-encoding", {"", "no page can hold a wrong byte"}},
    {"syntax/file-too-large", {"", "no page is as long"}},
    {"syntax/too-many-errors", {"", "no page is as long"}},
    {"time/after-leap-table", {"", "the code that every example gives"}},
    {"waiver/nothing", {"", "a warning: the load holds"}},
};

std::string code_of(const SourceText& page) {
  std::string code = page.path.substr(page.path.rfind('/') + 1);
  code.resize(code.size() - std::string_view(".md").size());
  code[code.find('-')] = '/';
  return code;
}

void check_pages(std::string_view area) {
  const Project project;
  std::size_t pages = 0;
  for (const SourceText& page : files_under("docs/diagnostics", {".md"})) {
    const std::string code = code_of(page);
    if (!code.starts_with(std::string(area) + "/")) continue;
    ++pages;
    const auto found = special.find(code);
    const std::string expected = found == special.end() ? code : found->second.shows;
    if (expected.empty()) continue;
    const Outcome fails = run(project, example_under(page.text, "## Fails"));
    EXPECT_THAT(fails.codes, ElementsAre(expected)) << code << "\n" << fails.text;
    EXPECT_FALSE(fails.holds) << code;
    const Outcome mended = run(project, example_under(page.text, "## Mended"));
    EXPECT_THAT(mended.codes, IsEmpty()) << code << "\n" << mended.text;
    EXPECT_TRUE(mended.holds) << code;
  }
  EXPECT_GT(pages, 0U);
}

TEST(Pages, Syntax) { check_pages("syntax"); }
TEST(Pages, Units) { check_pages("units"); }
TEST(Pages, Meaning) { check_pages("meaning"); }
TEST(Pages, Sequence) { check_pages("sequence"); }
TEST(Pages, Power) { check_pages("power"); }
TEST(Pages, Heat) { check_pages("heat"); }
TEST(Pages, Modes) { check_pages("modes"); }
TEST(Pages, Commanding) { check_pages("commanding"); }
TEST(Pages, Table) { check_pages("table"); }
TEST(Pages, Rules) { check_pages("rules"); }
TEST(Pages, Waiver) { check_pages("waiver"); }

TEST(Pages, EveryAreaIsRunHereOrElsewhere) {
  // Station files are held by tests/model, the command line's own codes by tests/command.
  const std::set<std::string> areas{"syntax", "units",      "meaning", "sequence", "power", "heat",
                                    "modes",  "commanding", "table",   "time",     "model", "input",
                                    "output", "rules",      "waiver",  "withdraw"};
  for (const CatalogueEntry& entry : catalogue()) {
    EXPECT_TRUE(areas.contains(std::string(entry.code.substr(0, entry.code.find('/'))))) << entry.code;
  }
}

TEST(Loads, BrokenOnesGiveWhatTheyExpect) {
  const Project project;
  std::size_t loads = 0;
  for (const SourceText& load : files_under("examples/broken", {".cairn"})) {
    const std::string marker = "Expected: ";
    const std::string first = lines_of(load.text).front();
    ASSERT_NE(first.find(marker), std::string::npos) << load.path;
    const std::string expected = first.substr(first.find(marker) + marker.size());
    const Outcome outcome = check(project, load.path.substr(std::string_view("examples/").size()), "");
    EXPECT_THAT(outcome.codes, ElementsAre(expected)) << load.path << "\n" << outcome.text;
    EXPECT_FALSE(outcome.holds) << load.path;
    EXPECT_TRUE(load.path.find("/fail_") != std::string::npos) << load.path;
    ++loads;
  }
  EXPECT_GE(loads, 20U);
}

TEST(Loads, TheOthersHold) {
  const Project project;
  std::size_t loads = 0;
  for (const SourceText& load : files_under("examples/loads", {".cairn"})) {
    const Outcome outcome = check(project, load.path.substr(std::string_view("examples/").size()), "");
    EXPECT_THAT(outcome.codes, IsEmpty()) << load.path << "\n" << outcome.text;
    EXPECT_TRUE(outcome.holds) << load.path;
    ++loads;
  }
  EXPECT_GE(loads, 2U);
}

// A page that says something else than it shows would be found.
TEST(PlantedBreach, AnExampleThatDoesNotShowItsCode) {
  const Project project;
  const Outcome outcome =
      run(project, {"cairn",
                    "load \"a\" for alder {\n  span 2031-05-01T00:00:00Z to "
                    "2031-05-02T00:00:00Z\n  at 2031-05-01T09:00:00Z { send dump.full }\n}\n"});
  EXPECT_THAT(outcome.codes, ElementsAre("modes/no-move"));
  EXPECT_FALSE(outcome.holds);
}

}  // namespace
}  // namespace cairn::test
