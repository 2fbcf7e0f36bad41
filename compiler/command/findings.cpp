// One message for each finding that fails or is unproven, from the catalogue.

#include "compiler/command/findings.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "compiler/command/stated_checks.h"
#include "compiler/text/catalogue.h"

namespace cairn {

namespace {

class Reporter {
 public:
  Reporter(const Compiled& compiled, const LeapSecondTable& leap_seconds, Diagnostics& diagnostics)
      : compiled_(compiled), leap_seconds_(leap_seconds), diagnostics_(diagnostics) {}

  void report(const Finding& finding) {
    const Span at = primary(finding);
    const std::string time = utc(finding.time);
    const std::string value = shown(finding, finding.value);
    const std::string limit = shown(finding, finding.limit);
    const std::string_view code = finding.code;
    if (finding.verdict == Verdict::Unproven &&
        (finding.check == CheckKind::Power || finding.check == CheckKind::Heat)) {
      report_unproven(finding, at);
    } else if (code == "power/reserve") {
      finish(
          finding,
          diagnostics_.report(diagnostics::PowerReserve, at, value, time, limit).hint(power_hint(finding)));
    } else if (code == "power/storage") {
      finish(
          finding,
          diagnostics_.report(diagnostics::PowerStorage, at, value, time, limit).hint(storage_hint(finding)));
    } else if (code == "heat/survival") {
      finish(finding, diagnostics_.report(diagnostics::HeatSurvival, at, finding.subject, value, time, limit)
                          .hint(heat_hint(finding)));
    } else if (code == "heat/operating") {
      finish(finding, diagnostics_.report(diagnostics::HeatOperating, at, finding.subject, value, time, limit)
                          .hint(heat_hint(finding)));
    } else if (code == "modes/need") {
      finish(finding, diagnostics_.report(diagnostics::ModesNeed, at, finding.subject, time, finding.detail)
                          .hint(need_hint(finding)));
    } else if (code == "modes/no-move") {
      finish(finding, diagnostics_.report(diagnostics::ModesNoMove, at, finding.subject, time, finding.detail)
                          .hint(move_hint(finding)));
    } else if (code == "modes/unknown-state") {
      finish(finding,
             diagnostics_.report(diagnostics::ModesUnknownState, at, finding.subject, time, finding.detail)
                 .hint("send a command first that sets the state whatever it was, or give the station file "
                       "its initial state"));
    } else if (code == "modes/moving") {
      finish(finding, diagnostics_.report(diagnostics::ModesMoving, at, finding.subject, time, finding.detail)
                          .hint(moving_hint(finding)));
    } else if (code == "modes/once") {
      finish(finding, diagnostics_.report(diagnostics::ModesOnce, at, finding.subject, time, finding.detail)
                          .hint("take the second one out; what it does cannot be done again"));
    } else if (code == "modes/exclusion") {
      const std::string length = to_text(finding.interval_end - finding.interval_begin);
      finish(finding, diagnostics_
                          .report(diagnostics::ModesExclusion, at, finding.subject,
                                  utc(finding.interval_begin), length, finding.detail)
                          .hint(fmt::format("it holds when one ends {} earlier, or the other begins {} later",
                                            length, length)));
    } else if (code == "table/entries") {
      finish(finding, diagnostics_.report(diagnostics::TableEntries, at, value, time, limit)
                          .hint(table_hint(finding))
                          .hint(conflict_hint()));
    } else if (code == "table/bytes") {
      finish(finding, diagnostics_.report(diagnostics::TableBytes, at, value, time, limit)
                          .hint(table_hint(finding))
                          .hint(conflict_hint()));
    } else if (code == "table/late") {
      finish(finding, diagnostics_.report(diagnostics::TableLate, at, time, late_reason(finding))
                          .hint(late_hint(finding))
                          .hint(conflict_hint()));
    } else if (code == "table/horizon") {
      finish(finding, diagnostics_.report(diagnostics::TableHorizon, at, time, value, limit)
                          .hint(fmt::format("let it go up in a window {} later, or run it that much earlier",
                                            show(finding.value - finding.limit, dimensions::duration))));
    } else if (code == "table/lost") {
      finish(
          finding,
          diagnostics_.report(diagnostics::TableLost, at, time, utc(finding.interval_begin), finding.detail)
              .hint("let it run before, or load it after that"));
    } else if (code == "table/contact") {
      finish(finding,
             diagnostics_.report(diagnostics::TableContact, at, time, finding.detail)
                 .hint(finding.has_margin
                           ? fmt::format("it misses by {}: move it into the window, or away from the "
                                         "other one",
                                         show(-finding.margin, dimensions::duration))
                           : std::string("put it into a window, with `mark NAME = window ANTENNA "
                                         "opens` and a block after that, or leave `now` out and it "
                                         "is stored")));
    } else if (code == "table/withdraw") {
      const bool known = finding.has_margin;
      finish(
          finding,
          diagnostics_
              .report(diagnostics::TableWithdraw, withdrawal_place(finding), finding.subject, time,
                      known ? fmt::format("it is received only {} before",
                                          show(finding.value, dimensions::duration))
                            : std::string("no uplink window can carry the request in time"))
              .hint("use an earlier window, with --uplink-from, if there is one that has not been used; else "
                    "leave it, and command what makes up for it"));
    } else if (code == "table/without") {
      finish(
          finding,
          diagnostics_.report(diagnostics::TableWithout, withdrawal_place(finding), finding.detail)
              .hint("withdraw what hangs on it too, or send what it did in another way; what is agreed all "
                    "the same takes a `waive`"));
    } else if (code == "table/time-tag") {
      finish(finding,
             diagnostics_.report(diagnostics::TableTimeTag, at, time)
                 .hint("give the station's clock more `coarse_octets`, or run it before the code wraps"));
    } else if (code == "commanding/not-armed") {
      finish(finding,
             diagnostics_
                 .report(diagnostics::CommandingNotArmed, at, finding.subject, time, finding.detail, limit)
                 .hint("send the arming command first, so long before it at most, with nothing between that "
                       "disarms"));
    } else if (code == "commanding/left-armed") {
      finish(finding,
             diagnostics_
                 .report(diagnostics::CommandingLeftArmed, at, finding.subject, time, finding.detail, limit)
                 .hint("send it, or what disarms, in that time; or do not arm"));
    } else if (code == "commanding/inhibited") {
      finish(finding,
             diagnostics_
                 .report(diagnostics::CommandingInhibited, at, time, finding.subject,
                         utc(finding.interval_begin), utc(finding.interval_end))
                 .hint(finding.detail.empty()
                           ? fmt::format("move it by {} or more", show(-finding.margin, dimensions::duration))
                           : fmt::format("{}: move it by {} or more", finding.detail,
                                         show(-finding.margin, dimensions::duration))));
    } else if (code == "commanding/no-window") {
      finish(finding,
             diagnostics_.report(diagnostics::CommandingNoWindow, at, finding.subject, time)
                 .hint(finding.has_margin
                           ? fmt::format("the nearest window is {} away; `mark` and `window` put it into one",
                                         show(-finding.margin, dimensions::duration))
                           : std::string("the station file has no windows")));
    } else if (code == "commanding/last-resort") {
      finish(finding, diagnostics_.report(diagnostics::CommandingLastResort, at, finding.detail)
                          .hint(finding.has_margin
                                    ? fmt::format("let it run {} later, or send the load so much earlier",
                                                  show(-finding.margin, dimensions::duration))
                                    : std::string("end each load with these commands, far enough ahead")));
    } else if (code == "table/spacing") {
      finish(finding, diagnostics_.report(diagnostics::TableSpacing, at, value, time, limit)
                          .hint(fmt::format("move one of the two by {}; `at about` lets Cairn do so",
                                            show(finding.limit - finding.value, dimensions::duration))));
    } else if (const StatedRule* stated = stated_rule(compiled_, finding)) {
      rule(finding, *stated);
    }
  }

