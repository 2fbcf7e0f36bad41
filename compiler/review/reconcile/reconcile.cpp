// Reports to fates, fates to a new prediction and to a load that makes up for what is missing.

#include "compiler/review/reconcile/reconcile.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>

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

Fate fate_of(const Known& known, bool has_window, bool is_over) {
  if (known.is_failed) return Fate::Failed;
  if (known.is_completed) return Fate::Ran;
  if (known.is_begun) return Fate::Began;
  if (known.is_rejected) return Fate::Rejected;
  if (known.is_loaded) return is_over ? Fate::Overdue : Fate::Waiting;
  return has_window ? Fate::NotArrived : Fate::NotSent;
}

// In the prediction: what ran did what it does, what waits will.
bool counts(Fate fate) { return fate == Fate::Ran || fate == Fate::Began || fate == Fate::Waiting; }

bool is_wanted(Fate fate) { return fate != Fate::Ran && fate != Fate::Began && fate != Fate::Waiting; }

std::string why(const Station& station, const Conflict& conflict) {
  const std::string part = conflict.part.is_valid() ? full_name(station, conflict.part) : std::string();
  switch (conflict.kind) {
    case ConflictKind::NeedNotMet:
    case ConflictKind::NoSuchMove:
      return fmt::format(
          "{} is {}", part,
          conflict.found.is_valid() ? station.states[conflict.found].name : std::string("not known"));
    case ConflictKind::StateUnknown:
      return fmt::format("the state of {} is not known", part);
    case ConflictKind::PartMoving:
      return fmt::format("{} is still moving", part);
    case ConflictKind::OnceSpent:
      return "it is a one-shot and used";
  }
  return {};
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
    case Fate::Rejected:
      return "rejected";
    case Fate::NotArrived:
      return "not arrived";
    case Fate::NotSent:
      return "not sent";
  }
  return {};
}

Reconciliation reconcile(const ReconcileInput& input) {
  Reconciliation result;
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
      if (!report.is_success) {
        one.is_failed = true;
        one.detail = report.detail;
      } else if (report.stage == ReportStage::Completion) {
        one.is_completed = true;
      } else if (report.stage != ReportStage::Acceptance) {
        one.is_begun = true;
      }
    } else if (const auto loading = by_loading.find(report.sequence_count); loading != by_loading.end()) {
      Known& one = known[loading->second];
      (report.is_success ? one.is_loaded : one.is_rejected) = true;
      if (!report.is_success) one.detail = report.detail;
    } else {
      result.strangers.push_back(report.sequence_count);
    }
  }
  std::sort(result.strangers.begin(), result.strangers.end());
  result.strangers.erase(std::unique(result.strangers.begin(), result.strangers.end()),
                         result.strangers.end());

  std::vector<TimedCommand> kept;
  std::vector<std::size_t> places;
  for (std::size_t i = 0; i < input.commands.size(); ++i) {
    const CarriedEntry& entry = input.commands[i];
    // What was refused when it was loaded cannot have become a part of the table by another report of
    // loading.
    if (known[i].is_rejected && !known[i].is_begun && !known[i].is_completed) known[i].is_loaded = false;
    const Fate fate = fate_of(known[i], input.has_window[i], entry.time <= input.now);
    result.commands.push_back({fate, known[i].detail, {}});
    if (!counts(fate)) continue;
    kept.push_back({entry.time, entry.command, entry.arguments});
    places.push_back(i);
  }
  result.timeline = predict(*input.station, *input.start, input.begin, input.end, std::move(kept));
  for (const Conflict& conflict : result.timeline.conflicts) {
    ReconciledCommand& command = result.commands[places[conflict.command.value]];
    if (command.fate == Fate::Waiting) command.broken.push_back(why(*input.station, conflict));
  }
  return result;
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
