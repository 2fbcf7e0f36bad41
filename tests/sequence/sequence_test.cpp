// Expansion of blocks into timed commands.

#include <gmock/gmock.h>

#include "tests/sequence/small_station.h"

namespace cairn::test {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;

TEST(Blocks, StatementsFollowOneAnother) {
  const Outcome outcome = compile_body(R"(
  note "for the load"
  at 2031-05-14T06:00:00Z as morning {
    note "why"
    send camera.cover position=open
    send probe.ping
    after 40 s send probe.ping
    after 1 min { send probe.ping }
    at 2031-05-14T07:00:00Z { send probe.ping }
    send probe.ping
  })");
  ASSERT_THAT(outcome.list(),
              ElementsAre("06:00:00Z camera.cover", "06:00:20Z probe.ping", "06:01:01Z probe.ping",
                          "06:02:02Z probe.ping", "07:00:00Z probe.ping", "07:00:01Z probe.ping"))
      << outcome.text;
  EXPECT_EQ(outcome.load->provenance[0].block, "morning");
  EXPECT_THAT(outcome.load->provenance[0].notes, ElementsAre("why"));
  EXPECT_THAT(outcome.load->notes, ElementsAre("for the load"));
}

TEST(Blocks, EveryReachesItsEnd) {
  const Outcome outcome =
      compile_body("  from 2031-05-14T06:00:00Z to 2031-05-14T08:00:00Z every 1 h { send probe.ping }");
  EXPECT_THAT(outcome.list(),
              ElementsAre("06:00:00Z probe.ping", "07:00:00Z probe.ping", "08:00:00Z probe.ping"));
}

TEST(Blocks, TogetherEndsWithTheLongest) {
  Station station = small_station();
  station.table.least_spacing = {};
  const Outcome outcome = compile_text(R"(load "t" for alder {
  span 2031-05-14T00:00:00Z to 2031-05-15T00:00:00Z
  at 2031-05-14T06:00:00Z {
    together { send probe.ping  send camera.cover position=open  after 5 s send probe.ping }
    send probe.ping
  }
})",
                                       {}, station);
  EXPECT_THAT(outcome.list(), ElementsAre("06:00:00Z probe.ping", "06:00:00Z camera.cover",
                                          "06:00:05Z probe.ping", "06:00:20Z probe.ping"))
      << outcome.text;
}

TEST(Blocks, StateIsFollowedInTimeOrderNotInFileOrder) {
  const Outcome outcome = compile_body(R"(
  at 2031-05-14T08:00:00Z { bring camera to imaging }
  at 2031-05-14T06:00:00Z { bring camera to standby  bring camera.cover to open })");
  EXPECT_THAT(outcome.list(),
              ElementsAre("06:00:00Z camera.standby", "06:00:30Z camera.cover", "08:00:00Z camera.image"))
      << outcome.text;
}

// A sky of two rows, from 10 degrees below to 10 degrees above within the day.
TEST(SkyTable, MarksAreFoundInItAndSpansKeepToIt) {
  Station station = small_station();
  const auto row = [](const char* time, double elevation) {
    SkyRow made;
    made.time = *parse_utc(time, published_leap_seconds());
    made.sun_elevation = elevation * 0.017453292519943295;
    made.sun_distance = 1.5e11;
    made.earth_distance = 4e8;
    return made;
  };
  station.site.sky = {row("2031-05-14T00:00:00Z", -10), row("2031-05-15T00:00:00Z", 10)};
  const auto load = [](const std::string& end) {
    return "load \"t\" for alder {\n  span 2031-05-14T00:00:00Z to " + end +
           "\n  mark rise = sun.elevation rises above 0 deg\n  at rise { send probe.ping }\n}";
  };
  const Outcome inside = compile_text(load("2031-05-15T00:00:00Z"), {}, station);
  EXPECT_THAT(inside.codes(), ElementsAre()) << inside.text;
  ASSERT_EQ(inside.load->commands.size(), 1U);
  EXPECT_NEAR((inside.load->commands[0].time - *parse_utc("2031-05-14T12:00:00Z", published_leap_seconds()))
                  .seconds(),
              0, 0.01);
  const Outcome beyond = compile_text(load("2031-05-15T00:00:01Z"), {}, station);
  EXPECT_THAT(beyond.codes(), ElementsAre("sequence/bad-span"));
  EXPECT_THAT(beyond.text, HasSubstr("from 2031-05-14T00:00:00Z to 2031-05-15T00:00:00Z"));
}

