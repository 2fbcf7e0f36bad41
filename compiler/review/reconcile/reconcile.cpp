// Reports to fates, fates to a new prediction and to a load that makes up for what is missing.

#include "compiler/review/reconcile/reconcile.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "compiler/review/reconcile/course.h"

namespace cairn {

namespace {

constexpr std::uint32_t modulus = 16384;

struct Known {
  bool is_loaded = false;
  bool is_rejected = false;
  bool is_begun = false;
  bool is_completed = false;
  bool is_failed = false;
  std::string detail;
};

// What the station's list of its table says of a command.
enum class Listed : std::uint8_t { NotAsked, Yes, No };

struct Sending {
  Listed listed = Listed::NotAsked;
  bool has_window = false;
  bool is_ahead = false;  // not yet to be aboard
  bool is_over = false;   // its time of execution has come
};

Fate fate_of(const Known& known, const Sending& sending) {
  if (known.is_failed) return Fate::Failed;
  if (known.is_completed) return Fate::Ran;
  if (known.is_begun) return Fate::Began;
  if (known.is_rejected) return Fate::Rejected;
  if (known.is_loaded || sending.listed == Listed::Yes) {
    if (sending.is_over) return Fate::Overdue;
    return sending.listed == Listed::No ? Fate::Gone : Fate::Waiting;
  }
  if (!sending.has_window) return Fate::NotSent;
  return sending.is_ahead ? Fate::ToBeSent : Fate::NotArrived;
}

bool is_pending(Fate fate) { return fate == Fate::Waiting || fate == Fate::ToBeSent; }

bool is_wanted(Fate fate) { return fate != Fate::Ran && fate != Fate::Began && !is_pending(fate); }

// Whether it may have run, in whole or in part, and the reports leave open which.
bool is_unsure(Fate fate, const Known& known, Listed listed) {
  if (fate == Fate::Overdue) return listed != Listed::Yes;  // what still lies there has not run
  return fate == Fate::Began || (fate == Fate::Failed && known.is_begun);
}

std::string send_of(const PlanCommand& command) {
  std::string text = fmt::format("send {}{}.{}", command.immediate ? "now " : "", command.unit, command.name);
  for (const PlanArgument& argument : command.arguments)
    text += fmt::format(" {}={}", argument.name, argument.value);
  return text;
}

}  // namespace

std::string_view to_word(Fate fate) {
  switch (fate) {
    case Fate::Ran:
      return "ran";
    case Fate::Began:
      return "began";
    case Fate::Failed:
      return "failed";
    case Fate::Overdue:
      return "overdue";
    case Fate::Waiting:
      return "waiting";
    case Fate::ToBeSent:
      return "to be sent";
    case Fate::Gone:
      return "gone";
    case Fate::Rejected:
      return "rejected";
    case Fate::NotArrived:
      return "not arrived";
    case Fate::NotSent:
      return "not sent";
  }
  return {};
}

namespace {

// What the reports say of each command; the counts that belong to none.
std::vector<Known> known_of(const ReconcileInput& input, std::vector<std::uint16_t>& strangers) {
  // A command's own packet has its count, the packet that loads it the next one.
  std::map<std::uint16_t, std::size_t> by_own;
  std::map<std::uint16_t, std::size_t> by_loading;
  for (std::size_t i = 0; i < input.commands.size(); ++i) {
    if (!input.has_window[i]) continue;
    by_own.emplace(input.commands[i].sequence_count, i);
    if (i < input.is_immediate.size() && input.is_immediate[i]) continue;  // nothing loads it
    by_loading.emplace(static_cast<std::uint16_t>((input.commands[i].sequence_count + 1U) % modulus), i);
  }
  std::vector<Known> known(input.commands.size());
  for (const VerificationReport& report : *input.reports) {
    if (const auto own = by_own.find(report.sequence_count); own != by_own.end()) {
      Known& one = known[own->second];
      one.is_loaded = true;
      const bool is_later = report.stage == ReportStage::Progress || report.stage == ReportStage::Completion;
      // What fails in its course, or started before, has left its start behind.
      one.is_begun |= is_later || (report.stage == ReportStage::Start && report.is_success);
      if (!report.is_success) {
        one.is_failed = true;
        one.detail = report.detail;
      } else if (report.stage == ReportStage::Completion) {
        one.is_completed = true;
      }
    } else if (const auto loading = by_loading.find(report.sequence_count); loading != by_loading.end()) {
      Known& one = known[loading->second];
      (report.is_success ? one.is_loaded : one.is_rejected) = true;
      if (!report.is_success) one.detail = report.detail;
    } else {
      strangers.push_back(report.sequence_count);
    }
  }
  std::sort(strangers.begin(), strangers.end());
  strangers.erase(std::unique(strangers.begin(), strangers.end()), strangers.end());
  return known;
}

// The station's list, held against what should be there.
class TableView {
 public:
  explicit TableView(const ReconcileInput& input) : input_(input) {
    if (input.table == nullptr) return;
    for (const TableEntry& entry : *input.table) by_count_.emplace(entry.sequence_count, &entry);
  }

