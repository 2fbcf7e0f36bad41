// Which entries are meant, by command, time and arguments; then the load before is predicted once more
// without them, from the state in which its plan says that it began.

#include "compiler/command/withdraw.h"

#include <fmt/format.h>

#include <algorithm>

#include "compiler/text/catalogue.h"
#include "compiler/uplink/uplink.h"

namespace cairn {

namespace {

bool is_same(const CarriedEntry& a, const CarriedEntry& b) {
  return a.command == b.command && a.time == b.time && a.sequence_count == b.sequence_count;
}

class Matching {
 public:
  Matching(const WithdrawInput& input, const EarlierLoad& earlier, Diagnostics& diagnostics)
      : input_(input), station_(input.station->station), earlier_(earlier), diagnostics_(diagnostics) {}

  // One entry for each, or fewer when something was reported.
  std::vector<CarriedEntry> run() {
    std::vector<CarriedEntry> entries;
    for (std::size_t i = 0; i < input_.withdrawals->size(); ++i) {
      const Withdrawal& wanted = (*input_.withdrawals)[i];
      std::vector<const CarriedEntry*> found = at_time(wanted);
      const bool any_then = !found.empty();
      // Words name an entry by command and time alone.
      const bool alike = station_.link.profile == LinkProfile::Word && found.size() > 1;
      std::erase_if(found, [&](const CarriedEntry* entry) { return !has_arguments(*entry, wanted); });
      if (found.empty()) {
        none(wanted, any_then);
      } else if (alike || found.size() > 1) {
        many(wanted, at_time(wanted), alike);
      } else if (before_its_plan(*found.front())) {
        too_early(wanted);
      } else if (std::any_of(entries.begin(), entries.end(),
                             [&](const CarriedEntry& one) { return is_same(one, *found.front()); })) {
        diagnostics_.report(diagnostics::WithdrawTwice, wanted.source, named(wanted))
            .hint("keep one of the two");
      } else {
        entries.push_back(*found.front());
      }
    }
    return entries;
  }

 private:
  [[nodiscard]] std::string utc(Instant time) const { return format_utc_exact(time, *input_.leap_seconds); }
  [[nodiscard]] std::string named(const Withdrawal& wanted) const {
    return full_name(station_, wanted.command);
  }

  [[nodiscard]] std::string shown(const CarriedEntry& entry) const {
    const CommandDefinition& definition = station_.commands[entry.command];
    std::string text = full_name(station_, entry.command);
    for (std::size_t a = 0; a < entry.arguments.size(); ++a) {
      text += fmt::format(" {}={}", definition.arguments[a].name,
                          show_argument(definition.arguments[a], entry.arguments[a]));
    }
    return text + " at " + utc(entry.time);
  }

  // The station runs it at the time that its code can say.
  [[nodiscard]] std::vector<const CarriedEntry*> at_time(const Withdrawal& wanted) const {
    const Instant time = representable_time(station_.clock, wanted.time, *input_.leap_seconds);
    std::vector<const CarriedEntry*> found;
    for (const CarriedEntry& entry : input_.before->carried) {
      if (entry.command == wanted.command && entry.time == time) found.push_back(&entry);
    }
    return found;
  }

  static bool has_arguments(const CarriedEntry& entry, const Withdrawal& wanted) {
    for (std::size_t a = 0; a < wanted.arguments.size(); ++a) {
      if (wanted.arguments[a] && wanted.arguments[a]->raw != entry.arguments[a].raw) return false;
    }
    return true;
  }

  // Its effects are in the state in which the load before began.
  [[nodiscard]] bool before_its_plan(const CarriedEntry& entry) const {
    return std::none_of(earlier_.commands.begin(), earlier_.commands.end(),
                        [&](const CarriedEntry& one) { return is_same(one, entry); });
  }

  void none(const Withdrawal& wanted, bool any_then) {
    auto report = diagnostics_.report(diagnostics::WithdrawNoEntry, wanted.source, named(wanted),
                                      utc(wanted.time), input_.path);
    std::vector<const CarriedEntry*> same;
    for (const CarriedEntry& entry : input_.before->carried) {
      if (entry.command == wanted.command) same.push_back(&entry);
    }
    const auto distance = [&](const CarriedEntry* entry) {
      const std::int64_t apart = (entry->time - wanted.time).nanoseconds;
      return apart < 0 ? -apart : apart;
    };
    std::stable_sort(same.begin(), same.end(),
                     [&](const CarriedEntry* a, const CarriedEntry* b) { return distance(a) < distance(b); });
    if (any_then) {
      std::string list;
      for (const CarriedEntry* entry : at_time(wanted))
        list += (list.empty() ? "`" : ", `") + shown(*entry) + "`";
      report.hint("with other arguments there is: " + list);
    } else if (!same.empty()) {
      report.fix(wanted.time_place, utc(same.front()->time), FixKind::Guess,
                 fmt::format("the nearest one there is runs at {}", utc(same.front()->time)));
    } else if (input_.before->carried.empty()) {
      report.hint("that plan leaves nothing in the table");
    } else {
      constexpr std::size_t most = 5;
      const std::vector<CarriedEntry>& all = input_.before->carried;
      std::string list;
      for (std::size_t i = 0; i < std::min(most, all.size()); ++i) {
        list += (list.empty() ? "`" : ", `") + shown(all[all.size() - 1 - i]) + "`";
      }
      report.hint(fmt::format("of this command there is none; the last ones there are: {}", list));
    }
  }