TEST(Blocks, EndOfAnotherBlock) {
  const Outcome outcome = compile_body(R"(
  mark over = end of first
  at over + 10 min as second { send probe.ping }
  at 2031-05-14T06:00:00Z as first { send camera.cover position=open }
  mark begun = start of second)");
  ASSERT_THAT(outcome.list(), ElementsAre("06:00:00Z camera.cover", "06:10:20Z probe.ping")) << outcome.text;
  ASSERT_EQ(outcome.load->marks.size(), 2U);
  EXPECT_EQ(outcome.load->marks[1].name, "begun");
}

TEST(Blocks, CircleOfBlocks) {
  const Outcome outcome = compile_body(R"(
  mark first = end of one
  mark second = end of two
  at second as one { send probe.ping }
  at first as two { send probe.ping })");
  EXPECT_THAT(outcome.codes(), ElementsAre("sequence/block-cycle")) << outcome.text;
}

TEST(Blocks, Mistakes) {
  const auto codes = [](const std::string& body) { return compile_body(body).codes(); };
  EXPECT_THAT(codes("  send probe.ping"), ElementsAre("sequence/no-time"));
  EXPECT_THAT(codes("  at 2031-05-16T00:00:00Z { send probe.ping }"), ElementsAre("sequence/outside-span"));
  EXPECT_THAT(codes("  from 2031-05-14T06:00:00Z to 2031-05-14T08:00:00Z every 0 s { send probe.ping }"),
              ElementsAre("sequence/bad-step"));
  EXPECT_THAT(codes("  from 2031-05-14T06:00:00Z to 2031-05-14T05:00:00Z every 1 s { send probe.ping }"),
              ElementsAre("sequence/reversed-interval"));
  EXPECT_THAT(codes("  at 2031-05-14T06:00:00Z { at 2031-05-14T05:00:00Z { send probe.ping } }"),
              ElementsAre("sequence/backwards"));
  EXPECT_THAT(codes("  at 2031-05-14T06:00:00Z { after 1 W send probe.ping }"),
              ElementsAre("meaning/wrong-type"));
  EXPECT_THAT(codes("  mark here = there + 1 s\n  mark there = here + 1 s"),
              ElementsAre("meaning/name-cycle"));
  EXPECT_THAT(codes("  mark x1 = start of nothing"), ElementsAre("sequence/unknown-block"));
}

TEST(Blocks, BrokenStatementCausesNoCascade) {
  const Outcome outcome = compile_body("  mark W = 2031-05-14T06:00:00Z\n  at later { send probe.ping }");
  EXPECT_THAT(outcome.codes(), ElementsAre("syntax/unexpected")) << outcome.text;
}

TEST(Blocks, ExpansionIsBounded) {
  SequenceLimits limits;
  limits.commands = 100;
  for (const char* body : {"send probe.ping", "note \"nothing\""}) {
    const Outcome outcome = compile_text(
        std::string("load \"t\" for alder {\n span 2031-05-14T00:00:00Z to 2031-05-15T00:00:00Z\n"
                    " from 2031-05-14T06:00:00Z to 2031-05-14T08:00:00Z every 2 s { ") +
            body + " }\n}\n",
        limits);
    EXPECT_THAT(outcome.codes(), ElementsAre("sequence/too-many-commands")) << outcome.text;
  }
}

TEST(Choices, TurnsFollowOneAnother) {
  const Outcome outcome = compile_body(R"(
  let deep = 0.6 m
  at 2031-05-14T06:00:00Z {
    for each depth in [0.2 m, deep] { send probe.sample depth=depth  repeat 2 times { send probe.ping } }
    repeat 0 times { send probe.ping }
    send probe.ping
  })");
  ASSERT_THAT(outcome.list(),
              ElementsAre("06:00:00Z probe.sample", "06:00:10Z probe.ping", "06:00:11Z probe.ping",
                          "06:00:12Z probe.sample", "06:00:22Z probe.ping", "06:00:23Z probe.ping",
                          "06:00:24Z probe.ping"))
      << outcome.text;
  EXPECT_EQ(outcome.load->commands[3].arguments[0].raw, 6U);
}

