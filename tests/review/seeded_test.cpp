// Two plans of the lunation load that differ in five seeded ways: all five are found, and nothing else.

#include <gmock/gmock.h>
#include <unistd.h>

#include <nlohmann/json.hpp>

#include "compiler/plan/digest.h"
#include "compiler/review/difference.h"
#include "tests/review/project_copy.h"

namespace cairn::test {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

constexpr const char* lunation = "loads/alder-42-lunation.cairn";

ReviewedPlan reviewed(const std::string& json) {
  auto plan = read_reviewed_plan(json);
  EXPECT_TRUE(plan) << plan.error();
  return plan.value_or(ReviewedPlan{});
}

FindText texts_in(const ProjectCopy& before, const ProjectCopy& after) {
  return [&](const std::string& name, const std::string& digest) -> std::optional<std::string> {
    for (const ProjectCopy* project : {&before, &after}) {
      std::string text = file_text(project->folder() / name);
      if (sha256(text) == digest) return text;
    }
    return std::nullopt;
  };
}

class Seeded : public ::testing::Test {
 protected:
  void compare() {
    olds = reviewed(before.plan(lunation));
    news = reviewed(after.plan(lunation));
    difference = compare_plans(olds, news, texts_in(before, after));
    text = difference_text(difference, olds, news, {});
  }
  // UNIT.COMMAND of those that changed in a way.
  template <class Which>
  std::vector<std::string> commands(Which which) const {
    std::vector<std::string> names;
    for (const CommandDifference& change : difference.commands) {
      if (!which(change)) continue;
      names.push_back(change.after ? news.commands[*change.after].command
                                   : olds.commands[*change.before].command);
    }
    return names;
  }

