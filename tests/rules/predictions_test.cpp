// What rules look at, gathered from a small station's predictions, worked by hand.

#include "constraints/rules/predictions.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "tests/rules/sample.h"

namespace cairn::test {
namespace {

using ::testing::ElementsAre;

// A Sun that goes round once in 12 h from north, and up and down with it.
class TurningSky final : public Sky {
 public:
  [[nodiscard]] SkyPoint sun(Instant time) const override {
    const double angle = 2 * std::numbers::pi * (time - Instant{}).seconds() / 43200 - 0.1;
    const double turn = 2 * std::numbers::pi;
    return {0.5 * std::sin(angle), angle - turn * std::floor(angle / turn), 1.5e11};
  }
  [[nodiscard]] SkyPoint earth(Instant) const override { return {1.0, 0, 3.8e8}; }
  [[nodiscard]] double solar_flux(Instant) const override { return 1361; }
};

// A camera that goes from off through 10 s (9 to 12) of warming up to imaging, and back at once; a tick of 2
// s.
struct Post : ::testing::Test {
  Station station;
  StartState start;
  CommandId on;
  CommandId off;
  CommandId release;
  PartId camera;
  StateId rest{0};
  StateId imaging{1};
  TurningSky sky;
  Timeline timeline;
  PowerResult power;
  HeatResult heat;
  TableResult table;
  Predictions predictions;

  Post() {
    station.clock.tick = secs(2);
    const UnitId unit = station.units.add({"camera", "", {}, no_origin});
    camera = station.parts.add({"", unit, {rest, imaging}, rest, no_origin});
    station.units[unit].parts = {camera};
    rest = station.states.add({"off", camera, Bounded::exactly(0), {}, no_origin});
    imaging = station.states.add({"imaging", camera, Bounded::exactly(9), {}, no_origin});
    CommandDefinition command;
    command.name = "on";
    command.unit = unit;
    command.moves = {{camera, {rest}, imaging, Bounded{10, 9, 12}, {}, {}, no_origin}};
    on = station.commands.add(command);
    command.name = "off";
    command.moves = {{camera, {imaging}, rest, Bounded::exactly(0), {}, {}, no_origin}};
    off = station.commands.add(command);
    command.name = "release";
    command.moves = {};
    command.once = true;
    ArgumentDefinition argument;
    argument.name = "side";
    command.arguments = {argument};
    release = station.commands.add(command);
    const AntennaId west = station.antennas.add({"west", no_origin});
    const AntennaId east = station.antennas.add({"east", no_origin});
    station.windows.add({west, at(-50), at(100), no_origin});
    station.windows.add({east, at(60), at(200), no_origin});
    station.windows.add({west, at(400), at(500), no_origin});
    station.table.entries = 10;
    start = initial_state(station);
    timeline =
        predict(station, start, at(0), at(1000),
                {{at(100), on, {}}, {at(200), off, {}}, {at(300), release, {{1, 1}}}, {at(400), on, {}}});
    predictions = {&station, &start, &timeline, &power, &heat, &table, &sky};
  }