TEST(Choices, OutsideBlocksEachTurnStandsByItself) {
  const Outcome outcome = compile_body(R"(
  for each begun in [2031-05-14T08:00:00Z, 2031-05-14T06:00:00Z] {
    let late = begun > 2031-05-14T07:00:00Z
    if late { at begun { send probe.ping } } else { at begun + 5 s { send camera.cover position=open } }
  })");
  EXPECT_THAT(outcome.list(), ElementsAre("06:00:05Z camera.cover", "08:00:00Z probe.ping")) << outcome.text;
}

TEST(Choices, EachWindowAndEachCrossingOfTheSpan) {
  const Outcome windows = compile_body(R"(
  for each pass in window west-dish opens {
    at pass + 10 min { send probe.ping }
  })");
  ASSERT_TRUE(windows.load.has_value()) << windows.text;
  const Station station = small_station();
  std::vector<Instant> expected;
  for (const Window& window : station.windows) {
    if (window.opens >= windows.load->begin && window.opens <= windows.load->end)
      expected.push_back(window.opens + seconds_to_duration(600));
  }
  ASSERT_FALSE(expected.empty());
  std::vector<Instant> found;
  for (const TimedCommand& command : windows.load->commands) found.push_back(command.time);
  EXPECT_EQ(found, expected);

  // As marks find them one by one.
  const Outcome crossings = compile_text(R"(load "t" for alder {
  span 2031-05-01T00:00:00Z to 2031-07-28T00:00:00Z
  mark second = sun.elevation rises above 1 deg number 2
  mark third = sun.elevation rises above 1 deg number 3
  for each dawn in sun.elevation rises above 1 deg { at dawn { send probe.ping } }
  for each dawn in sun.elevation rises above 1 deg between second and third - 1 h {
    at dawn + 1 h { send probe.sample depth=0.8 m }
  }
})");
  ASSERT_TRUE(crossings.load.has_value()) << crossings.text;
  ASSERT_EQ(crossings.load->commands.size(), 4U);
  const auto near = [](Instant a, Instant b) { return std::abs((a - b).seconds()) <= 0.001; };
  EXPECT_TRUE(near(crossings.load->commands[1].time, crossings.load->marks[0].time));
  EXPECT_TRUE(
      near(crossings.load->commands[2].time, crossings.load->marks[0].time + seconds_to_duration(3600)));
  EXPECT_TRUE(near(crossings.load->commands[3].time, crossings.load->marks[1].time));
  const Outcome nothing = compile_body(R"(
  for each turn in sun.elevation rises above 89 deg {
    at turn { send probe.ping }
  })");
  EXPECT_THAT(nothing.codes(), ElementsAre("sequence/nothing-found")) << nothing.text;
  const Outcome bad =
      compile_body("  for each pass in window wst-dish opens { at pass { send probe.ping } }");
  EXPECT_THAT(bad.codes(), ElementsAre("sequence/unknown-antenna")) << bad.text;
}

TEST(Commands, SentNowRunWhenTheyAreReceived) {
  const Outcome outcome = compile_body(R"(
  at 2031-05-14T06:00:00Z {
    send now probe.ping
    send probe.sample depth=0.8 m
  })");
  ASSERT_THAT(outcome.list(), ElementsAre("06:00:00Z probe.ping", "06:00:01Z probe.sample")) << outcome.text;
  EXPECT_TRUE(outcome.load->commands[0].immediate);
  EXPECT_FALSE(outcome.load->commands[1].immediate);
}

TEST(Choices, ConditionsAreReckoned) {
  const std::vector<std::pair<const char*, bool>> cases{
      {"3 > 2 and not 3 < 2", true},
      {"3 >= 3 and 2 <= 3", true},
      {"1 is 1.0", true},
      {"1 m > 50 cm", true},
      {"20 degC > 5 degC or 1 > 2", true},
      {"\"x\" is x", true},
      {"\"x\" is b or c", false},
      {"\"c\" is b or c", true},
      {"\"c\" is not b", true},
      {"2 is in [1, 2]", true},
      {"2 is not in [1, 2]", false},
      {"2 is in []", false},
      {"(3 > 2) is true", true},
      {"station.name is alder", true},
      {"station.least-spacing is 1 s", true},
      {"station.address > 0", false},
      {"2031-05-14T06:00:00Z < 2031-05-14T06:00:01Z", true},
      {"90 s is 1.5 min", true},
      {"true or false and false", true},
  };
  for (const auto& [condition, expected] : cases) {
    const Outcome outcome = compile_body("  at 2031-05-14T06:00:00Z { if " + std::string(condition) +
                                         " { send probe.ping } else { send camera.cover position=open } }");
    EXPECT_THAT(outcome.list(), ElementsAre(expected ? "06:00:00Z probe.ping" : "06:00:00Z camera.cover"))
        << condition << "\n"
        << outcome.text;
  }
}