  ProjectCopy before;
  ProjectCopy after;
  ReviewedPlan olds;
  ReviewedPlan news;
  Difference difference;
  std::string text;
};

TEST_F(Seeded, AllFiveAreFoundAndNothingElse) {
  // 1 another argument, 2 one command less, 3 one more, 4 one block later, 5 another limit.
  after.replace(lunation, "send camera.compression ratio=6", "send camera.compression ratio=4");
  after.replace(lunation, "  at dawn + 6 h {\n    bring dump to idle\n", "  at dawn + 6 h {\n");
  before.replace(lunation, "  at dawn + 6 h {\n    bring dump to idle\n",
                 "  at dawn + 6 h {\n    bring dump to idle\n    send dump.report\n");
  after.replace(lunation, "  at dawn + 6 h {\n", "  at dawn + 6 h {\n    bring dump to idle\n");
  after.replace(lunation, "  at dusk - 2 h as dust-through-dusk",
                "  at dusk - 8 h as another {\n    send keeper.time-report\n  }\n\n  at dusk - 2 h as "
                "dust-through-dusk");
  after.replace(lunation, "  at 2031-05-15T15:00:00Z as deeper", "  at 2031-05-15T16:00:00Z as deeper");
  after.replace("stations/alder.yaml", "reserve_floor: \"4 W\"", "reserve_floor: \"5 W\"");
  compare();
  EXPECT_THAT(commands([](const auto& c) { return c.reargued; }),
              ::testing::ElementsAre("camera.compression"));
  EXPECT_THAT(commands([](const auto& c) { return !c.after; }), ::testing::ElementsAre("dump.report"));
  EXPECT_THAT(commands([](const auto& c) { return !c.before; }),
              ::testing::ElementsAre("keeper.time-report"));
  std::size_t moved = 0;
  for (const CommandDifference& change : difference.commands) {
    if (!change.moved) continue;
    ++moved;
    EXPECT_EQ(news.commands[*change.after].block, "deeper");
    EXPECT_EQ(change.shift, seconds_to_duration(3600));
  }
  const auto in_deeper = std::count_if(news.commands.begin(), news.commands.end(),
                                       [](const auto& c) { return c.block == "deeper"; });
  EXPECT_EQ(moved, static_cast<std::size_t>(in_deeper));
  EXPECT_GT(moved, 0U);
  EXPECT_TRUE(commands([](const auto& c) { return c.redefined || c.renoted; }).empty());
  ASSERT_FALSE(difference.checks.empty());
  std::size_t limits = 0;
  for (const CheckDifference& change : difference.checks) {
    EXPECT_FALSE(change.verdict);
    if (!change.limit) continue;
    ++limits;
    EXPECT_EQ(news.checks[*change.after].code, "power/reserve");
    EXPECT_EQ(news.checks[*change.after].limit, 5);
  }
  EXPECT_EQ(limits, 1U);
  ASSERT_EQ(difference.inputs.size(), 2U);
  EXPECT_EQ(difference.inputs[0].lines.size(), 4U);
  EXPECT_EQ(difference.inputs[1].name, "stations/alder.yaml");
  ASSERT_EQ(difference.inputs[1].lines.size(), 1U);
  EXPECT_EQ(difference.inputs[1].lines[0].within, "power");
  EXPECT_TRUE(difference.renamed_blocks.empty());
  EXPECT_TRUE(difference.matters());

  for (const char* words : {"it was camera.compression ratio=6", "dump.report", "+ ", "keeper.time-report",
                            "+1 h", "limit 4 W -> 5 W", "reserve_floor"}) {
    EXPECT_THAT(text, HasSubstr(words));
  }
  const auto json = nlohmann::json::parse(difference_json(difference, olds, news));
  EXPECT_TRUE(json["matters"]);
  EXPECT_EQ(json["commands"].size(), difference.commands.size());
  EXPECT_EQ(json["inputs"][1]["lines"][0]["new_line"], difference.inputs[1].lines[0].new_first);
}

TEST_F(Seeded, CommentsAndLinesDoNotMatter) {
  after.replace(lunation, "  mark dusk", "  # dusk and dawn\n\n  mark dusk");
  compare();
  EXPECT_FALSE(difference.matters()) << text;
  EXPECT_TRUE(difference.commands.empty());
  ASSERT_EQ(difference.inputs.size(), 1U);
  EXPECT_THAT(text, HasSubstr("nothing that matters has changed"));
}

TEST_F(Seeded, ABlockThatIsCalledOtherwiseDoesNotMatter) {
  after.replace(lunation, "as evening-picture", "as last-light");
  compare();
  EXPECT_FALSE(difference.matters()) << text;
  ASSERT_EQ(difference.renamed_blocks.size(), 1U);
  EXPECT_EQ(difference.renamed_blocks[0].second, "last-light");
}

TEST_F(Seeded, AnUnnamedBlockIsFollowedWhenItsHeadChanges) {
  after.replace(lunation, "from first-day + 10 h to last-day every 1 d",
                "from first-day + 610 min to last-day every 1 d");
  compare();
  EXPECT_TRUE(commands([](const auto& c) { return !c.before || !c.after; }).empty()) << text;
  EXPECT_EQ(commands([](const auto& c) { return c.moved; }).size(), 3U * 29U);
}

TEST_F(Seeded, AnotherNumberInTheDictionaryMatters) {
  after.replace("stations/alder.yaml", "number: 95", "number: 295");
  const std::string dictionary = file_text(after.folder() / "stations/alder.yaml");
  ASSERT_THAT(dictionary, HasSubstr("number: 295"));
  compare();
  EXPECT_FALSE(commands([](const auto& c) { return c.redefined; }).empty()) << text;
  EXPECT_THAT(text, HasSubstr("number in the dictionary 95 -> 295"));
}

TEST_F(Seeded, WaiversAndRulesAreClassesOfTheirOwn) {
  const std::string waiver =
      "  waive power/reserve to 2 W from 2031-05-08T00:00:00Z to 2031-05-09T00:00:00Z\n"
      "    because \"once more\" reference \"meeting 9\" until 2031-06-20T00:00:00Z\n\n";
  before.replace(lunation, "  mark dusk", waiver + "  mark dusk");
  std::string wider = waiver;
  wider.replace(wider.find("2 W"), 3, "1 W");
  after.replace(lunation, "  mark dusk", "\n" + wider + "  mark dusk");
  after.replace("routines/agreed.cairn", "camera.cover is open lasts no more than 2 h",
                "camera.cover is open lasts no more than 3 h");
  compare();
  ASSERT_EQ(difference.waivers.size(), 1U) << text;
  EXPECT_EQ(difference.waivers[0].what, "power/reserve");
  EXPECT_THAT(difference.waivers[0].before, HasSubstr("to 2 W from 2031-05-08T00:00:00Z"));
  EXPECT_THAT(difference.waivers[0].after, HasSubstr("to 1 W from 2031-05-08T00:00:00Z"));
  EXPECT_EQ(difference.waivers[0].place.file, lunation);
  EXPECT_TRUE(difference.matters());
  ASSERT_EQ(difference.rules.size(), 1U) << text;
  EXPECT_THAT(difference.rules[0].what, HasSubstr("rule cover-before-dark"));
  EXPECT_THAT(difference.rules[0].after, HasSubstr("no more than 3 h"));
  EXPECT_EQ(difference.rules[0].place.file, "routines/agreed.cairn");
  const auto json = nlohmann::json::parse(difference_json(difference, olds, news));
  EXPECT_EQ(json["waivers"][0]["source"]["file"], lunation);
  EXPECT_EQ(json["rules"].size(), 1U);
  EXPECT_THAT(text, HasSubstr("Waivers\n  ~ power/reserve  to 2 W"));

  // Only the line it stands in: nothing that matters.
  after.replace(lunation, wider, waiver);
  after.replace("routines/agreed.cairn", "no more than 3 h", "no more than 2 h");
  compare();
  EXPECT_TRUE(difference.waivers.empty());
  EXPECT_TRUE(difference.rules.empty());
  EXPECT_FALSE(difference.matters()) << text;
}

TEST_F(Seeded, NarrowAndWideAndColour) {
  after.replace(lunation, "send camera.compression ratio=6", "send camera.compression ratio=4");
  compare();
  const std::string narrow = difference_text(difference, olds, news, {.colour = false, .width = 60});
  EXPECT_THAT(text, HasSubstr("  ~ 2031-05-08T08:00:10Z  camera.compression ratio=4  it was"));
  EXPECT_THAT(narrow, HasSubstr("  ~ 2031-05-08T08:00:10Z  camera.compression ratio=4\n      it was"));
  EXPECT_THAT(narrow, Not(HasSubstr("\x1b")));
  EXPECT_THAT(difference_text(difference, olds, news, {.colour = true, .width = 100}),
              HasSubstr("\x1b[33m~\x1b[0m"));
}

TEST_F(Seeded, SamePlansAreTheSame) {
  compare();
  EXPECT_FALSE(difference.matters());
  EXPECT_EQ(difference.same, olds.commands.size());
  EXPECT_GT(difference.same, 400U);
}

TEST(ReviewedPlan, EveryMemberThatIsTakenAwayIsNamed) {
  const ProjectCopy project;
  const auto whole = nlohmann::json::parse(project.plan("loads/alder-41-evening.cairn"));
  for (const char* member : {"format", "version", "load", "verdict", "inputs", "marks", "windows", "commands",
                             "checks", "backout", "end_state", "table", "power", "tool"}) {
    auto json = whole;
    json.erase(member);
    const auto read = read_reviewed_plan(json.dump());
    ASSERT_FALSE(read) << member;
    EXPECT_THAT(read.error(), HasSubstr(member));
  }
  auto json = whole;
  json["load"]["name"] = "\x1b[2J";
  EXPECT_THAT(read_reviewed_plan(json.dump()).error(), HasSubstr("control character"));
}

}  // namespace
}  // namespace cairn::test
