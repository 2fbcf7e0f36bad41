// One load after another: the second starts where the plan of the first ends.

#include <gmock/gmock.h>

#include <nlohmann/json.hpp>
#include <set>

#include "compiler/command/pipeline.h"
#include "compiler/plan/digest.h"
#include "tests/command/project.h"

namespace cairn::test {
namespace {

using nlohmann::json;
using ::testing::Contains;
using ::testing::Not;

std::string load_text(const std::string& name, const std::string& begin, const std::string& end,
                      const std::string& body) {
  return "load \"" + name + "\" for birch {\n  span " + begin + " to " + end + "\n" + body + "}\n";
}

class Chain : public StationsFolder {
 protected:
  struct Outcome {
    std::optional<Compiled> compiled;
    std::set<std::string> codes;
  };
  Outcome build(const std::string& text, const std::string& after = "",
                const std::string& uplink_from = "") const {
    CompileOptions options;
    options.load = write("load.cairn", text);
    options.after = after;
    options.uplink_from = uplink_from;
    SourceFiles files;
    Diagnostics diagnostics;
    Outcome outcome;
    outcome.compiled = compile(World{}, options, files, diagnostics);
    for (const Diagnostic& diagnostic : diagnostics.all()) outcome.codes.emplace(diagnostic.code);
    return outcome;
  }
  // The plan of the first day, written.
  std::string first_day() const {
    const Outcome outcome = build(load_text("first", "2031-05-14T00:00:00Z", "2031-05-15T00:00:00Z",
                                            "  at 2031-05-14T12:00:00Z { send relay.report }\n"));
    EXPECT_TRUE(outcome.compiled);
    return outcome.compiled ? write("plan.json", outcome.compiled->plan) : "";
  }
};

constexpr const char* report = "  at 2031-05-15T12:00:00Z { send relay.report }\n";

TEST_F(Chain, TheSecondStartsWhereTheFirstEnds) {
  const std::string first = first_day();
  const json before = json::parse(World{}.read(first).value());
  const Outcome outcome =
      build(load_text("second", "2031-05-15T00:00:00Z", "2031-05-16T00:00:00Z", report), first);
  ASSERT_TRUE(outcome.compiled);
  const json plan = json::parse(outcome.compiled->plan);
  EXPECT_EQ(plan["load"]["previous_plan"], sha256(World{}.read(first).value()));
  EXPECT_EQ(plan["commands"][0]["sequence_count"], before["end_state"]["sequence_count"]);
  for (const json& node : plan["temperatures"]["nodes"]) {
    EXPECT_NEAR(node["points"][0][1].get<double>(),
                before["end_state"]["temperatures"][node["name"].get<std::string>()].get<double>(), 0.001);
  }
  EXPECT_THAT(outcome.codes, Not(Contains("input/pause")));
}

// Both fit into the same early window; the second must not be given the time in which the first is sent.
TEST_F(Chain, TheSecondGoesUpAfterTheFirst) {
  const std::string first = first_day();
  const json before = json::parse(World{}.read(first).value());
  std::string sent;
  for (const json& window : before["windows"]) {
    if (!window["batch"].is_null()) sent = window["batch"]["end"];
  }
  const std::string second = load_text("second", "2031-05-15T00:00:00Z", "2031-05-16T00:00:00Z", report);
  for (const char* from : {"", "2031-05-01T00:00:00Z"}) {
    const Outcome outcome = build(second, first, from);
    ASSERT_TRUE(outcome.compiled);
    const json plan = json::parse(outcome.compiled->plan);
    EXPECT_GT(plan["commands"][0]["sent"].get<std::string>(), sent);
  }
}

TEST_F(Chain, LoadsMayNotOverlap) {
  const Outcome outcome =
      build(load_text("second", "2031-05-14T18:00:00Z", "2031-05-16T00:00:00Z", report), first_day());
  EXPECT_FALSE(outcome.compiled);
  EXPECT_THAT(outcome.codes, Contains("input/overlap"));
}

TEST_F(Chain, APauseIsSaid) {
  const Outcome outcome =
      build(load_text("second", "2031-05-15T06:00:00Z", "2031-05-16T00:00:00Z", report), first_day());
  EXPECT_TRUE(outcome.compiled);
  EXPECT_THAT(outcome.codes, Contains("input/pause"));
}

TEST_F(Chain, WhatTheFirstDoesNotNameIsSaid) {
  const std::string first = first_day();
  json before = json::parse(World{}.read(first).value());
  json& parts = before["end_state"]["parts"];
  parts.erase(parts.begin());
  const Outcome outcome = build(load_text("second", "2031-05-15T00:00:00Z", "2031-05-16T00:00:00Z", report),
                                write("older.json", before.dump()));
  EXPECT_THAT(outcome.codes, Contains("input/plan-gap"));
}

TEST_F(Chain, ADamagedPlanIsRefused) {
  std::string text = World{}.read(first_day()).value();
  const Outcome outcome = build(load_text("second", "2031-05-15T00:00:00Z", "2031-05-16T00:00:00Z", report),
                                write("broken.json", text.substr(0, text.size() / 2)));
  EXPECT_FALSE(outcome.compiled);
  EXPECT_THAT(outcome.codes, Contains("input/bad-plan"));
}

}  // namespace
}  // namespace cairn::test