TEST(Choices, Mistakes) {
  const auto codes = [](const std::string& body) {
    return compile_body("  at 2031-05-14T06:00:00Z { " + body + " }").codes();
  };
  EXPECT_THAT(codes("if 3 { send probe.ping }"), ElementsAre("meaning/wrong-type"));
  EXPECT_THAT(codes("if not 3 s { send probe.ping }"), ElementsAre("meaning/wrong-type"));
  EXPECT_THAT(codes("if 3 s > 2 { send probe.ping }"), ElementsAre("units/mismatch"));
  EXPECT_THAT(codes("if \"a\" > \"b\" { send probe.ping }"), ElementsAre("units/mismatch"));
  EXPECT_THAT(codes("if camera is off or standby { send probe.ping }"), ElementsAre("meaning/not-fixed"));
  EXPECT_THAT(codes("if sun.elevation > 3 deg { send probe.ping }"), ElementsAre("meaning/not-fixed"));
  EXPECT_THAT(codes("if station.nam is alder { send probe.ping }"), ElementsAre("meaning/unknown-fact"));
  EXPECT_THAT(codes("for each x1 in [x1] { send probe.ping }"), ElementsAre());
  EXPECT_THAT(codes("for each x1 in [x1] { send probe.sample depth=x1 }"),
              ElementsAre("meaning/unknown-name"));
  EXPECT_THAT(codes("repeat 2 s times { send probe.ping }"), ElementsAre("meaning/wrong-type"));
  EXPECT_THAT(codes("repeat -2 times { send probe.ping }"), ElementsAre("sequence/bad-turns"));
  EXPECT_THAT(codes("repeat 2000000 times { note \"n\" }"), ElementsAre("sequence/too-many-commands"));
  EXPECT_THAT(codes("repeat 2000 times { repeat 2000 times { note \"n\" } }"),
              ElementsAre("sequence/too-many-commands"));
}

TEST(Spacing, ExactBlocksCollideAndApproximateOnesMove) {
  const std::string first = "  at 2031-05-14T06:00:00Z { send probe.ping }\n";
  const Outcome exact = compile_body(first + "  at 2031-05-14T06:00:00.5Z { send probe.ping }");
  EXPECT_THAT(exact.codes(), ElementsAre("sequence/spacing"));
  EXPECT_THAT(exact.text, HasSubstr("this runs at 2031-05-14T06:00:00Z"));
  const Outcome moved = compile_body(first + "  at about 2031-05-14T06:00:00.5Z { send probe.ping }");
  EXPECT_THAT(moved.list(), ElementsAre("06:00:00Z probe.ping", "06:00:01Z probe.ping")) << moved.text;
}

TEST(Spacing, TimesAreRoundedToTheTick) {
  const Outcome outcome = compile_body("  at 2031-05-14T06:00:00.000600Z { send probe.ping }");
  EXPECT_THAT(outcome.list(), ElementsAre("06:00:00.001Z probe.ping"));
}

TEST(Marks, Windows) {
  const Outcome good = compile_body("  mark pass = window west-dish closes\n  at pass { send probe.ping }");
  EXPECT_THAT(good.list(), ElementsAre("06:00:00Z probe.ping")) << good.text;
  const Outcome none = compile_body("  mark pass = window west-dish 2 opens");
  EXPECT_THAT(none.codes(), ElementsAre("sequence/mark-no-window"));
  EXPECT_THAT(none.text, HasSubstr("it has 1"));
  EXPECT_THAT(compile_body("  mark pass = window wset-dish opens").codes(),
              ElementsAre("sequence/unknown-antenna"));
}

TEST(Marks, Sky) {
  const Outcome none = compile_body("  mark high = sun.elevation rises above 89.9 deg");
  EXPECT_THAT(none.codes(), ElementsAre("sequence/mark-no-solution"));
  EXPECT_THAT(none.text, HasSubstr("over the span it goes from"));
  const Outcome month = compile_text(R"(load "t" for alder {
  span 2031-05-01T00:00:00Z to 2031-06-01T00:00:00Z
  mark sunset = sun.elevation falls below 0 deg
  mark sunrise = sun.elevation rises above 0 deg
})");
  ASSERT_TRUE(month.load.has_value()) << month.text;
  EXPECT_EQ(month.load->marks.size(), 2U);
  EXPECT_THAT(compile_body("  mark high = sun.elevatoin rises above 1 deg").codes(),
              ElementsAre("sequence/mark-unknown-quantity"));
}

