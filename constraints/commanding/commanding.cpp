// Executions in order of time, each held against what the station file says about when it may run.

#include "constraints/commanding/commanding.h"

#include <algorithm>

namespace cairn {

namespace {

struct Execution {
  Instant time;
  CommandId command;
  TimedCommandId id;  // invalid: of an earlier load
};

class Checker {
 public:
  explicit Checker(const CommandingInput& input) : input_(input), station_(*input.station) {
    const std::vector<TimedCommand>& commands = input.timeline->commands;
    for (std::uint32_t i = 0; i < commands.size(); ++i) {
      executions_.push_back({commands[i].time, commands[i].command, TimedCommandId{i}});
    }
    if (input.carried != nullptr) {
      for (const CarriedEntry& entry : *input.carried) executions_.push_back({entry.time, entry.command, {}});
    }
    std::stable_sort(executions_.begin(), executions_.end(),
                     [](const Execution& a, const Execution& b) { return a.time < b.time; });
  }

  std::vector<Finding> run() {
    for (std::size_t i = 0; i < station_.commands.size(); ++i) {
      const CommandId id = station_.commands.id_at(i);
      if (station_.commands[id].two_step) check_two_step(id);
      if (station_.commands[id].only_in_window) check_window(id);
    }
    for (const Inhibit& inhibit : station_.inhibits) check_inhibit(inhibit);
    if (station_.last_resort) check_last_resort(*station_.last_resort);
    return std::move(findings_);
  }

 private:
  // Margin in seconds; fails below 0.
  static Finding made(std::string_view code, std::string subject, Duration margin, Instant time,
                      Origin origin) {
    Finding finding;
    finding.code = code;
    finding.check = CheckKind::Commanding;
    finding.subject = std::move(subject);
    finding.assurance = Assurance::Guaranteed;
    finding.dimension = dimensions::duration;
    finding.margin = margin.seconds();
    finding.verdict = margin.nanoseconds >= 0 ? Verdict::Holds : Verdict::Fails;
    finding.time = finding.interval_begin = finding.interval_end = time;
    finding.limit_origin = origin;
    return finding;
  }

  static void blame(Finding& finding, const Execution& execution) {
    if (execution.id.is_valid()) finding.cause = {execution.id};
  }

  // Only what this load sends, or what earlier loads left for its span, is looked at.
  [[nodiscard]] bool is_ours(const Execution& execution) const {
    return execution.id.is_valid() || execution.time >= input_.timeline->begin;
  }

  void keep_least(std::optional<Finding>& least, Finding finding) {
    if (finding.verdict == Verdict::Fails) {
      findings_.push_back(std::move(finding));
      has_failed_ = true;
    } else if (!least || finding.margin < least->margin) {
      least = std::move(finding);
    }
  }
  void finish(std::optional<Finding>& least) {
    if (least && !has_failed_) findings_.push_back(std::move(*least));
    least.reset();
    has_failed_ = false;
  }

  void check_two_step(CommandId act) {
    const CommandDefinition& definition = station_.commands[act];
    const TwoStep& step = *definition.two_step;
    const std::string name = full_name(station_, act);
    const std::string arm_name = full_name(station_, step.arm);
    const Duration tick = tick_uncertainty(station_.clock);
    const Duration apart = tick + tick;
    std::optional<Finding> least;
    const Execution* armed = nullptr;
    bool is_used = false;
    // What an arming leads to is known when it is used, taken back, or over.
    const auto close = [&](Instant now) {
      if (armed == nullptr) return;
      const Instant over = armed->time + step.within;
      if (!is_used && now > over && armed->time >= input_.timeline->begin && over <= input_.timeline->end) {
        Finding finding = made("commanding/left-armed", name, Duration{-1}, armed->time, definition.origin);
        finding.has_margin = false;
        finding.limit = step.within.seconds();
        finding.detail = step.disarm.is_valid()
                             ? "neither it nor " + full_name(station_, step.disarm) + " follows " + arm_name
                             : "it does not follow " + arm_name;
        finding.interval_end = over;
        blame(finding, *armed);
        keep_least(least, std::move(finding));
      }
      if (now > over) armed = nullptr;
    };
    for (const Execution& execution : executions_) {
      if (execution.command == act) {
        if (is_ours(execution)) {
          const bool was = armed != nullptr;
          const Duration margin = was ? step.within - (execution.time - armed->time) - apart : Duration{-1};
          Finding finding = made("commanding/not-armed", name, margin, execution.time, definition.origin);
          finding.limit = step.within.seconds();
          finding.has_margin = was;
          if (was) finding.value = (execution.time - armed->time).seconds();
          if (finding.verdict == Verdict::Fails) {
            finding.detail = was ? arm_name + " runs too long before" : arm_name + " does not run before";
            blame(finding, execution);
          }
          keep_least(least, std::move(finding));
        }
        is_used = is_used || (armed != nullptr && execution.time <= armed->time + step.within);
      }
      close(execution.time);
      if (execution.command == step.arm) {
        armed = &execution;
        is_used = false;
      } else if (step.disarm.is_valid() && execution.command == step.disarm) {
        armed = nullptr;
      }
    }
    close(input_.timeline->end + Duration{1});
    finish(least);
  }