  Occurrence only_spell(RuleSpells wanted, std::size_t index, std::size_t count) {
    RuleBook book;
    spells(book, std::move(wanted));
    const RuleEvidence evidence = gather(book, predictions);
    EXPECT_EQ(evidence.spells[0].size(), count);
    return evidence.spells[0].at(index);
  }
  Signal only_signal(Prediction prediction, NodeId node = {}, AntennaId antenna = {}) {
    RuleBook book;
    predicted(book, {prediction, node, antenna});
    return gather(book, predictions).signals.at(0);
  }
};

TEST_F(Post, AStateRestsOrTouches) {
  const Occurrence rests = only_spell(RuleState{camera, {imaging}, StateReading::Rests}, 0, 2);
  EXPECT_EQ(rests.begin.nominal, at(110));
  EXPECT_EQ(rests.begin.latest, at(113));
  EXPECT_EQ(rests.end.nominal, at(200));
  EXPECT_EQ(rests.end.earliest, at(199));
  EXPECT_EQ(rests.begun_by, TimedCommandId{0});
  EXPECT_EQ(rests.ended_by, TimedCommandId{1});
  EXPECT_FALSE(rests.goes_on);
  // The end of a move carries the other command's displacement, too.
  EXPECT_EQ(rests.begin.earliest, at(106));
  const Occurrence touches = only_spell(RuleState{camera, {imaging}, StateReading::Touches}, 0, 2);
  EXPECT_EQ(touches.begin.nominal, at(100));
  EXPECT_EQ(touches.begin.earliest, at(99));
  EXPECT_EQ(touches.end.nominal, at(200));
  EXPECT_TRUE(only_spell(RuleState{camera, {imaging}, StateReading::Rests}, 1, 2).goes_on);
  const Occurrence first = only_spell(RuleState{camera, {rest}, StateReading::Rests}, 0, 2);
  EXPECT_TRUE(first.from_before);
  EXPECT_EQ(first.end.nominal, at(100));
  const Occurrence moving = only_spell(RuleMoving{camera}, 1, 2);
  EXPECT_EQ(moving.begin.nominal, at(400));
  EXPECT_EQ(moving.end.nominal, at(410));
  EXPECT_EQ(moving.begun_by, moving.ended_by);
}

TEST_F(Post, AStateThatIsNotKnownMayBeAnyOne) {
  start.parts = {StateId{}};
  CommandDefinition reset = station.commands[off];
  reset.moves = {{camera, {}, rest, Bounded::exactly(0), {}, {}, no_origin}};
  const CommandId safe = station.commands.add(reset);
  timeline = predict(station, start, at(0), at(1000), {{at(100), safe, {}}, {at(400), on, {}}});
  // Until the first command that sets it: perhaps off all the while, perhaps imaging.
  const Occurrence off_spell = only_spell(RuleState{camera, {rest}, StateReading::Rests}, 0, 1);
  EXPECT_EQ(off_spell.begin.nominal, at(100));
  EXPECT_EQ(off_spell.begin.earliest, at(0));
  const Occurrence perhaps = only_spell(RuleState{camera, {imaging}, StateReading::Rests}, 0, 2);
  EXPECT_EQ(perhaps.existence, Existence::Possible);
  EXPECT_EQ(perhaps.end.latest, at(100));
  RuleBook book;
  const RuleNodeId in = spells(book, RuleState{camera, {imaging}, StateReading::Touches});
  const auto rule = [&](RuleNodeId condition) { book.rules.add({"rule", "", condition, no_origin}); };
  const auto early = spells(book, RuleInterval{inside(at(20)), inside(at(50))});
  const auto later = spells(book, RuleInterval{inside(at(150)), inside(at(250))});
  rule(whilst(book, early, negation(book, in)));
  rule(whilst(book, early, in));
  rule(whilst(book, later, negation(book, in)));
  rule(spent_at_most(book, in, secs(620), secs(2000)));
  const std::vector<RuleAnswer> answers = evaluate(book, gather(book, predictions));
  EXPECT_EQ(answers[0].verdict, Verdict::Unproven);
  EXPECT_EQ(answers[1].verdict, Verdict::Fails);
  EXPECT_EQ(answers[2].verdict, Verdict::Holds);
  EXPECT_EQ(answers[3].verdict, Verdict::Unproven);
  EXPECT_EQ(answers[3].nominal_margin, 20);
}

TEST_F(Post, StatesWithoutASeamAreOneSpell) {
  const Occurrence always = only_spell(RuleState{camera, {rest, imaging}, StateReading::Rests}, 0, 1);
  EXPECT_TRUE(always.from_before);
  EXPECT_TRUE(always.goes_on);
}

TEST_F(Post, CommandsByArgumentAndWhatWasSpentBefore) {
  start.once_spent = {release};
  RuleBook book;
  events(book, RuleCommand{on, {}});
  events(book, RuleCommand{release, {{0, 1}}});
  events(book, RuleCommand{release, {{0, 2}}});
  events(book, RuleCommand{release, {{3, 1}}});
  events(book, RuleMarks{{inside(at(9)), inside(at(3))}});
  const RuleEvidence evidence = gather(book, predictions);
  ASSERT_EQ(evidence.events[0].size(), 2U);
  EXPECT_EQ(evidence.events[0][1].begin.nominal, at(400));
  EXPECT_EQ(evidence.events[0][1].begin.latest, at(401));
  EXPECT_EQ(evidence.events[0][1].begun_by, TimedCommandId{3});
  EXPECT_EQ(evidence.events[1].size(), 1U);
  EXPECT_TRUE(evidence.events[2].empty());
  EXPECT_TRUE(evidence.events[3].empty());
  EXPECT_EQ(evidence.events[4][0].begin.nominal, at(3));
  EXPECT_THAT(evidence.times_before, ElementsAre(0, 1, 1, 1, 0));
}

TEST_F(Post, WindowsAreMergedAndCutToTheSpan) {
  const Occurrence any = only_spell(RuleWindow{}, 0, 2);
  EXPECT_TRUE(any.from_before);
  EXPECT_EQ(any.end.nominal, at(200));
  EXPECT_EQ(only_spell(RuleWindow{AntennaId{0}, {}}, 1, 2).begin.nominal, at(400));
  EXPECT_EQ(only_spell(RuleWindow{{}, WindowId{1}}, 0, 1).begin.nominal, at(60));
}

TEST_F(Post, TheClockMovesWhatComesFromOutside) {
  station.clock.last_correlation = at(-1000);
  station.clock.rate_error = 0.01;
  const Occurrence window = only_spell(RuleWindow{{}, WindowId{2}}, 0, 1);
  EXPECT_EQ(window.begin.earliest, at(400 - 15));  // half a tick, and 1 % of 1400 s
  EXPECT_EQ(window.end.latest, at(500 + 16));
  const Signal open = only_signal(Prediction::WindowsOpen, {}, AntennaId{0});
  Sample s(1000);
  const RuleNodeId count = s.number(open);
  const RuleAnswer late = s.answer(whilst(s.book, s.held({spell(416, 480)}), s.at_least(count, 1)));
  EXPECT_EQ(late.verdict, Verdict::Holds);
  const RuleAnswer soon = s.answer(whilst(s.book, s.held({spell(410, 480)}), s.at_least(count, 1)));
  EXPECT_EQ(soon.verdict, Verdict::Unproven);
  const RuleAnswer early = s.answer(whilst(s.book, s.held({spell(390, 480)}), s.at_least(count, 1)));
  EXPECT_EQ(early.verdict, Verdict::Fails);
}

TEST_F(Post, IntervalsAreCutToTheSpan) {
  const Occurrence whole = only_spell(RuleInterval{inside(at(-5)), inside(at(2000))}, 0, 1);
  EXPECT_TRUE(whole.from_before && whole.goes_on);
  EXPECT_EQ(whole.end.nominal, at(1000));
  RuleBook book;
  spells(book, RuleInterval{inside(at(5)), inside(at(5))});
  spells(book, RuleInterval{inside(at(50)), inside(at(5))});
  spells(book, RuleInterval{inside(at(1000)), inside(at(1500))});
  const RuleEvidence evidence = gather(book, predictions);
  for (const auto& list : evidence.spells) EXPECT_TRUE(list.empty());
}

TEST_F(Post, PowerAndHeatAreLinearBetweenTheirPoints) {
  power.points = {{at(0), 10, 0, 0, 9}, {at(500), 9, 0, 0, 8}, {at(500), 9, 4, 0, 4}, {at(1000), 8, 4, 0, 3}};
  heat.traces = {{{at(0), 280}, {at(1000), 270}}};
  Sample s(1000);
  const RuleAnswer reserve = s.answer(s.at_least(s.number(only_signal(Prediction::PowerReserve)), 2));
  EXPECT_DOUBLE_EQ(reserve.margin, 1);
  EXPECT_EQ(reserve.time, at(1000));
  EXPECT_EQ(reserve.assurance, Assurance::Nominal);
  const RuleAnswer warm =
      s.answer(s.at_least(s.number(only_signal(Prediction::NodeTemperature, NodeId{0})), 275));
  EXPECT_DOUBLE_EQ(warm.margin, -5);
  EXPECT_EQ(warm.interval_begin, at(500));
  // What is not predicted has no answer.
  EXPECT_EQ(s.answer(s.at_least(s.number(only_signal(Prediction::NodeTemperature, NodeId{7})), 275)).trouble,
            RuleTrouble::UnusableSignal);
}

TEST_F(Post, TheChecksBoundsAreTheSignals) {
  heat.traces = {{{at(0), 280}, {at(1000), 270}}};
  heat.envelope.bands = {{{at(0), 279, 281}, {at(400), 273, 279}, {at(1000), 268, 273}}};
  Sample s(1000);
  const RuleNodeId warm = s.number(only_signal(Prediction::NodeTemperature, NodeId{0}));
  const RuleAnswer low = s.answer(s.at_least(warm, 269));
  EXPECT_EQ(low.verdict, Verdict::Unproven);
  EXPECT_DOUBLE_EQ(low.margin, -1);
  EXPECT_DOUBLE_EQ(low.nominal_margin, 1);
  EXPECT_EQ(low.assurance, Assurance::Guaranteed);
  EXPECT_DOUBLE_EQ(s.answer(s.at_most(warm, 282)).margin, 1);
  // A band narrower than the nominal line is drawn gives way to it.
  heat.envelope.bands = {{{at(0), 280, 280}, {at(500), 274, 274}, {at(1000), 270, 270}}};
  EXPECT_EQ(s.answer(s.at_least(s.number(only_signal(Prediction::NodeTemperature, NodeId{0})), 260)).trouble,
            RuleTrouble::None);
}

TEST_F(Post, TheReserveIsBoundedOnBothSides) {
  // 30 W, a tenth more or less; the camera draws 9 W, a third more or less.
  station.power.sources = {
      {"source", Bounded{30, 27, 33}, at(0), 1e12, Bounded::exactly(0), Bounded::exactly(0), {}, no_origin}};
  station.states[imaging].load = Bounded{9, 6, 12};
  timeline = predict(station, start, at(0), at(1000), {{at(100), on, {}}, {at(200), off, {}}});
  const std::vector<HeaterInterval> no_heaters;
  power = check_power(station, timeline, no_heaters, &no_heaters);
  Sample s(1000);
  const RuleNodeId reserve = s.number(only_signal(Prediction::PowerReserve));
  const RuleAnswer least = s.answer(s.at_least(reserve, 10));
  EXPECT_EQ(least.assurance, Assurance::Guaranteed);
  EXPECT_NEAR(least.margin, 27 - 12 - 10, 1e-6);
  EXPECT_NEAR(least.nominal_margin, 30 - 9 - 10, 1e-6);
  const RuleNodeId on_for_sure = s.held({spell(120, 190)});
  EXPECT_NEAR(s.answer(whilst(s.book, on_for_sure, s.at_most(reserve, 30))).margin, 30 - (33 - 6), 1e-6);
  // While it may still be off, nothing need be drawn.
  const RuleNodeId perhaps_off = s.held({spell(95, 190)});
  EXPECT_NEAR(s.answer(whilst(s.book, perhaps_off, s.at_most(reserve, 30))).margin, 30 - 33, 1e-6);
  const RuleNodeId load = s.number(only_signal(Prediction::PowerLoad));
  EXPECT_NEAR(s.answer(s.at_most(load, 20)).margin, 8, 1e-9);
  EXPECT_NEAR(s.answer(whilst(s.book, on_for_sure, s.at_least(load, 5))).margin, 1, 1e-9);
  const RuleNodeId source = s.number(only_signal(Prediction::PowerSource));
  EXPECT_NEAR(s.answer(s.at_least(source, 20)).margin, 7, 1e-6);
  EXPECT_NEAR(s.answer(s.at_most(source, 40)).margin, 7, 1e-6);
}

// 10 W give or take one, 4 W drawn; what the storage holds is bounded on both sides, and full is full.
TEST_F(Post, TheChargeIsBoundedOnBothSides) {
  station.power.sources = {
      {"source", Bounded{10, 9, 11}, at(0), 1e12, Bounded::exactly(0), Bounded::exactly(0), {}, no_origin}};
  Storage storage;
  storage.capacity = Bounded::exactly(10'000);
  storage.initial = Bounded{1000, 900, 1200};
  storage.charge_limit = Bounded::exactly(20);
  storage.discharge_limit = Bounded::exactly(20);
  station.power.storage = storage;
  station.states[rest].load = Bounded::exactly(4);
  start = initial_state(station);
  timeline = predict(station, start, at(0), at(1000), {});
  const std::vector<HeaterInterval> no_heaters;
  power = check_power(station, timeline, no_heaters, &no_heaters);
  Sample s(1000);
  const RuleNodeId charge = s.number(only_signal(Prediction::StoredCharge));
  const RuleAnswer least = s.answer(s.at_least(charge, 500));
  EXPECT_EQ(least.dimension, dimensions::energy);
  EXPECT_EQ(least.assurance, Assurance::Guaranteed);
  EXPECT_NEAR(least.margin, 400, 1e-3);
  EXPECT_NEAR(least.nominal_margin, 500, 1e-3);
  const RuleAnswer most = s.answer(s.at_most(charge, 9000));
  EXPECT_NEAR(most.nominal_margin, 9000 - (1000 + 6 * 1000), 1e-2);
  EXPECT_NEAR(most.margin, 9000 - (1200 + 7 * 1000), 1);
  const RuleAnswer late = s.answer(whilst(s.book, s.held({spell(999, 1000)}), s.at_least(charge, 5000)));
  EXPECT_NEAR(late.margin, 900 + 5 * 999 - 5000, 1);
  // Without a storage nothing is predicted.
  station.power.storage.reset();
  power = check_power(station, timeline, no_heaters, &no_heaters);
  EXPECT_EQ(s.answer(s.at_least(s.number(only_signal(Prediction::StoredCharge)), 1)).trouble,
            RuleTrouble::UnusableSignal);
}

TEST_F(Post, TheTableInSteps) {
  table.points = {{at(100), 4, 40}, {at(300), 9, 90}, {at(600), 0, 0}};
  Sample s(1000);
  const RuleAnswer free = s.answer(s.at_least(s.number(only_signal(Prediction::TableFree)), 2));
  EXPECT_EQ(free.margin, -1);
  EXPECT_EQ(free.dimension, dimensions::count);
  EXPECT_EQ(free.interval_begin, at(300));
  EXPECT_EQ(free.interval_end, at(600));
  EXPECT_EQ(s.answer(s.at_most(s.number(only_signal(Prediction::TableBytes)), 100)).margin, 10);
  EXPECT_EQ(s.answer(s.at_most(s.number(only_signal(Prediction::TableEntries)), 9)).margin, 0);
  table.points.clear();
  EXPECT_EQ(s.answer(s.at_least(s.number(only_signal(Prediction::TableFree)), 2)).margin, 8);
}

TEST_F(Post, TheSkyWithItsBounds) {
  timeline.end = at(86400);
  const Signal elevation = only_signal(Prediction::SunElevation);
  Sample s(86400);
  const RuleAnswer high = s.answer(s.at_most(s.number(elevation), 0.6));
  EXPECT_NEAR(high.nominal_margin, 0.1, 1e-3);
  // No sample between the bounds is missed: the true course lies inside them everywhere.
  const Signal azimuth = only_signal(Prediction::SunAzimuth);
  for (const Signal* signal : {&elevation, &azimuth}) {
    std::size_t k = 0;
    for (std::int64_t t = 0; t < 86400; t += 37) {
      while (k + 2 < signal->times.size() && signal->times[k + 1] <= at(t)) ++k;
      const double part =
          (at(t) - signal->times[k]).seconds() / (signal->times[k + 1] - signal->times[k]).seconds();
      const auto value = [&](const std::vector<double>& v) { return v[k] + (v[k + 1] - v[k]) * part; };
      const double truth = signal == &elevation ? sky.sun(at(t)).elevation : sky.sun(at(t)).azimuth;
      ASSERT_LE(value(signal->lower), truth + 1e-9) << t;
      ASSERT_GE(value(signal->upper), truth - 1e-9) << t;
    }
  }
  // Past north it jumps; twice a day here.
  int jumps = 0;
  for (std::size_t i = 1; i < azimuth.times.size(); ++i)
    jumps += azimuth.times[i] == azimuth.times[i - 1] ? 1 : 0;
  EXPECT_EQ(jumps, 2);
}

TEST_F(Post, AStateOnTheMoveCountsAgainstTheRuleNeverForIt) {
  RuleBook book;
  const RuleNodeId in = spells(book, RuleState{camera, {imaging}, StateReading::Rests});
  const RuleNodeId ready = spells(book, RuleState{camera, {imaging}, StateReading::Touches});
  const RuleNodeId sent = events(book, RuleCommand{release, {}});
  const RuleNodeId forbidden = over_span(book, RuleOperator::NeverInside, sent, in);
  const RuleNodeId needed = over_span(book, RuleOperator::AtEach, sent, ready);
  const RuleNodeId duty = spent_at_most(book, in, secs(5), secs(9));
  const RuleNodeId same = negation(book, negation(book, in));
  const auto reading = [&](RuleNodeId id) {
    while (book.nodes[id].kind != RuleOperator::Spells) {
      id = sort_of(book.nodes[book.nodes[id].a].kind) == RuleSort::Events ? book.nodes[id].b
                                                                          : book.nodes[id].a;
    }
    return std::get<RuleState>(book.spells[book.nodes[id].spells]).reading;
  };
  EXPECT_EQ(reading(read_moves_by_role(book, forbidden)), StateReading::Touches);
  EXPECT_EQ(reading(read_moves_by_role(book, needed)), StateReading::Rests);
  EXPECT_EQ(reading(read_moves_by_role(book, duty)), StateReading::Touches);
  EXPECT_EQ(read_moves_by_role(book, same), same);  // nothing to change
  EXPECT_EQ(reading(in), StateReading::Rests);      // the one given stays
  EXPECT_FALSE(fault(book));
}

TEST_F(Post, ACommandThatEndsAStateStillMeetsIt) {
  RuleBook book;
  const RuleNodeId in = spells(book, RuleState{camera, {imaging}, StateReading::Rests});
  const RuleNodeId sent = events(book, RuleCommand{off, {}});
  const RuleNodeId early = events(book, RuleMarks{{{at(111), at(110), at(112)}}});
  book.rules.add({"ends", "", over_span(book, RuleOperator::AtEach, sent, in), no_origin});
  book.rules.add({"held", "", over_span(book, RuleOperator::OnlyAfter, sent, in, secs(80)), no_origin});
  // It may not have arrived by then.
  book.rules.add({"early", "", over_span(book, RuleOperator::AtEach, early, in), no_origin});
  const std::vector<RuleAnswer> answers = evaluate(book, gather(book, predictions));
  EXPECT_EQ(answers[0].verdict, Verdict::Holds);
  EXPECT_EQ(answers[1].verdict, Verdict::Holds);
  EXPECT_EQ(answers[1].margin, 199 - 113 - 80);
  EXPECT_EQ(answers[1].nominal_margin, 10);
  EXPECT_EQ(answers[2].verdict, Verdict::Unproven);
}

}  // namespace
}  // namespace cairn::test