 private:
  void rule(const Finding& finding, const StatedRule& stated) {
    const bool fails = finding.verdict == Verdict::Fails;
    const std::string time = utc(finding.time);
    std::string distance;
    if (finding.has_margin && finding.margin < 0) {
      distance = fmt::format(", by {}", show(-finding.margin, finding.dimension, 4));
    }
    if (stated.kind == StatedKind::Expect) {
      // A command that cannot run has been reported; that its effect is missing need not be said again.
      const auto& conflicts = compiled_.timeline.conflicts;
      if (std::any_of(conflicts.begin(), conflicts.end(),
                      [&](const Conflict& one) { return one.command.value == stated.command; })) {
        return;
      }
      const std::string command =
          full_name(compiled_.station.station, compiled_.load.commands[stated.command].command);
      finish(finding,
             diagnostics_
                 .report(diagnostics::RulesExpect, stated.source, stated.text, to_text(stated.within),
                         command, fails ? "is not predicted" : "is not sure to be met")
                 .hint("people would wait for what does not come: mend the commands before it, or what is "
                       "expected of them"));
      return;
    }
    const std::string kept = fails ? "not met" : "not sure to be met";
    if (stated.kind == StatedKind::Require) {
      finish(finding,
             diagnostics_.report(diagnostics::RulesRequire, stated.source, stated.text, kept, time, distance)
                 .hint(rule_hint(finding)));
    } else {
      finish(finding,
             diagnostics_.report(diagnostics::RulesRule, stated.source, stated.text, kept, time, distance)
                 .hint(stated.why.empty() ? rule_hint(finding) : "its reason: " + stated.why));
    }
  }

