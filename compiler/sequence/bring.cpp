// Plans `bring`. See bring.h for the ranking.
//
// State graphs are small (tens of states), so each label carries its whole path and its own tracker.

#include "compiler/sequence/bring.h"

#include <algorithm>
#include <map>
#include <tuple>

namespace cairn {

Instant ceil_to_tick(Instant time, Duration tick) {
  if (tick.nanoseconds <= 1) return time;
  const std::int64_t rest = time.tai_nanoseconds % tick.nanoseconds;
  if (rest == 0) return time;
  return {time.tai_nanoseconds - rest + (rest > 0 ? tick.nanoseconds : 0)};
}

Instant round_to_tick(Instant time, Duration tick) {
  if (tick.nanoseconds <= 1) return time;
  std::int64_t rest = time.tai_nanoseconds % tick.nanoseconds;
  if (rest < 0) rest += tick.nanoseconds;
  const std::int64_t down = time.tai_nanoseconds - rest;
  return {rest >= tick.nanoseconds - rest ? down + tick.nanoseconds : down};
}

namespace {

struct Label {
  Instant time;                     // when the part rests in its state
  std::vector<std::uint32_t> path;  // command ids, for the dictionary order
  std::vector<BringStep> steps;
  StateTracker tracker;
  StateId state;

  [[nodiscard]] bool before(const Label& other) const {
    return std::forward_as_tuple(time, path.size(), path) <
           std::forward_as_tuple(other.time, other.path.size(), other.path);
  }
};

// The arguments that make a move's conditions true; the name of an argument that has no value otherwise.
struct Arguments {
  std::vector<ArgumentValue> values;
  std::string missing;
};

Arguments arguments_for(const CommandDefinition& definition, const Move& move) {
  Arguments result;
  for (std::uint32_t i = 0; i < definition.arguments.size(); ++i) {
    const ArgumentDefinition& argument = definition.arguments[i];
    ArgumentValue value;
    const auto wanted = std::find_if(move.when.begin(), move.when.end(),
                                     [i](const MoveCondition& condition) { return condition.argument == i; });
    if (wanted != move.when.end()) {
      value.number = wanted->number;
    } else if (argument.type == ArgumentType::Choice && argument.default_choice) {
      for (const Choice& choice : argument.choices) {
        if (choice.name == *argument.default_choice) value.number = static_cast<double>(choice.raw);
      }
    } else if (argument.default_number) {
      value.number = *argument.default_number;
    } else {
      result.missing = argument.name;
      return result;
    }
    if (argument.type == ArgumentType::Choice) {
      for (const Choice& choice : argument.choices) {
        if (static_cast<double>(choice.raw) == value.number) value.raw = choice.raw;
      }
    } else {
      value.raw = encode_argument(argument, value.number).value_or(0);
    }
    result.values.push_back(value);
  }
  return result;
}

class Planner {
 public:
  Planner(const Station& station, PartId part, StateId goal) : station_(&station), part_(part), goal_(goal) {}

  BringPlan run(const StateTracker& tracker, Instant now) {
    BringPlan plan;
    Standing standing = tracker.standing(part_, now);
    // Wait until a move under way has surely arrived. The clock's own deviation is common to both commands,
    // and the half tick that each may be off is left out here as it is between the commands of a chain.
    const Instant arrival = standing.until_latest - tick_uncertainty(station_->clock);
    const Instant begin = std::max(now, ceil_to_tick(arrival, station_->clock.tick));
    if (standing.moving_to.is_valid()) standing.state = standing.moving_to;
    plan.start = standing.state;
    plan.start_known = standing.state.is_valid();
    open_.push_back(Label{begin, {}, {}, tracker, standing.state});
    while (!open_.empty()) {
      auto best = open_.begin();
      for (auto it = open_.begin() + 1; it != open_.end(); ++it) {
        if (it->before(*best)) best = it;
      }
      Label label = std::move(*best);
      open_.erase(best);
      if (std::find(plan.reachable.begin(), plan.reachable.end(), label.state) != plan.reachable.end())
        continue;
      plan.reachable.push_back(label.state);
      if (label.state == goal_) {
        plan.found = true;
        plan.ends = label.time;
        plan.steps = std::move(label.steps);
        return plan;
      }
      leave(label, plan);
    }
    return plan;
  }

 private:
  void leave(const Label& label, BringPlan& plan) {
    for (std::uint32_t i = 0; i < station_->commands.size(); ++i) {
      const CommandId id = station_->commands.id_at(i);
      const CommandDefinition& definition = station_->commands[id];
      for (std::size_t m = 0; m < definition.moves.size(); ++m) {
        const Move& move = definition.moves[m];
        if (move.part != part_ || move.to == label.state) continue;
        const bool fits = move.from.empty() ||
                          std::find(move.from.begin(), move.from.end(), label.state) != move.from.end();
        if (fits) take(label, id, definition, m, plan);
      }
    }
  }

