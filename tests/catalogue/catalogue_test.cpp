// Every code has a page and a use, every page a code, and none stands twice.
//
// The planted breaches below show that the guard can fail; a guard that finds nothing to read fails too.

#include "compiler/text/catalogue.h"

#include <gmock/gmock.h>

#include "tests/catalogue/catalogue_guard.h"

namespace cairn::test {
namespace {

using ::testing::Contains;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;
using ::testing::UnorderedElementsAre;

std::vector<Entry> project_entries() {
  std::vector<Entry> entries;
  for (const SourceText& file : files_under("compiler/text/catalogue", {".def"})) {
    for (Entry& entry : entries_of(file)) entries.push_back(std::move(entry));
  }
  return entries;
}

// A finding is coded by the room that finds it: its area is the name of that room.
std::set<std::string> project_finding_codes() {
  const std::vector<SourceText> sources = files_under("constraints", {".cpp", ".h"});
  std::set<std::string> areas;
  for (const SourceText& file : sources) {
    const std::size_t begin = std::string_view("constraints/").size();
    areas.insert(file.path.substr(begin, file.path.find('/', begin) - begin));
  }
  return finding_codes(sources, areas);
}

TEST(Catalogue, TheScannerReadsWhatTheCompilerReads) {
  std::vector<std::string> scanned;
  for (const Entry& entry : project_entries()) scanned.push_back(entry.code);
  std::vector<std::string> compiled;
  for (const CatalogueEntry& entry : catalogue()) compiled.emplace_back(entry.code);
  std::sort(scanned.begin(), scanned.end());
  std::sort(compiled.begin(), compiled.end());
  EXPECT_EQ(scanned, compiled);
}

TEST(Catalogue, EveryEntryIsWellFormedAndUsed) {
  EXPECT_THAT(check_entries(project_entries(), files_under("compiler", {".cpp", ".h"})), IsEmpty());
}

TEST(Catalogue, MessagesKeepTheWording) {
  for (const CatalogueEntry& entry : catalogue()) {
    ASSERT_FALSE(entry.message.empty()) << entry.code;
    EXPECT_FALSE(entry.message.front() >= 'A' && entry.message.front() <= 'Z')
        << entry.code << ": " << entry.message;
    EXPECT_NE(entry.message.back(), '.') << entry.code << ": " << entry.message;
  }
}

// A finding that fails must have words: its code stands in the catalogue too.
TEST(Catalogue, EveryFindingHasALine) {
  std::set<std::string> codes = project_finding_codes();
  ASSERT_THAT(codes, Not(IsEmpty()));
  for (const Entry& entry : project_entries()) codes.erase(entry.code);
  EXPECT_THAT(codes, IsEmpty());
}

TEST(Catalogue, PagesAndCodesBelongTogether) {
  std::set<std::string> codes = project_finding_codes();
  EXPECT_THAT(codes, Contains("power/reserve"));
  EXPECT_GE(codes.size(), 14U);
  for (const Entry& entry : project_entries()) codes.insert(entry.code);
  EXPECT_THAT(check_pages(codes, files_under("docs/diagnostics", {".md"})), IsEmpty());
}

constexpr std::string_view good_page =
    "# area/word\n\nSomething is `wrong` here.\n\n## Why it matters\n\nBecause. And\nso on.\n\n"
    "## Fails\n\n```cairn\n# a comment\nbad\n```\n\n## Mended\n\n```cairn\ngood\n```\n";

std::string page_with(std::string_view what, std::string_view instead) {
  std::string page(good_page);
  return page.replace(page.find(what), what.size(), instead);
}

TEST(PlantedBreach, EntryUsedNowhere) {
  const std::vector<Entry> entries =
      entries_of({"a.def",
                  "// DIAG(Name, \"area/word\", ...)\nDIAG(First, \"area/first\", Error, \"\")\nDIAG( Second "
                  ", \"area/second\", Note, \"\")\n"});
  EXPECT_THAT(
      check_entries(entries,
                    {{"a.cpp", "report(diagnostics::First, span); report(cairn::diagnostics::Second);"}}),
      IsEmpty());
  EXPECT_THAT(
      check_entries(entries, {{"a.cpp", "report(diagnostics::First, span); // diagnostics::Second\n"}}),
      ElementsAre(HasSubstr("`area/second` (Second) is reported nowhere")));
  EXPECT_THAT(check_entries(entries, {{"a.cpp", "diagnostics::FirstOfAll; diagnostics::Second;"}}),
              ElementsAre(HasSubstr("`area/first` (First) is reported nowhere")));
}

TEST(PlantedBreach, CodeTwiceOrOfNoForm) {
  const std::vector<SourceText> sources{{"a.cpp", "diagnostics::A diagnostics::B"}};
  EXPECT_THAT(check_entries({{"A", "a/b", "x"}, {"B", "a/b", "y"}}, sources),
              ElementsAre(HasSubstr("`a/b` stands twice")));
  EXPECT_THAT(check_entries({{"A", "a/b", "x"}, {"A", "a/c", "y"}}, sources),
              ElementsAre(HasSubstr("A stands twice")));
  for (const char* code : {"ab", "a/B", "a/b/c", "a/b_c", "a/", "a/b-", "a1/b"}) {
    EXPECT_THAT(check_entries({{"A", code, "x"}}, sources), ElementsAre(HasSubstr("not written area/word")))
        << code;
  }
}

TEST(PlantedBreach, NothingToCheck) {
  EXPECT_THAT(check_entries({}, {{"a.cpp", ""}}), Not(IsEmpty()));
  EXPECT_THAT(check_entries({}, {}), Not(IsEmpty()));
  EXPECT_THAT(check_pages({}, {}), Not(IsEmpty()));
}

TEST(PlantedBreach, PagesAndCodesApart) {
  const SourceText page{"docs/diagnostics/area-word.md", std::string(good_page)};
  EXPECT_THAT(check_pages({"area/word"}, {page}), IsEmpty());
  EXPECT_THAT(check_pages({"area/word", "area/other"}, {page}),
              ElementsAre(HasSubstr("area/other has no page")));
  EXPECT_THAT(check_pages({"area/word"}, {page, {"docs/diagnostics/area-old.md", std::string(good_page)}}),
              ElementsAre(HasSubstr("area-old.md is the page of no code")));
}

TEST(PlantedBreach, PageOfAnotherShape) {
  EXPECT_THAT(check_page("area/word", good_page), IsEmpty());
  EXPECT_THAT(check_page("area/other", good_page), ElementsAre(HasSubstr("headings")));
  EXPECT_THAT(check_page("area/word", page_with("## Why it matters", "## Why")),
              ElementsAre(HasSubstr("headings")));
  EXPECT_THAT(check_page("area/word", page_with("## Mended", "## Mended\n\n## More")),
              ElementsAre(HasSubstr("headings")));
  EXPECT_THAT(check_page("area/word", page_with("Something is `wrong` here.", "Something is. Wrong here.")),
              ElementsAre(HasSubstr("one sentence")));
  EXPECT_THAT(check_page("area/word", page_with("Something is `wrong` here.", "Something is wrong")),
              ElementsAre(HasSubstr("one sentence")));
  EXPECT_THAT(check_page("area/word", page_with("Because. And\nso on.\n", "")),
              ElementsAre(HasSubstr("Why it matters")));
  EXPECT_THAT(check_page("area/word", page_with("```cairn\ngood\n```\n", "good\n")),
              ElementsAre(HasSubstr("one fenced example")));
  EXPECT_THAT(check_page("area/word", page_with("good\n```\n", "good\n")),
              ElementsAre(HasSubstr("one fenced example")));
  EXPECT_THAT(check_page("area/word", page_with("```cairn\ngood", "```\ngood")),
              ElementsAre(HasSubstr("no known language")));
  EXPECT_THAT(check_page("area/word", page_with("good\n", "\n")), ElementsAre(HasSubstr("empty example")));
  EXPECT_THAT(check_page("area/word", page_with("## Mended\n", "## Mended\n\n```cairn\nfirst\n```\n")),
              ElementsAre(HasSubstr("one fenced example")));
  EXPECT_THAT(check_page("area/word", page_with("good", "# a comment\nbad")),
              ElementsAre(HasSubstr("show the same")));
  EXPECT_THAT(check_page("area/word", ""), ElementsAre(HasSubstr("headings")));
}

TEST(PlantedBreach, FindingCodesAreSeen) {
  EXPECT_THAT(
      finding_codes(
          {{"a.cpp", "f.code = \"heat/new-word\"; unit(\"bit/s\"); x = k ? \"heat/a\" : \"heat/b\";"}},
          {"heat"}),
      UnorderedElementsAre("heat/new-word", "heat/a", "heat/b"));
}

}  // namespace
}  // namespace cairn::test