  static std::string rule_hint(const Finding& finding) {
    return finding.verdict == Verdict::Fails
               ? "move or mend the commands marked, or what is asked"
               : "it is met for nominal values only: leave more room, or ask for less";
  }

  // Nominal margin and the worst inside the bounds, side by side.
  void report_unproven(const Finding& finding, Span at) {
    const std::string margin = show(finding.margin, finding.dimension, 4);
    const std::string value = shown(finding, finding.guaranteed_value);
    const std::string limit = shown(finding, finding.guaranteed_limit);
    const std::string time = utc(finding.guaranteed_time);
    const std::string missing = fmt::format(
        "{} are missing: plan more margin, or narrow the bounds in the station file that are wider than "
        "what is known",
        show(-finding.guaranteed_margin, finding.dimension, 4));
    if (finding.check == CheckKind::Power) {
      finish(finding, diagnostics_
                          .report(diagnostics::PowerUnproven, at,
                                  finding.code == "power/storage" ? "storage's charge" : "power reserve",
                                  limit, margin, value, time)
                          .hint(missing));
    } else if (finding.has_guaranteed) {
      const std::string kind = finding.code == "heat/survival" ? "survival" : "operating";
      finish(finding,
             diagnostics_
                 .report(diagnostics::HeatUnproven, at, finding.subject, kind, margin, value, time, limit)
                 .hint(missing));
    }
  }

  [[nodiscard]] std::string utc(Instant time) const { return format_utc(time, leap_seconds_); }

  static std::string shown(const Finding& finding, double value) {
    if (finding.check == CheckKind::Heat) return show(value, dimensions::temperature, 5);
    return show(value, finding.dimension, 5);
  }

  [[nodiscard]] Span primary(const Finding& finding) const {
    if (const StatedRule* stated = stated_rule(compiled_, finding)) return stated->source;
    if (finding.cause.empty()) return compiled_.load.name_span;
    return compiled_.load.provenance[finding.cause.back().value].source;
  }

  // The statement that withdraws the entry; of all of them, the first.
  [[nodiscard]] Span withdrawal_place(const Finding& finding) const {
    const std::vector<Withdrawal>& stated = compiled_.load.withdrawals;
    for (std::size_t i = 0; i < stated.size() && i < compiled_.withdrawn.size(); ++i) {
      const CarriedEntry& entry = compiled_.withdrawn[i];
      if (entry.time == finding.time &&
          full_name(compiled_.station.station, entry.command) == finding.subject)
        return stated[i].source;
    }
    return stated.empty() ? compiled_.load.name_span : stated.front().source;
  }

  static std::string power_hint(const Finding& finding) {
    const std::string lacking = show(finding.limit - finding.value, dimensions::power, 4);
    if (finding.cause.empty())
      return fmt::format(
          "{} are missing, and no command of this load is the cause: look at the state the load begins in",
          lacking);
    return fmt::format(
        "{} are missing: move, shorten or leave out the commands marked, or bring a unit to a state that "
        "draws less",
        lacking);
  }

  static std::string storage_hint(const Finding& finding) {
    const std::string lacking = show(finding.limit - finding.value, dimensions::energy, 4);
    return finding.cause.empty() ? fmt::format(
                                       "{} are missing, and no command of this load is the cause: look at "
                                       "what the storage holds "
                                       "as the load begins, and at the loads of the states it begins in",
                                       lacking)
                                 : fmt::format(
                                       "{} are missing: shorten, spread or leave out the commands marked, so "
                                       "that the sources can "
                                       "keep up",
                                       lacking);
  }

  static std::string heat_hint(const Finding& finding) {
    const bool cold = finding.value < finding.limit;
    const std::string by =
        show(std::abs(finding.value - finding.limit), dimensions::temperature_difference, 3);
    if (finding.cause.empty()) {
      return cold ? fmt::format(
                        "it is {} too cold, and no command of this load is the cause: look at its heater, "
                        "its links and the state the load begins in",
                        by)
                  : fmt::format(
                        "it is {} too hot, and no command of this load is the cause: look at its radiator, "
                        "its links and the state the load begins in",
                        by);
    }
    return cold ? fmt::format(
                      "it is {} too cold: leave its heater or its unit on for longer, or move the commands "
                      "marked away from the night",
                      by)
                : fmt::format(
                      "it is {} too hot: shorten or spread the commands marked, or move them away from the "
                      "heat of the day",
                      by);
  }