  void many(const Withdrawal& wanted, const std::vector<const CarriedEntry*>& found, bool alike) {
    std::string list;
    for (const CarriedEntry* entry : found) list += (list.empty() ? "`" : ", `") + shown(*entry) + "`";
    diagnostics_
        .report(diagnostics::WithdrawAmbiguous, wanted.source, named(wanted), utc(wanted.time), found.size())
        .hint(alike ? "command words name an entry by its command and time, so the station cannot tell them "
                      "apart: " +
                          list
                    : "say which, by the arguments that tell them apart: " + list);
  }

  void too_early(const Withdrawal& wanted) {
    diagnostics_
        .report(diagnostics::WithdrawNoEntry, wanted.source, named(wanted), utc(wanted.time), input_.path)
        .hint(fmt::format(
            "an earlier load left it, and it runs before the load of that plan begins at {}: plan that load "
            "again, with this line in it",
            utc(earlier_.begin)));
  }

  const WithdrawInput& input_;
  const Station& station_;
  const EarlierLoad& earlier_;
  Diagnostics& diagnostics_;
};

// Every check of the load before, as far as its plan tells: its own rules stand in its sources.
CheckResults checks_without(const Station& station, const EarlierLoad& earlier,
                            const std::vector<CarriedEntry>& withdrawn) {
  std::vector<TimedCommand> commands;
  for (std::size_t i = 0; i < earlier.commands.size(); ++i) {
    const CarriedEntry& entry = earlier.commands[i];
    if (std::any_of(withdrawn.begin(), withdrawn.end(),
                    [&](const CarriedEntry& one) { return is_same(one, entry); })) {
      continue;
    }
    commands.push_back({entry.time, entry.command, entry.arguments, earlier.is_immediate[i]});
  }
  const Timeline timeline = predict(station, earlier.start, earlier.begin, earlier.end, std::move(commands));
  const auto sky = site_sky(station.site, earlier.begin, earlier.end);
  const std::vector<TableUse> uses;  // when they were aboard is settled
  std::vector<NamedInstant> marks;
  for (const auto& [name, time] : earlier.marks) marks.push_back({name, time});
  CheckInput input;
  input.station = &station;
  input.start = &earlier.start;
  input.timeline = &timeline;
  input.sky = sky.get();
  input.table_uses = &uses;
  input.carried = &earlier.carried;
  input.marks = &marks;
  input.last_uplink = earlier.last_uplink;
  return run_checks(input);
}

// What did not hold before is known, and is none of this load's business.
std::vector<Finding> new_failures(const CheckResults& results, const EarlierLoad& earlier,
                                  const LeapSecondTable& leap_seconds) {
  std::vector<Finding> failures;
  for (const Finding& found : results.findings) {
    if (found.verdict == Verdict::Holds) continue;
    const bool known = std::any_of(earlier.failing.begin(), earlier.failing.end(), [&](const auto& row) {
      return row[0] == found.code && row[1] == found.subject &&
             (row[2] == to_word(Verdict::Fails) || row[2] == to_word(found.verdict));
    });
    if (known) continue;
    Finding failure;
    failure.code = "table/without";
    failure.check = CheckKind::Table;
    failure.subject = fmt::format("{} {}", found.code, found.subject);
    failure.verdict = Verdict::Fails;
    failure.has_margin = false;
    failure.time = failure.interval_begin = failure.interval_end = found.time;
    failure.limit_origin = found.limit_origin;
    failure.detail =
        fmt::format("`{}` of `{}` {} at {}{}{}", found.code, found.subject,
                    found.verdict == Verdict::Fails ? "fails" : "is not proven",
                    format_utc(found.time, leap_seconds), found.detail.empty() ? "" : ": ", found.detail);
    failures.push_back(std::move(failure));
  }
  if (failures.empty()) {
    Finding good;
    good.code = "table/without";
    good.check = CheckKind::Table;
    good.subject = "the load before";
    good.has_margin = false;
    good.time = good.interval_begin = good.interval_end = earlier.begin;
    failures.push_back(std::move(good));
  }
  return failures;
}

}  // namespace

std::optional<Withdrawn> withdraw(const WithdrawInput& input, Diagnostics& diagnostics) {
  const Station& station = input.station->station;
  const auto earlier = read_earlier_load(input.text, station, *input.leap_seconds);
  if (!earlier) {
    diagnostics.report(diagnostics::InputPlan, {}, input.path, earlier.error())
        .hint("to withdraw what it left, that load's plan must be built again with this version");
    return std::nullopt;
  }
  Withdrawn result;
  result.entries = Matching(input, *earlier, diagnostics).run();
  if (result.entries.size() != input.withdrawals->size()) return std::nullopt;
  CheckResults results = checks_without(station, *earlier, result.entries);
  result.start = std::move(results.end_state);
  if (result.start.charge && station.power.storage)
    result.start.charge->most = station.power.storage->capacity.high;
  result.findings = new_failures(results, *earlier, *input.leap_seconds);
  return result;
}

}  // namespace cairn