  void check_window(CommandId command) {
    const CommandDefinition& definition = station_.commands[command];
    std::optional<Finding> least;
    for (const Execution& execution : executions_) {
      if (execution.command != command || !is_ours(execution)) continue;
      const Duration off = clock_uncertainty(station_.clock, execution.time);
      // The window in which it keeps furthest from both ends.
      std::optional<Duration> best;
      for (std::size_t i = 0; i < station_.windows.size(); ++i) {
        const Window& window = station_.windows[station_.windows.id_at(i)];
        const Duration margin = std::min(execution.time - window.opens, window.closes - execution.time) - off;
        if (!best || margin > *best) best = margin;
      }
      Finding finding = made("commanding/no-window", full_name(station_, command),
                             best.value_or(Duration{-1}), execution.time, definition.origin);
      finding.has_margin = best.has_value();
      if (finding.verdict == Verdict::Fails) blame(finding, execution);
      keep_least(least, std::move(finding));
    }
    finish(least);
  }

  void check_inhibit(const Inhibit& inhibit) {
    struct Stretch {
      Instant from;
      Instant to;
    };
    std::vector<Stretch> stretches;
    const auto around = [&](Instant from, Instant to) {
      stretches.push_back({from - inhibit.before, to + inhibit.after});
    };
    if (inhibit.kind == InhibitKind::Windows) {
      for (std::size_t i = 0; i < station_.windows.size(); ++i) {
        const Window& window = station_.windows[station_.windows.id_at(i)];
        if (inhibit.target.empty() || station_.antennas[window.antenna].name == inhibit.target) {
          around(window.opens, window.closes);
        }
      }
    } else if (inhibit.kind == InhibitKind::Mark) {
      if (input_.marks != nullptr) {
        for (const NamedInstant& mark : *input_.marks) {
          if (mark.name == inhibit.target) around(mark.time, mark.time);
        }
      }
    } else {
      for (const StationEvent& event : station_.events) {
        if (event.name == inhibit.target) around(event.time, event.time);
      }
    }
    std::optional<Finding> least;
    for (const Execution& execution : executions_) {
      if (!is_ours(execution)) continue;
      if (std::find(inhibit.commands.begin(), inhibit.commands.end(), execution.command) ==
          inhibit.commands.end()) {
        continue;
      }
      const Duration off = clock_uncertainty(station_.clock, execution.time);
      for (const Stretch& stretch : stretches) {
        // How far outside it stays; less than nothing inside.
        const Duration margin = std::max(stretch.from - execution.time, execution.time - stretch.to) - off;
        Finding finding = made("commanding/inhibited", inhibit.name, margin, execution.time, inhibit.origin);
        if (finding.verdict == Verdict::Fails) {
          finding.interval_begin = stretch.from;
          finding.interval_end = stretch.to;
          finding.detail = inhibit.why;
          blame(finding, execution);
        }
        keep_least(least, std::move(finding));
      }
    }
    finish(least);
  }

  void check_last_resort(const LastResort& resort) {
    // What is in the table after the last uplink, in the order in which it will run.
    const Instant uplink = input_.last_uplink.value_or(input_.timeline->begin);
    std::vector<const Execution*> waiting;
    for (const Execution& execution : executions_) {
      if (execution.time > uplink) waiting.push_back(&execution);
    }
    const std::size_t count = resort.commands.size();
    bool same = waiting.size() >= count;
    for (std::size_t i = 0; same && i < count; ++i) {
      same = waiting[waiting.size() - count + i]->command == resort.commands[i];
    }
    if (!same) {
      Finding finding =
          made("commanding/last-resort", "last entries", Duration{-1}, input_.timeline->end, resort.origin);
      finding.has_margin = false;
      finding.detail = "the table's last entries are not ";
      for (std::size_t i = 0; i < count; ++i) {
        finding.detail += (i == 0 ? "" : ", ") + full_name(station_, resort.commands[i]);
      }
      if (!waiting.empty()) blame(finding, *waiting.back());
      findings_.push_back(std::move(finding));
      return;
    }
    const Execution& first = *waiting[waiting.size() - count];
    Finding finding = made("commanding/last-resort", "last entries", first.time - uplink - resort.after,
                           first.time, resort.origin);
    finding.value = (first.time - uplink).seconds();
    finding.limit = resort.after.seconds();
    if (finding.verdict == Verdict::Fails) {
      finding.detail = "the first of the last entries runs too early";
      blame(finding, first);
    }
    findings_.push_back(std::move(finding));
  }

  const CommandingInput& input_;
  const Station& station_;
  std::vector<Execution> executions_;
  std::vector<Finding> findings_;
  bool has_failed_ = false;
};

}  // namespace

std::vector<Finding> check_commanding(const CommandingInput& input) { return Checker(input).run(); }

}  // namespace cairn