  static std::string table_hint(const Finding& finding) {
    const bool entries = finding.code == "table/entries";
    return fmt::format(
        "{} too many: spread the commands so that an uplink window lies between them, or take some out",
        entries ? fmt::format("{:.0f} are", finding.value - finding.limit)
                : fmt::format("{:.0f} bytes are", finding.value - finding.limit));
  }

  // What the timeline knows of a command that cannot run; nullptr when it has no more to say.
  [[nodiscard]] const Conflict* conflict_of(const Finding& finding) const {
    if (finding.cause.empty()) return nullptr;
    for (const Conflict& conflict : compiled_.timeline.conflicts) {
      if (conflict.command == finding.cause.back() && conflict.time == finding.time) return &conflict;
    }
    return nullptr;
  }

  [[nodiscard]] std::string bring_to(PartId part, StateId state) const {
    const Station& station = compiled_.station.station;
    return fmt::format("`bring {} to {}`", full_name(station, part), station.states[state].name);
  }

  [[nodiscard]] std::string need_hint(const Finding& finding) const {
    const Conflict* conflict = conflict_of(finding);
    if (conflict != nullptr) {
      const CommandId command = compiled_.timeline.commands[conflict->command.value].command;
      const StateCondition& need = compiled_.station.station.commands[command].needs[conflict->need];
      if (!need.states.empty()) return "before this command: " + bring_to(need.part, need.states.front());
    }
    return "`bring` the part that is wrong to the state it needs, before this command";
  }

  [[nodiscard]] std::string move_hint(const Finding& finding) const {
    const Conflict* conflict = conflict_of(finding);
    if (conflict != nullptr) {
      const CommandId command = compiled_.timeline.commands[conflict->command.value].command;
      for (const Move& move : compiled_.station.station.commands[command].moves) {
        if (move.part != conflict->part) continue;
        if (move.to == conflict->found) return "it is there already: leave this command out";
        return fmt::format("write {} instead, which finds the way from the state it is in",
                           bring_to(move.part, move.to));
      }
    }
    return "use `bring`, which finds the way from the state the unit is in";
  }

  [[nodiscard]] std::string moving_hint(const Finding& finding) const {
    const Conflict* conflict = conflict_of(finding);
    const Occupation* moving =
        conflict == nullptr ? nullptr : occupation_at(compiled_.timeline, conflict->part, conflict->time);
    if (moving == nullptr || !moving->moving_to.is_valid()) {
      return "wait until the move is over: `after D`, or `bring`, which keeps the times";
    }
    return fmt::format(
        "the move has surely ended {} later, at {}: wait that long with `after`, or use `bring`, which waits "
        "by itself",
        to_text(moving->end.latest - conflict->time), utc(moving->end.latest));
  }

  [[nodiscard]] std::string late_reason(const Finding& finding) const {
    if (!finding.has_margin) return finding.detail;
    return fmt::format("it comes aboard {} before, {} are asked for",
                       show(finding.value, dimensions::duration), show(finding.limit, dimensions::duration));
  }

  // The first window after the one that would have been needed, and when the command could run then.
  [[nodiscard]] std::string late_hint(const Finding& finding) const {
    const Station& station = compiled_.station.station;
    const CommandLink& link = station.link;
    const Duration guard = station.table.load_guard;
    for (std::size_t i = 0; i < station.windows.size(); ++i) {
      const WindowId id = station.windows.id_at(i);
      const Window& window = station.windows[id];
      const Instant from = window.opens + link.set_up + link.margin;
      constexpr Duration moment = seconds_to_duration(60);  // for its packet and the way there
      if (from + moment + guard <= finding.time || from + moment > window.closes - link.margin) continue;
      return fmt::format("{} opens at {}: from {} on it could run", station.antennas[window.antenna].name,
                         utc(window.opens), utc(from + moment + guard));
    }
    return "no later uplink window is known: add windows to the station file";
  }

  static std::string list_of(const std::vector<std::string>& words) {
    std::string out;
    for (std::size_t i = 0; i < words.size(); ++i) {
      out += (i == 0 ? "" : i + 1 == words.size() ? " and " : ", ") + words[i];
    }
    return out;
  }

