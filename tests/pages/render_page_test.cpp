// The page as text: whole, self-contained, and with the plan in it unchanged.

#include <gmock/gmock.h>

#include <nlohmann/json.hpp>
#include <string>

#include "compiler/pages/pages.h"
#include "tests/pages/sample_plan.h"

namespace cairn {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

// The plan as a browser's script would read it.
std::string embedded(const std::string& page) {
  const std::string opening = "<script type=\"application/json\" id=\"plan\">";
  const std::size_t begin = page.find(opening) + opening.size();
  return page.substr(begin, page.find("</script", begin) - begin);
}

std::size_t count(const std::string& text, const std::string& word) {
  std::size_t found = 0;
  for (std::size_t at = text.find(word); at != std::string::npos; at = text.find(word, at + 1)) ++found;
  return found;
}

TEST(RenderPage, CarriesThePlanUnchanged) {
  const std::string plan =
      R"({"format":"cairn-plan","note":"a < b, \"quoted\", \\u003c, é, 10 > 9","x":[1,2.5,null]})";
  EXPECT_EQ(nlohmann::json::parse(embedded(render_page(plan))), nlohmann::json::parse(plan));
}

TEST(RenderPage, CarriesEveryCommand) {
  const nlohmann::json plan = nlohmann::json::parse(embedded(render_page(test::sample_plan())));
  ASSERT_EQ(plan["commands"].size(), std::size_t{test::sample_commands});
  for (std::size_t i = 0; i < plan["commands"].size(); ++i) {
    EXPECT_EQ(plan["commands"][i]["number"], i + 1);
  }
}

TEST(RenderPage, NoTextOfAPlanBecomesMarkup) {
  const std::string plan =
      R"({"a":"</script><script>alert(1)</script>","b":"<!--<script>","c":"]]>","d":"</SCRIPT >"})";
  const std::string page = render_page(plan);
  EXPECT_EQ(nlohmann::json::parse(embedded(page)), nlohmann::json::parse(plan));
  EXPECT_THAT(page, Not(HasSubstr("alert(1)</script>")));
  EXPECT_THAT(embedded(page), Not(HasSubstr("<")));
}

TEST(RenderPage, TextThatLooksLikeAPlaceStaysText) {
  const std::string plan = R"({"a":"/* script */","b":"/* style */","c":"/* plan */"})";
  EXPECT_EQ(nlohmann::json::parse(embedded(render_page(plan))), nlohmann::json::parse(plan));
}

TEST(RenderPage, AsksForNothingFromAnywhere) {
  std::string page = render_page("{}");
  const std::string drawing_namespace = "http://www.w3.org/2000/svg";  // a name; nothing is fetched by it
  ASSERT_EQ(count(page, drawing_namespace), 1U);
  page.erase(page.find(drawing_namespace), drawing_namespace.size());
  for (const char* word : {"http:", "https:", "//cdn", "src=", "@import", "url(", "fetch(", "XMLHttpRequest",
                           "<link", "import(", "WebSocket", "sendBeacon"}) {
    // The frame that clips a drawing is named inside the page.
    EXPECT_EQ(count(page, word), std::string(word) == "url(" ? 1U : 0U) << word;
  }
  EXPECT_THAT(page, HasSubstr("default-src 'none'"));
}

TEST(RenderPage, IsOneWholeDocument) {
  const std::string page = render_page("{}");
  EXPECT_TRUE(page.starts_with("<!doctype html>"));
  EXPECT_EQ(count(page, "</script>"), 2U);
  EXPECT_EQ(count(page, "</style>"), 1U);
  EXPECT_THAT(page, HasSubstr("<noscript>"));
  EXPECT_EQ(page, render_page("{}"));
}

}  // namespace
}  // namespace cairn
