// What became of a plan's commands, from reports made by hand.

#include "compiler/review/reconcile/reconcile.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <random>

#include "constraints/timeline/state_tracker.h"
#include "tests/plan/made_plan.h"

namespace cairn::test {
namespace {

using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;

struct Held {
  std::unique_ptr<MadePlan> made = make_plan();
  PlanDocument plan = read_plan(made->text).value();
  PlanEntries entries = read_entries(made->text, made->station.station, published_leap_seconds()).value();
  std::vector<VerificationReport> reports;
  Instant now = parse_utc("2031-05-14T12:00:00Z", published_leap_seconds()).value();

  [[nodiscard]] std::uint16_t own(std::size_t command) const {
    return entries.commands[command].sequence_count;
  }
  void loaded(std::size_t command, bool is_success = true) {
    reports.push_back({static_cast<std::uint16_t>((own(command) + 1U) % 16384), ReportStage::Acceptance,
                       is_success, "", ""});
  }
  void ran(std::size_t command, bool is_success = true) {
    reports.push_back({own(command), ReportStage::Start, true, "", ""});
    reports.push_back({own(command), ReportStage::Completion, is_success, "", is_success ? "" : "stuck"});
  }
  void began(std::size_t command) { reports.push_back({own(command), ReportStage::Start, true, "", ""}); }
  // All that came before a point in time is loaded and has run.
  void all_ran() {
    for (std::size_t i = 0; i < entries.commands.size(); ++i) {
      loaded(i);
      if (is_over(i)) ran(i);
    }
  }
  void forget(std::size_t command) {
    std::erase_if(reports,
                  [&](const VerificationReport& report) { return report.sequence_count == own(command); });
  }
  [[nodiscard]] std::size_t find(const std::string& unit, const std::string& name,
                                 std::size_t nth = 0) const {
    for (const PlanCommand& command : plan.commands) {
      if (command.unit == unit && command.name == name && nth-- == 0) return command.number - 1;
    }
    ADD_FAILURE() << "no " << unit << "." << name;
    return 0;
  }
  [[nodiscard]] ReconcileInput input() const {
    ReconcileInput input;
    input.station = &made->station.station;
    input.start = &made->start;
    input.begin = entries.begin;
    input.end = entries.end;
    input.now = now;
    input.commands = entries.commands;
    input.has_window = entries.has_window;
    input.is_immediate = entries.is_immediate;
    input.aboard = entries.aboard;
    input.reports = &reports;
    return input;
  }
  [[nodiscard]] Reconciliation answer() const { return reconcile(input()); }
  // As the command line does it.
  [[nodiscard]] StartState after(const Reconciliation& answer) const {
    return state_after(made->station.station, made->start, answer,
                       [&](const StartState& start, const Timeline& timeline) {
                         CheckInput check;
                         check.station = &made->station.station;
                         check.start = &start;
                         check.timeline = &timeline;
                         check.sky = made->sky.get();
                         return state_at_end(check);
                       });
  }
  // "" where it is not known.
  [[nodiscard]] std::string state_of(const StartState& state, const std::string& unit,
                                     const std::string& part = "") const {
    const Station& station = made->station.station;
    const StateId found = state.parts[find_part(station, find_unit(station, unit), part).value];
    return found.is_valid() ? station.states[found].name : std::string();
  }
  [[nodiscard]] bool is_over(std::size_t command) const { return entries.commands[command].time <= now; }
};

TEST(Reconcile, AllAsPlanned) {
  Held held;
  for (std::size_t i = 0; i < held.entries.commands.size(); ++i) {
    held.loaded(i);
    if (held.is_over(i)) held.ran(i);
  }
  const Reconciliation answer = held.answer();
  ASSERT_GE(answer.commands.size(), 8U);
  for (std::size_t i = 0; i < answer.commands.size(); ++i) {
    EXPECT_EQ(answer.commands[i].fate, held.is_over(i) ? Fate::Ran : Fate::Waiting) << i;
    EXPECT_THAT(answer.commands[i].broken, IsEmpty()) << i;
  }
  EXPECT_THAT(answer.strangers, IsEmpty());
  EXPECT_THAT(recovery_load(held.plan, answer, held.now, std::nullopt, published_leap_seconds()),
              Not(HasSubstr("send")));
}

TEST(Reconcile, EachFateHasItsReports) {
  Held held;
  held.loaded(0);
  held.ran(0);
  held.loaded(1);
  held.ran(1, false);
  held.loaded(2, false);
  held.loaded(3);
  held.reports.push_back({16'000, ReportStage::Acceptance, true, "", ""});
  const Reconciliation answer = held.answer();
  EXPECT_EQ(answer.commands[0].fate, Fate::Ran);
  EXPECT_EQ(answer.commands[1].fate, Fate::Failed);
  EXPECT_EQ(answer.commands[1].detail, "stuck");
  EXPECT_EQ(answer.commands[2].fate, Fate::Rejected);
  ASSERT_TRUE(held.is_over(3));
  EXPECT_EQ(answer.commands[3].fate, Fate::Overdue);
  EXPECT_EQ(answer.commands[4].fate, Fate::NotArrived);
  EXPECT_THAT(answer.strangers, ::testing::ElementsAre(16'000));
}

// The post's release is freed in two commands: without the first one the second cannot run, and is told so.
TEST(Reconcile, WhatWaitsIsPredictedAnew) {
  Held held;
  const std::size_t last = held.entries.commands.size() - 1;
  for (std::size_t i = 0; i <= last; ++i) {
    if (i == last - 1) continue;  // release.arm is lost
    held.loaded(i);
    if (held.is_over(i)) held.ran(i);
  }
  const Reconciliation answer = held.answer();
  EXPECT_EQ(answer.commands[last - 1].fate, Fate::NotArrived);
  EXPECT_EQ(answer.commands[last].fate, Fate::Waiting);
  EXPECT_THAT(answer.commands[last].broken, Not(IsEmpty()));
  const std::string load = recovery_load(held.plan, answer, held.now, std::nullopt, published_leap_seconds());
  EXPECT_THAT(load, HasSubstr("at 2031-05-14T22:00:00Z { send release.arm }"));
  EXPECT_THAT(load, HasSubstr("load \"elder-7-day-recovery\" for elder"));
}

TEST(Reconcile, WhatWasMissedIsLeftToPeopleOrMoved) {
  Held held;
  for (std::size_t i = 0; i < held.entries.commands.size(); ++i) {
    if (i < 2) continue;
    held.loaded(i);
    if (held.is_over(i)) held.ran(i);
  }
  const Reconciliation answer = held.answer();
  ASSERT_TRUE(held.is_over(1));
  const LeapSecondTable& table = published_leap_seconds();
  const std::string left = recovery_load(held.plan, answer, held.now, std::nullopt, table);
  EXPECT_THAT(left, HasSubstr("# send camera.cover position=open"));
  const Instant from = parse_utc("2031-05-14T15:00:00Z", table).value();
  const std::string moved = recovery_load(held.plan, answer, held.now, from, table);
  EXPECT_THAT(moved, HasSubstr("at 2031-05-14T15:00:00Z { send camera.cover position=open }"));
  const Duration apart = held.entries.commands[1].time - held.entries.commands[0].time;
  EXPECT_THAT(moved, HasSubstr("at " + format_utc(from + apart, table) + " { send "));
}

// Where all went as planned, the next load starts exactly where the plan says.
TEST(ReportedState, IsThePlansEndWhenAllRan) {
  Held held;
  held.now = held.entries.end;
  held.all_ran();
  const Reconciliation answer = held.answer();
  EXPECT_EQ(answer.end, held.entries.end);
  ASSERT_EQ(answer.stretches.size(), 1U);
  EXPECT_THAT(answer.notes, IsEmpty());
  const StartState found = held.after(answer);
  const StartState& planned = held.made->results.end_state;
  EXPECT_EQ(found.parts, planned.parts);
  EXPECT_EQ(found.temperatures, planned.temperatures);
  EXPECT_EQ(found.lowest_temperatures, planned.lowest_temperatures);
  EXPECT_EQ(found.highest_temperatures, planned.highest_temperatures);
  EXPECT_EQ(found.heaters_on, planned.heaters_on);
  EXPECT_EQ(found.heaters_unsure, planned.heaters_unsure);
  EXPECT_EQ(found.once_spent, planned.once_spent);
  EXPECT_THAT(still_to_run(held.input(), answer), IsEmpty());
}

// Half a day before the end the rest waits: the same state, by prediction, and it still lies in the table.
TEST(ReportedState, IsThePlansEndWhenTheRestWaits) {
  Held held;
  held.all_ran();
  const Reconciliation answer = held.answer();
  EXPECT_EQ(answer.end, held.entries.end);
  EXPECT_EQ(held.after(answer).temperatures, held.made->results.end_state.temperatures);
  std::size_t waiting = 0;
  for (std::size_t i = 0; i < held.entries.commands.size(); ++i) waiting += held.is_over(i) ? 0U : 1U;
  EXPECT_EQ(still_to_run(held.input(), answer).size(), waiting);
}

TEST(ReportedState, WhatBeganLeavesItsPartUnknownUntilTheStationTells) {
  Held held;
  held.now = held.entries.end;
  held.all_ran();
  const std::size_t opening = held.find("camera", "cover", 0);
  const std::size_t closing = held.find("camera", "cover", 1);
  held.forget(closing);
  held.began(closing);
  Reconciliation answer = held.answer();
  EXPECT_EQ(answer.commands[closing].fate, Fate::Began);
  EXPECT_EQ(held.state_of(held.after(answer), "camera", "cover"), "");
  EXPECT_EQ(held.state_of(held.after(answer), "camera"), "standby");
  ASSERT_EQ(answer.notes.size(), 1U);
  EXPECT_THAT(answer.notes[0],
              HasSubstr("camera.cover: began, and what it did is not known; from then on the state of "
                        "camera.cover counts as not known"));
  // The opening is in doubt, but that the closing ran tells where the cover is. The pictures were taken too.
  held.all_ran();
  held.forget(opening);
  held.began(opening);
  answer = held.answer();
  EXPECT_EQ(held.state_of(held.after(answer), "camera", "cover"), "closed");
  EXPECT_GE(answer.stretches.size(), 2U);
}

TEST(ReportedState, WhatFailedBeforeItBeganChangedNothing) {
  Held held;
  held.now = held.entries.end;
  held.all_ran();
  const std::size_t closing = held.find("camera", "cover", 1);
  for (const ReportStage stage : {ReportStage::Acceptance, ReportStage::Start}) {
    held.forget(closing);
    held.reports.push_back({held.own(closing), stage, false, "", "stuck"});
    const Reconciliation answer = held.answer();
    EXPECT_EQ(answer.commands[closing].fate, Fate::Failed);
    EXPECT_EQ(held.state_of(held.after(answer), "camera", "cover"), "open");
  }
  for (const ReportStage stage : {ReportStage::Progress, ReportStage::Completion}) {
    held.forget(closing);
    held.reports.push_back({held.own(closing), stage, false, "", "stuck"});
    EXPECT_EQ(held.state_of(held.after(held.answer()), "camera", "cover"), "");
  }
}

// Nothing is known of the arming: whether the release, which waits, will run is not known either.
TEST(ReportedState, WhatWaitsForSomethingUnknownIsUnknown) {
  Held held;
  held.now = parse_utc("2031-05-14T22:00:00.5Z", published_leap_seconds()).value();
  held.all_ran();
  const std::size_t arming = held.find("release", "arm");
  const std::size_t freeing = held.find("release", "free");
  held.forget(arming);
  ASSERT_TRUE(held.is_over(arming));
  ASSERT_FALSE(held.is_over(freeing));
  const Reconciliation answer = held.answer();
  EXPECT_EQ(answer.commands[arming].fate, Fate::Overdue);
  EXPECT_THAT(answer.commands[freeing].broken,
              ::testing::ElementsAre("the state of release.latch is not known"));
  const StartState state = held.after(answer);
  EXPECT_EQ(held.state_of(state, "release", "latch"), "");
  // It may be used: it counts as used.
  EXPECT_THAT(state.once_spent, ::testing::ElementsAre(held.entries.commands[freeing].command));
  ASSERT_EQ(answer.notes.size(), 2U);
  EXPECT_THAT(answer.notes[1], HasSubstr("it is a one-shot and counts as used"));
}

TEST(ReportedState, WhatIsNotYetSentIsStillToCome) {
  Held held;
  held.now = parse_utc("2031-05-12T00:00:00Z", published_leap_seconds()).value();
  Reconciliation answer = held.answer();
  for (const ReconciledCommand& command : answer.commands) EXPECT_EQ(command.fate, Fate::ToBeSent);
  EXPECT_EQ(still_to_run(held.input(), answer).size(), answer.commands.size());
  EXPECT_THAT(recovery_load(held.plan, answer, held.now, std::nullopt, published_leap_seconds()),
              Not(HasSubstr("send")));
  EXPECT_EQ(held.after(answer).parts, held.made->results.end_state.parts);
  // Nothing came, and nothing is to come: the state is that of now, and nothing has changed.
  held.now = parse_utc("2031-05-14T23:00:00Z", published_leap_seconds()).value();
  answer = held.answer();
  for (const ReconciledCommand& command : answer.commands) EXPECT_EQ(command.fate, Fate::NotArrived);
  EXPECT_EQ(answer.end, held.now);
  EXPECT_EQ(held.after(answer).parts, held.made->start.parts);
}

// ---- the station's list of its table ----

TEST(TableHeld, EntryByEntry) {
  Held held;
  std::vector<TableEntry> table;
  std::size_t missing = 0;
  std::size_t moved = 0;
  std::size_t late = 0;
  const auto own = [&](std::size_t i) { return held.own(i); };
  for (std::size_t i = 0; i < held.entries.commands.size(); ++i) {
    if (held.is_over(i)) {
      late = i;  // the last one
      continue;
    }
    if (missing == 0) {
      missing = i;
    } else {
      moved = i;
      table.push_back({own(i), std::nullopt});
    }
  }
  ASSERT_GT(late, 1U);
  for (std::size_t i = 0; i < late; ++i) held.ran(i);
  table.push_back({own(late), std::nullopt});
  const Instant later = held.entries.commands[moved].time + seconds_to_duration(600);
  for (TableEntry& entry : table) {
    if (entry.sequence_count == own(moved)) entry.time = later;
  }
  held.loaded(missing);
  table.push_back({16'001, std::nullopt});
  ReconcileInput input = held.input();
  input.table = &table;
  const Reconciliation answer = reconcile(input);
  EXPECT_EQ(answer.commands[missing].fate, Fate::Gone);
  EXPECT_EQ(answer.commands[moved].fate, Fate::Waiting) << "its loading was not reported";
  EXPECT_EQ(answer.commands[late].fate, Fate::Overdue);
  EXPECT_FALSE(answer.commands[late].is_unsure) << "what still lies there has not run";
  EXPECT_EQ(answer.commands[late].detail, "it still lies in the table");
  EXPECT_THAT(answer.unexpected, ::testing::ElementsAre(16'001));
  bool is_moved = false;
  for (const CarriedEntry& entry : still_to_run(input, answer)) {
    EXPECT_NE(entry.sequence_count, own(missing));
    is_moved |= entry.sequence_count == own(moved) && entry.time == later;
  }
  EXPECT_TRUE(is_moved) << "it runs when the station says";
  // Without the report of its loading it has not arrived; without the list it waits.
  held.reports.clear();
  EXPECT_EQ(reconcile(input).commands[missing].fate, Fate::NotArrived);
  held.loaded(missing);
  input.table = nullptr;
  EXPECT_EQ(reconcile(input).commands[missing].fate, Fate::Waiting);
}

// What earlier loads left is kept where the list has it.
TEST(TableHeld, EntriesOfEarlierLoads) {
  Held held;
  CarriedEntry one = held.entries.commands.back();
  one.sequence_count = 15'000;
  one.time = held.now + seconds_to_duration(60);
  CarriedEntry other = one;
  other.sequence_count = 15'002;
  ReconcileInput input = held.input();
  input.carried = {one, other};
  EXPECT_EQ(reconcile(input).carried.size(), 2U);
  const std::vector<TableEntry> table{{15'002, std::nullopt}};
  input.table = &table;
  const Reconciliation answer = reconcile(input);
  ASSERT_EQ(answer.carried.size(), 1U);
  EXPECT_EQ(answer.carried[0].sequence_count, 15'002);
  EXPECT_THAT(answer.unexpected, IsEmpty());
}

// Against all that can have happened: every command that is in doubt ran, did not run, or left its parts in
// any state; worlds in which a command that ran could not have are none. What is said to be known must be so
// in every world that is left.
class Worlds {
 public:
  Worlds(const Held& held, const Reconciliation& answer) : held_(held), answer_(answer) {}

  std::vector<std::vector<StateId>> all() {
    walk(0, held_.made->start);
    return std::move(ends_);
  }

 private:
  const Station& station() const { return held_.made->station.station; }

  // One command after another, each from the rest that the one before leads to.
  void walk(std::size_t i, StartState state) {
    if (i == answer_.commands.size()) {
      ends_.push_back(state.parts);
      return;
    }
    const CarriedEntry& entry = held_.entries.commands[i];
    const ReconciledCommand& command = answer_.commands[i];
    const bool is_pending = command.fate == Fate::Waiting || command.fate == Fate::ToBeSent;
    StartState moved = state;
    const bool is_legal = run(entry, moved);
    if (command.fate == Fate::Ran) {
      if (is_legal) walk(i + 1, moved);
    } else if (is_pending) {
      walk(i + 1, is_legal ? moved : state);
    } else if (command.is_unsure) {
      walk(i + 1, state);
      if (is_legal) walk(i + 1, moved);
      for (const Move& move : station().commands[entry.command].moves) {
        if (!is_selected(move, {entry.time, entry.command, entry.arguments})) continue;
        if (move.to == state.parts[move.part.value]) continue;  // it is there already
        for (const StateId other : station().parts[move.part].states) {
          StartState half = state;
          half.parts[move.part.value] = other;
          walk(i + 1, half);
        }
      }
    } else {
      walk(i + 1, state);
    }
  }

  bool run(const CarriedEntry& entry, StartState& state) {
    const Timeline timeline = predict(station(), state, entry.time, entry.time + seconds_to_duration(1000),
                                      {{entry.time, entry.command, entry.arguments}});
    if (!timeline.conflicts.empty()) return false;
    for (std::size_t p = 0; p < state.parts.size(); ++p)
      state.parts[p] = timeline.occupations[p].back().state;
    state.once_spent = timeline.once_spent;
    return true;
  }

  const Held& held_;
  const Reconciliation& answer_;
  std::vector<std::vector<StateId>> ends_;
};

TEST(ReportedState, WhatIsKnownIsSoInEveryWorldThatTheReportsAllow) {
  std::mt19937 random(20310514);
  std::size_t known = 0;
  std::size_t unknown = 0;
  std::size_t tried = 0;
  Held held;
  for (int round = 0; round < 300; ++round) {
    held.reports.clear();
    held.now =
        parse_utc(round % 3 == 0 ? "2031-05-14T12:00:00Z" : "2031-05-15T00:00:00Z", published_leap_seconds())
            .value();
    int doubts = 0;
    for (std::size_t i = 0; i < held.entries.commands.size(); ++i) {
      const auto dice = static_cast<unsigned>(random() % 10);
      if (dice > 0) held.loaded(i);
      if (!held.is_over(i)) continue;
      const bool may_doubt = doubts < 4;
      if (dice == 1 && may_doubt) {
        held.began(i);
      } else if (dice == 2 && may_doubt) {
        held.ran(i, false);
      } else if (dice == 4) {
        held.reports.push_back({held.own(i), ReportStage::Start, false, "", ""});
      } else if (dice > 4 || (dice > 0 && dice != 3) || (dice == 3 && !may_doubt)) {
        held.ran(i);
      }
      doubts += dice >= 1 && dice <= 3 ? 1 : 0;
    }
    const Reconciliation answer = held.answer();
    const std::vector<std::vector<StateId>> worlds = Worlds(held, answer).all();
    if (worlds.empty()) continue;  // the reports contradict each other
    ++tried;
    // States alone: heat does not matter here.
    const StartState state = state_after(held.made->station.station, held.made->start, answer,
                                         [](const StartState& start, const Timeline& timeline) {
                                           StartState end = start;
                                           for (std::size_t p = 0; p < end.parts.size(); ++p) {
                                             const Occupation& last = timeline.occupations[p].back();
                                             end.parts[p] =
                                                 last.moving_to.is_valid() ? last.moving_to : last.state;
                                           }
                                           end.once_spent = timeline.once_spent;
                                           return end;
                                         });
    for (std::size_t p = 0; p < state.parts.size(); ++p) {
      if (!state.parts[p].is_valid()) {
        ++unknown;
        continue;
      }
      ++known;
      for (const std::vector<StateId>& world : worlds)
        ASSERT_EQ(world[p], state.parts[p]) << "round " << round << ", part " << p;
    }
  }
  EXPECT_GT(tried, 150U);
  EXPECT_GT(known, 400U);
  EXPECT_GT(unknown, 100U);
}

}  // namespace
}  // namespace cairn::test