  [[nodiscard]] bool has(std::uint16_t count) const { return by_count_.contains(count); }
  [[nodiscard]] Listed listed(std::size_t i) const {
    const bool is_immediate = i < input_.is_immediate.size() && input_.is_immediate[i];
    if (input_.table == nullptr || is_immediate || !input_.has_window[i]) return Listed::NotAsked;
    return has(input_.commands[i].sequence_count) ? Listed::Yes : Listed::No;
  }
  // What the station says of the time is what will happen.
  void correct_time(CarriedEntry& entry) const {
    const auto found = by_count_.find(entry.sequence_count);
    if (found != by_count_.end() && found->second->time) entry.time = *found->second->time;
  }
  [[nodiscard]] std::vector<std::uint16_t> unexpected() const {
    std::vector<std::uint16_t> counts;
    for (const auto& [count, entry] : by_count_) {
      const auto is_it = [count = count](const CarriedEntry& one) { return one.sequence_count == count; };
      bool is_known = std::any_of(input_.carried.begin(), input_.carried.end(), is_it);
      for (std::size_t i = 0; i < input_.commands.size() && !is_known; ++i)
        is_known = listed(i) == Listed::Yes && is_it(input_.commands[i]);
      if (!is_known) counts.push_back(count);
    }
    return counts;
  }