  // The commands and windows in conflict, and what was tried and works.
  [[nodiscard]] std::string conflict_hint() const {
    if (!compiled_.conflict) return "as a whole the load can be staged: look at the commands marked alone";
    const StagingConflict& conflict = *compiled_.conflict;
    const Station& station = compiled_.station.station;
    const auto window_of = [&](WindowId id) {
      return fmt::format("{} at {}", station.antennas[station.windows[id].antenna].name,
                         utc(station.windows[id].opens));
    };
    constexpr std::size_t most = 6;
    std::vector<std::string> numbers;
    for (const TimedCommandId id : conflict.commands) {
      if (numbers.size() == most) {
        numbers.push_back(fmt::format("{} more", conflict.commands.size() - most));
        break;
      }
      numbers.push_back(std::to_string(id.value + 1));
    }
    std::vector<std::string> windows;
    for (const WindowId id : conflict.windows) {
      if (windows.size() == most) {
        windows.push_back(fmt::format("{} more", conflict.windows.size() - most));
        break;
      }
      windows.push_back(window_of(id));
    }
    std::string text = fmt::format("{} {} cannot all be staged{}, and could without any one of them",
                                   conflict.commands.size() == 1 ? "command" : "commands", list_of(numbers),
                                   windows.empty() ? ": no window reaches them" : " in " + list_of(windows));
    if (conflict.commands.size() == 1) {
      text = fmt::format("command {} alone cannot be staged{}", numbers.front(),
                         windows.empty() ? ": no window reaches it" : " in " + list_of(windows));
    }
    std::vector<std::string> mends;
    if (conflict.entries) mends.push_back(fmt::format("a table of {} entries", *conflict.entries));
    if (conflict.bytes) mends.push_back(fmt::format("a table of {} bytes", *conflict.bytes));
    if (conflict.later) {
      mends.push_back(fmt::format("running {} {} later",
                                  conflict.commands.size() == 1 ? "it" : "the last of them",
                                  to_text(*conflict.later)));
    }
    if (conflict.earlier) {
      mends.push_back(fmt::format("going up from {} on (--uplink-from)", window_of(*conflict.earlier)));
    }
    if (mends.empty()) return text + "; no one change of table, time or first window would do";
    for (std::size_t i = 0; i < mends.size(); ++i)
      text += (i > 0               ? "; "
               : mends.size() == 1 ? "; this would do: "
                                   : "; each of these would do: ") +
              mends[i];
    return text;
  }

  void finish(const Finding& finding, DiagnosticBuilder builder) {
    const Span at = primary(finding);
    constexpr std::size_t most_labels = 6;
    std::vector<Span> shown_spans;
    for (const TimedCommandId id : finding.cause) {
      const Provenance& from = compiled_.load.provenance[id.value];
      const TimedCommand& command = compiled_.load.commands[id.value];
      const std::string words =
          fmt::format("command {}, {} at {}", id.value + 1,
                      full_name(compiled_.station.station, command.command), utc(command.time));
      if (from.source == at) {
        if (id == finding.cause.back()) builder.under(words);
        continue;
      }
      if (std::find(shown_spans.begin(), shown_spans.end(), from.source) != shown_spans.end()) continue;
      if (shown_spans.size() == most_labels) continue;
      shown_spans.push_back(from.source);
      builder.cause(from.source, words);
      for (const Span call : from.calls) builder.context(call, "called here");
    }
    builder.context(compiled_.station.place(finding.limit_origin), "the station file sets this");
    if (const StatedRule* stated = stated_rule(compiled_, finding)) {
      for (const Span call : stated->calls) builder.context(call, "called here");
    }
    const auto note =
        compiled_.waiver_notes.find(static_cast<std::size_t>(&finding - compiled_.results.findings.data()));
    if (note != compiled_.waiver_notes.end()) builder.hint(note->second);
  }

  const Compiled& compiled_;
  const LeapSecondTable& leap_seconds_;
  Diagnostics& diagnostics_;
};

}  // namespace

void report_findings(const Compiled& compiled, const LeapSecondTable& leap_seconds,
                     Diagnostics& diagnostics) {
  Reporter reporter(compiled, leap_seconds, diagnostics);
  for (const Finding& finding : compiled.results.findings) {
    const bool of_rule = stated_rule(compiled, finding) != nullptr;
    const bool bounded = finding.check == CheckKind::Power || finding.check == CheckKind::Heat;
    const bool wrong =
        finding.verdict == Verdict::Fails || ((of_rule || bounded) && finding.verdict == Verdict::Unproven);
    const bool said =
        compiled.said.contains(static_cast<std::size_t>(&finding - compiled.results.findings.data()));
    if (wrong && finding.waiver == 0 && !said) reporter.report(finding);
  }
}

}  // namespace cairn