TEST(Marks, ByAnotherInstant) {
  const std::string head = R"(load "t" for alder {
  span 2031-05-01T00:00:00Z to 2031-07-01T00:00:00Z
  mark noon = 2031-06-01T00:00:00Z
  mark one = sun.elevation rises above 0 deg
  mark two = sun.elevation rises above 0 deg number 2
)";
  const Outcome outcome =
      compile_text(head + R"(  mark earlier = sun.elevation rises above 0 deg last before two
  mark later = sun.elevation rises above 0 deg first after one
  mark pass = window west-dish opens first after 2031-05-14T04:00:00Z
  mark done = window west-dish closes last before pass
})");
  ASSERT_TRUE(outcome.load.has_value()) << outcome.text;
  std::map<std::string, Instant> marks;
  for (const ResolvedMark& mark : outcome.load->marks) marks[mark.name] = mark.time;
  EXPECT_EQ(marks["earlier"], marks["one"]);
  EXPECT_EQ(marks["later"], marks["two"]);
  EXPECT_EQ(format_utc(marks["pass"], published_leap_seconds()), "2031-05-15T04:00:00Z");
  EXPECT_EQ(format_utc(marks["done"], published_leap_seconds()), "2031-05-14T06:00:00Z");
  const Outcome none =
      compile_text(head + "  mark never-comes = sun.elevation rises above 0 deg last before one\n}");
  EXPECT_THAT(none.codes(), ElementsAre("sequence/mark-no-solution"));
  EXPECT_THAT(none.text, HasSubstr("before 2031-05-"));
  const Outcome window = compile_text(head + "  mark pass = window west-dish opens first after noon\n}");
  EXPECT_THAT(window.codes(), ElementsAre("sequence/mark-no-solution"));
  EXPECT_THAT(window.text, HasSubstr("they open: 1 at"));
}

TEST(LeapTable, OneWarningPerLoad) {
  const Outcome outcome = compile_body("");
  ASSERT_EQ(outcome.diagnostics.all().size(), 1U);
  EXPECT_EQ(outcome.diagnostics.all()[0].code, "time/after-leap-table");
}

TEST(Bring, ChainsAndNothingSent) {
  const Outcome outcome = compile_body(R"(
  at 2031-05-14T06:00:00Z {
    bring camera.cover to open
    bring camera to imaging
    bring camera to imaging
    send probe.ping
  })");
  ASSERT_THAT(outcome.list(), ElementsAre("06:00:00Z camera.cover", "06:00:20Z camera.standby",
                                          "06:00:50Z camera.image", "06:00:55Z probe.ping"))
      << outcome.text;
  ASSERT_EQ(outcome.load->nothing_sent.size(), 1U);
  EXPECT_TRUE(outcome.load->provenance[1].by_bring);
}

TEST(Bring, Mistakes) {
  const auto bring = [](const std::string& what) {
    return compile_body("  at 2031-05-14T06:00:00Z { bring " + what + " }");
  };
  const Outcome blocked = bring("camera to imaging");
  EXPECT_THAT(blocked.codes(), ElementsAre("sequence/bring-no-path"));
  EXPECT_THAT(blocked.text, HasSubstr("camera.cover is open"));
  EXPECT_THAT(blocked.text, HasSubstr("it can reach `off`, `standby`"));
  EXPECT_THAT(blocked.text, HasSubstr("it can be done after `bring camera.cover to open`"));
  ASSERT_EQ(blocked.diagnostics.all().back().fixes.size(), 1U);
  EXPECT_EQ(blocked.diagnostics.all().back().fixes[0].replacement, "bring camera.cover to open ");
  EXPECT_THAT(bring("camera.cover to open bring camera to imaging").codes(), ElementsAre());
  EXPECT_THAT(bring("camera to sleeping").codes(), ElementsAre("sequence/bring-unknown-state"));
  EXPECT_THAT(bring("camera.lid to open").codes(), ElementsAre("meaning/unknown-part"));
  EXPECT_THAT(bring("mast to high").codes(), ElementsAre("sequence/bring-from-unknown"));
}

}  // namespace
}  // namespace cairn::test