 private:
  const ReconcileInput& input_;
  std::map<std::uint16_t, const TableEntry*> by_count_;
};

}  // namespace

Reconciliation reconcile(const ReconcileInput& given) {
  Reconciliation result;
  ReconcileInput input = given;
  const TableView table(given);
  for (std::size_t i = 0; i < input.commands.size(); ++i) table.correct_time(input.commands[i]);
  for (CarriedEntry& entry : input.carried) {
    table.correct_time(entry);
    // A list tells what is there; without one, what has not run yet counts as there.
    if (given.table != nullptr ? table.has(entry.sequence_count) : entry.time > input.now)
      result.carried.push_back(entry);
  }
  result.unexpected = table.unexpected();
  const std::vector<Known> known = known_of(input, result.strangers);
  bool has_pending = false;
  for (std::size_t i = 0; i < input.commands.size(); ++i) {
    Known one = known[i];
    // What was refused when it was loaded cannot have become a part of the table by another report of
    // loading.
    if (one.is_rejected && !one.is_begun && !one.is_completed) one.is_loaded = false;
    const Sending sending{table.listed(i), input.has_window[i],
                          i < input.aboard.size() && input.aboard[i] > input.now,
                          input.commands[i].time <= input.now};
    const Fate fate = fate_of(one, sending);
    result.commands.push_back({fate, is_unsure(fate, one, sending.listed), one.detail, {}});
    if (fate == Fate::Overdue && sending.listed == Listed::Yes)
      result.commands.back().detail = "it still lies in the table";
    has_pending |= is_pending(fate);
  }
  result.end = std::max(has_pending ? std::max(input.end, input.now) : input.now, input.begin);
  for (std::size_t i = 0; i < input.commands.size(); ++i) {
    const ReconciledCommand& command = result.commands[i];
    // Told of although later than `now`, or moved beyond the end: then it is later by then.
    if (command.fate == Fate::Ran || command.is_unsure || is_pending(command.fate))
      result.end = std::max(result.end, input.commands[i].time);
  }
  follow_course(input, result);
  return result;
}

StartState state_after(const Station& station, const StartState& start, const Reconciliation& reconciliation,
                       const Advance& advance) {
  StartState state = start;
  for (const Stretch& stretch : reconciliation.stretches) {
    if (stretch.end > stretch.begin) {
      state = advance(state, predict(station, state, stretch.begin, stretch.end, stretch.commands));
    }
    for (const Stretch::Correction& correction : stretch.corrections)
      state.parts[correction.part.value] = correction.state;
    state.once_spent.insert(state.once_spent.end(), stretch.spent.begin(), stretch.spent.end());
  }
  return state;
}

std::vector<CarriedEntry> still_to_run(const ReconcileInput& input, const Reconciliation& reconciliation) {
  const TableView table(input);
  std::vector<CarriedEntry> entries;
  for (std::size_t i = 0; i < input.commands.size(); ++i) {
    const bool is_immediate = i < input.is_immediate.size() && input.is_immediate[i];
    if (!is_pending(reconciliation.commands[i].fate) || is_immediate) continue;
    entries.push_back(input.commands[i]);
    table.correct_time(entries.back());
  }
  return entries;
}

std::string recovery_load(const PlanDocument& plan, const Reconciliation& reconciliation, Instant now,
                          std::optional<Instant> missed_from, const LeapSecondTable& leap_seconds) {
  struct Wanted {
    Instant time;
    std::size_t index;
  };
  std::vector<Wanted> ahead;
  std::vector<Wanted> missed;
  for (std::size_t i = 0; i < plan.commands.size(); ++i) {
    if (!is_wanted(reconciliation.commands[i].fate)) continue;
    const auto time = parse_utc(plan.commands[i].time, leap_seconds);
    if (time) (*time > now ? ahead : missed).push_back({*time, i});
  }
  if (missed_from && !missed.empty()) {
    const Duration by = *missed_from - missed.front().time;
    for (const Wanted& one : missed) ahead.push_back({one.time + by, one.index});
    missed.clear();
    std::stable_sort(ahead.begin(), ahead.end(),
                     [](const Wanted& a, const Wanted& b) { return a.time < b.time; });
  }
  const Instant begin = std::max(now, parse_utc(plan.begin, leap_seconds).value_or(now));
  Instant end = parse_utc(plan.end, leap_seconds).value_or(now);
  if (!ahead.empty()) end = std::max(end, ahead.back().time + seconds_to_duration(3600));
  end = std::max(end, begin + seconds_to_duration(3600));
  std::string text = fmt::format(
      "# Makes up for what of {} did not run; written from the station's reports. Read it before you use "
      "it.\n"
      "load \"{}-recovery\" for {} {{\n  span {} to {}\n",
      plan.load, plan.load, plan.station, format_utc(begin, leap_seconds), format_utc(end, leap_seconds));
  for (const Wanted& one : ahead) {
    text += fmt::format("\n  # command {}: {}\n  at {} {{ {} }}\n", one.index + 1,
                        to_word(reconciliation.commands[one.index].fate), format_utc(one.time, leap_seconds),
                        send_of(plan.commands[one.index]));
  }
  for (const Wanted& one : missed) {
    text += fmt::format("\n  # command {}: {}; its time is over, {}\n  # {}\n", one.index + 1,
                        to_word(reconciliation.commands[one.index].fate), format_utc(one.time, leap_seconds),
                        send_of(plan.commands[one.index]));
  }
  return text + "}\n";
}

}  // namespace cairn
