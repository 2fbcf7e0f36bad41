// The plan as the stages make it: canonical, the same every time, and saying what the stages computed.

#include <gmock/gmock.h>

#include <nlohmann/json.hpp>

#include "compiler/plan/canonical_json.h"
#include "compiler/plan/digest.h"
#include "tests/plan/made_plan.h"

namespace cairn::test {
namespace {

using nlohmann::json;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::SizeIs;

Json from(const json& value) {
  if (value.is_null()) return nullptr;
  if (value.is_boolean()) return value.get<bool>();
  if (value.is_number()) return value.get<double>();
  if (value.is_string()) return value.get<std::string>();
  if (value.is_array()) {
    Json::Array array;
    for (const json& item : value) array.push_back(from(item));
    return array;
  }
  Json::Object object;
  for (const auto& [key, item] : value.items()) object[key] = from(item);
  return object;
}

class AssembledPlan : public ::testing::Test {
 protected:
  static void SetUpTestSuite() {
    made_ = make_plan().release();
    if (!made_->text.empty()) plan_ = json::parse(made_->text);
  }
  static void TearDownTestSuite() {
    delete made_;
    made_ = nullptr;
  }
  void SetUp() override { ASSERT_FALSE(made_->text.empty()) << made_->rendered(); }

  static inline MadePlan* made_ = nullptr;
  static inline json plan_;
};

TEST_F(AssembledPlan, IsCanonical) {
  EXPECT_EQ(from(plan_).canonical(), made_->text);
  EXPECT_THAT(made_->text, ::testing::Not(HasSubstr("e-1")));  // no last bits of a library
}

TEST_F(AssembledPlan, IsTheSameEveryTime) { EXPECT_EQ(make_plan()->text, made_->text); }

TEST_F(AssembledPlan, ItsBytesAreItsList) { EXPECT_THAT(made_->differences, IsEmpty()); }

TEST_F(AssembledPlan, NamesTheLoadAndItsInputs) {
  EXPECT_EQ(plan_["load"]["name"], "elder-7-day");
  EXPECT_EQ(plan_["load"]["begin"], "2031-05-14T00:00:00Z");
  EXPECT_EQ(plan_["load"]["previous_plan"], nullptr);
  EXPECT_THAT(plan_["load"]["notes"].get<std::vector<std::string>>(), ElementsAre("Follows elder-6-day."));
  ASSERT_THAT(plan_["inputs"], SizeIs(2));
  EXPECT_EQ(plan_["inputs"][0]["name"], "loads/day.cairn");
  EXPECT_EQ(plan_["inputs"][0]["sha256"], sha256(std::string_view(day_load)));
  EXPECT_EQ(plan_["inputs"][1]["name"], "tests/plan/post.yaml");
  EXPECT_THAT(plan_["cautions"], SizeIs(5));
  EXPECT_TRUE(plan_["leap_seconds"]["assumed_after_expiry"]);
}

TEST_F(AssembledPlan, ListsCommandsWithValuesAndPlaces) {
  const json& commands = plan_["commands"];
  ASSERT_THAT(commands, SizeIs(10)) << commands.dump(1);
  for (std::size_t i = 0; i < commands.size(); ++i) EXPECT_EQ(commands[i]["number"], i + 1);
  const json& cover = commands[0];
  EXPECT_EQ(cover["time"], "2031-05-14T06:00:00Z");
  EXPECT_EQ(cover["offset"], 21600);
  EXPECT_EQ(cover["unit"], "camera");
  EXPECT_EQ(cover["class"], "caution");
  EXPECT_EQ(cover["command_number"], 24);
  EXPECT_EQ(cover["arguments"], json::parse(R"([{"name":"position","value":"open","raw":1}])"));
  EXPECT_EQ(cover["block"], "picture");
  EXPECT_EQ(cover["source"], json::parse(R"({"file":"loads/day.cairn","line":4})"));
  EXPECT_EQ(cover["calls"], json::parse(R"([{"file":"loads/day.cairn","line":12}])"));
  EXPECT_EQ(cover["by"], "send");
  EXPECT_EQ(commands[1]["by"], "bring");
  EXPECT_EQ(commands[5]["arguments"][0], json::parse(R"({"name":"depth","value":"0.8 m","raw":8})"));
  EXPECT_EQ(commands[9]["class"], "irreversible");
  EXPECT_EQ(plan_["nothing_sent"][0]["unit"], "camera");
  EXPECT_EQ(plan_["marks"][0]["time"], "2031-05-14T04:00:00Z");
}

TEST_F(AssembledPlan, TicksCountAtomicTime) {
  // From 1958-01-01 TAI to 2031-05-14T06:00:00Z: 26796 days and 6 h of UTC, and 37 s (IERS Bulletin C 52 and
  // later).
  EXPECT_EQ(plan_["commands"][0]["ticks"], std::to_string((26'796LL * 86'400 + 6 * 3'600 + 37) * 1000));
}

TEST_F(AssembledPlan, BatchesAreThePacketsOfTheirCommands) {
  std::size_t carried = 0;
  for (const json& window : plan_["windows"]) {
    if (window["batch"].is_null()) continue;
    std::string hex;
    for (const json& number : window["batch"]["commands"]) {
      const json& command = plan_["commands"][number.get<std::size_t>() - 1];
      EXPECT_EQ(plan_["windows"][command["window"].get<std::size_t>() - 1], window);
      hex += command["packet"].get<std::string>();
      ++carried;
    }
    Bytes bytes;
    for (std::size_t i = 0; i < hex.size(); i += 2) {
      bytes.push_back(static_cast<std::uint8_t>(std::stoul(hex.substr(i, 2), nullptr, 16)));
    }
    EXPECT_EQ(window["batch"]["bytes"], bytes.size());
    EXPECT_EQ(window["batch"]["sha256"], sha256(bytes));
  }
  EXPECT_EQ(carried, plan_["commands"].size());
  EXPECT_EQ(plan_["backout"]["sha256"], sha256(made_->staging.backout));
}

TEST_F(AssembledPlan, WindowsAreCountedAsTheLanguageCounts) {
  std::vector<std::string> names;
  for (const json& window : plan_["windows"]) names.push_back(window["name"]);
  EXPECT_THAT(names, ElementsAre("west-dish 2031-05-12T04:00Z", "east-dish 1", "west-dish 1"));
}

TEST_F(AssembledPlan, EveryTraceCoversTheSpan) {
  const json& power = plan_["power"]["points"];
  EXPECT_EQ(power.front()[0], 0);
  EXPECT_EQ(power.back()[0], 86'400);
  for (const json& node : plan_["temperatures"]["nodes"]) {
    ASSERT_GE(node["points"].size(), 2U);
    EXPECT_EQ(node["points"].front()[0], 0);
    EXPECT_EQ(node["points"].back()[0], 86'400);
  }
  EXPECT_EQ(plan_["sun"]["points"].back()[0], 86'400);
  for (const json& part : plan_["states"]) {
    EXPECT_EQ(part["rows"].front()[0], 0);
    EXPECT_EQ(part["rows"].back()[1], 86'400);
  }
}

// Thinning may not move any of the solver's points by more than it says.
TEST_F(AssembledPlan, ThinnedTracesStayWithin6Millikelvin) {
  for (std::size_t n = 0; n < made_->results.heat.traces.size(); ++n) {
    const json& points = plan_["temperatures"]["nodes"][n]["points"];
    for (const TemperaturePoint& point : made_->results.heat.traces[n]) {
      const double at = (point.time - made_->timeline.begin).seconds();
      std::size_t k = 1;
      while (k + 1 < points.size() && points[k][0] < at) ++k;
      const double t0 = points[k - 1][0];
      const double t1 = points[k][0];
      const double u = t1 > t0 ? (at - t0) / (t1 - t0) : 1;
      const double line = points[k - 1][1].get<double>() * (1 - u) + points[k][1].get<double>() * u;
      EXPECT_NEAR(line, point.temperature, 0.0065) << "node " << n << " at " << at;
    }
  }
}

TEST_F(AssembledPlan, TheVerdictIsTheWorstOfTheChecks) {
  std::string worst = "holds";
  for (const json& check : plan_["checks"]) {
    if (check["verdict"] == "fails" || (check["verdict"] == "unproven" && worst == "holds"))
      worst = check["verdict"];
  }
  EXPECT_EQ(plan_["verdict"], worst);
  EXPECT_EQ(worst, "holds") << plan_["checks"].dump(1);
}

TEST_F(AssembledPlan, EndStateSaysWhatIsKnown) {
  const json& end = plan_["end_state"];
  EXPECT_EQ(end["parts"]["camera"], "standby");
  EXPECT_EQ(end["parts"]["camera.cover"], "closed");
  EXPECT_EQ(end["parts"]["release.spring"], "free");
  EXPECT_THAT(end["once_spent"].get<std::vector<std::string>>(), ElementsAre("release.free"));
  EXPECT_THAT(end["table"], IsEmpty());
}

}  // namespace
}  // namespace cairn::test