  void take(const Label& label, CommandId id, const CommandDefinition& definition, std::size_t index,
            BringPlan& plan) {
    const Move& move = definition.moves[index];
    Arguments arguments = arguments_for(definition, move);
    if (!arguments.missing.empty()) {
      plan.blocked.push_back({id,
                              label.state,
                              "its argument `" + arguments.missing + "` has no default",
                              definition.origin,
                              {},
                              {}});
      return;
    }
    TimedCommand command{label.time, id, std::move(arguments.values)};
    const auto conflicts = label.tracker.conflicts(TimedCommandId{}, command);
    if (!conflicts.empty()) {
      BlockedStep blocked{id, label.state, reason(definition, conflicts.front()), definition.origin, {}, {}};
      if (conflicts.front().kind == ConflictKind::NeedNotMet) {
        const StateCondition& need = definition.needs[conflicts.front().need];
        blocked.needs = need.part;
        blocked.in = need.states;
      }
      plan.blocked.push_back(std::move(blocked));
      return;
    }
    const auto moves = label.tracker.applicable_moves(command);
    if (std::find(moves.begin(), moves.end(), static_cast<std::uint32_t>(index)) == moves.end()) return;
    Label next = label;
    next.tracker.apply(TimedCommandId{}, command);
    const Duration takes = duration_from_seconds(move.takes.high).value_or(Duration{});
    const Duration step = std::max({definition.duration, takes, station_->table.least_spacing});
    next.time = ceil_to_tick(label.time + step, station_->clock.tick);
    next.path.push_back(id.value);
    next.steps.push_back({std::move(command)});
    next.state = move.to;
    open_.push_back(std::move(next));
  }

  std::string reason(const CommandDefinition& definition, const Conflict& conflict) {
    switch (conflict.kind) {
      case ConflictKind::NeedNotMet:
        return "it needs `" + definition.needs[conflict.need].text + "`, but `" +
               full_name(*station_, conflict.part) + "` is " +
               (conflict.found.is_valid() ? "`" + station_->states[conflict.found].name + "`" : "not known");
      case ConflictKind::NoSuchMove:
        return "`" + full_name(*station_, conflict.part) + "` has no move for it";
      case ConflictKind::StateUnknown:
        return "the state of `" + full_name(*station_, conflict.part) + "` is not known";
      case ConflictKind::PartMoving:
        return "`" + full_name(*station_, conflict.part) + "` is still moving";
      case ConflictKind::OnceSpent:
        return "it works once only and is spent";
    }
    return {};
  }

  const Station* station_;
  PartId part_;
  StateId goal_;
  std::vector<Label> open_;
};

// With `left` brings before it. Appends them to `first`; false when that is not enough.
bool bring_with(const Station& station, StateTracker& tracker, PartId part, StateId goal, Instant& now,
                int left, std::vector<BringFirst>& first) {
  BringPlan plan = Planner(station, part, goal).run(tracker, now);
  if (plan.found) {
    for (const BringStep& step : plan.steps) tracker.apply(TimedCommandId{}, step.command);
    now = plan.ends;
    return true;
  }
  if (left == 0) return false;
  for (const BlockedStep& blocked : plan.blocked) {
    for (const StateId state : blocked.in) {
      StateTracker trial = tracker;
      Instant at = now;
      std::vector<BringFirst> before = first;
      // What is needed may need something in its turn.
      for (int deeper = 0; deeper < left; ++deeper) {
        if (!bring_with(station, trial, blocked.needs, state, at, deeper, before)) continue;
        before.push_back({blocked.needs, state});
        if (!bring_with(station, trial, part, goal, at, left - 1 - deeper, before)) break;
        tracker = std::move(trial);
        now = at;
        first = std::move(before);
        return true;
      }
    }
  }
  return false;
}

}  // namespace

std::vector<BringFirst> brings_before(const Station& station, const StateTracker& tracker, PartId part,
                                      StateId goal, Instant now) {
  constexpr int most = 3;
  for (int count = 1; count <= most; ++count) {
    StateTracker trial = tracker;
    Instant at = now;
    std::vector<BringFirst> first;
    if (bring_with(station, trial, part, goal, at, count, first)) return first;
  }
  return {};
}

BringPlan plan_bring(const Station& station, const StateTracker& tracker, PartId part, StateId goal,
                     Instant now) {
  return Planner(station, part, goal).run(tracker, now);
}

}  // namespace cairn
