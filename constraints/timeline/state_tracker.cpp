// The state machine: one standing per part, changed only by legal commands.

#include "constraints/timeline/state_tracker.h"

#include <algorithm>

namespace cairn {

namespace {

Duration rounded(double seconds) { return duration_from_seconds(seconds).value_or(Duration{}); }

bool condition_holds(const MoveCondition& condition, const TimedCommand& command) {
  return condition.argument < command.arguments.size() &&
         command.arguments[condition.argument].number == condition.number;
}

}  // namespace

bool is_selected(const Move& move, const TimedCommand& command) {
  return std::all_of(move.when.begin(), move.when.end(),
                     [&](const MoveCondition& c) { return condition_holds(c, command); });
}

StateTracker::StateTracker(const Station& station, const StartState& start)
    : station_(&station), once_spent_(start.once_spent), once_by_(start.once_spent.size()) {
  parts_.reserve(station.parts.size());
  for (std::size_t i = 0; i < station.parts.size(); ++i) {
    PartStanding standing{};
    if (i < start.parts.size()) standing.state = start.parts[i];
    parts_.push_back(standing);
  }
}

Standing StateTracker::standing(PartId part, Instant time) const {
  const PartStanding& now = parts_[part.value];
  Standing result{now.state, now.moving_to, now.until, now.until_latest, now.cause};
  if (now.moving_to.is_valid() && time >= now.until) {
    result.state = now.moving_to;
    result.moving_to = {};
  }
  return result;
}

std::vector<std::uint32_t> StateTracker::applicable_moves(const TimedCommand& command) const {
  std::vector<std::uint32_t> result;
  const CommandDefinition& definition = station_->commands[command.command];
  std::vector<PartId> taken;
  for (std::uint32_t i = 0; i < definition.moves.size(); ++i) {
    const Move& move = definition.moves[i];
    if (!is_selected(move, command)) continue;
    if (std::find(taken.begin(), taken.end(), move.part) != taken.end()) continue;
    const Standing now = standing(move.part, command.time);
    if (now.moving_to.is_valid()) continue;
    const bool fits =
        move.from.empty() ||
        (now.state.is_valid() && std::find(move.from.begin(), move.from.end(), now.state) != move.from.end());
    if (!fits) continue;
    taken.push_back(move.part);
    result.push_back(i);
  }
  return result;
}

std::vector<Conflict> StateTracker::conflicts(TimedCommandId id, const TimedCommand& command) const {
  std::vector<Conflict> result;
  const CommandDefinition& definition = station_->commands[command.command];
  const auto conflict = [&](ConflictKind kind, PartId part, StateId found, std::uint32_t need,
                            TimedCommandId earlier) {
    result.push_back({kind, id, part, found, need, earlier, command.time});
  };

  if (definition.once) {
    const auto spent = std::find(once_spent_.begin(), once_spent_.end(), command.command);
    if (spent != once_spent_.end()) {
      conflict(ConflictKind::OnceSpent, {}, {}, 0,
               once_by_[static_cast<std::size_t>(spent - once_spent_.begin())]);
    }
  }
  for (std::uint32_t i = 0; i < definition.needs.size(); ++i) {
    const StateCondition& need = definition.needs[i];
    const Standing now = standing(need.part, command.time);
    if (now.moving_to.is_valid()) {
      // On the move between two states that both satisfy the need: no harm.
      if (contains(need, now.state) && contains(need, now.moving_to)) continue;
      conflict(ConflictKind::NeedNotMet, need.part, now.moving_to, i, now.cause);
    } else if (!now.state.is_valid()) {
      conflict(ConflictKind::StateUnknown, need.part, {}, i, {});
    } else if (!contains(need, now.state)) {
      conflict(ConflictKind::NeedNotMet, need.part, now.state, i, now.cause);
    }
  }

  // Every part that the command would move under these arguments must have a move that fits.
  const std::vector<std::uint32_t> moves = applicable_moves(command);
  std::vector<PartId> seen;
  for (const Move& move : definition.moves) {
    if (!is_selected(move, command)) continue;
    if (std::find(seen.begin(), seen.end(), move.part) != seen.end()) continue;
    seen.push_back(move.part);
    const bool moved = std::any_of(moves.begin(), moves.end(),
                                   [&](std::uint32_t m) { return definition.moves[m].part == move.part; });
    if (moved) continue;
    const Standing now = standing(move.part, command.time);
    if (now.moving_to.is_valid()) {
      conflict(ConflictKind::PartMoving, move.part, now.moving_to, 0, now.cause);
    } else if (!now.state.is_valid()) {
      conflict(ConflictKind::StateUnknown, move.part, {}, 0, {});
    } else {
      conflict(ConflictKind::NoSuchMove, move.part, now.state, 0, now.cause);
    }
  }
  return result;
}

std::vector<Conflict> StateTracker::apply(TimedCommandId id, const TimedCommand& command) {
  std::vector<Conflict> found = conflicts(id, command);
  if (!found.empty()) return found;
  const CommandDefinition& definition = station_->commands[command.command];
  const Duration clock = tick_uncertainty(station_->clock);
  for (std::uint32_t index : applicable_moves(command)) {
    const Move& move = definition.moves[index];
    const Standing now = standing(move.part, command.time);
    PartStanding& part = parts_[move.part.value];
    part.state = now.state;
    part.moving_to = move.to;
    part.until = command.time + rounded(move.takes.nominal);
    part.until_latest = command.time + clock + rounded(move.takes.high);
    part.cause = id;
  }
  if (definition.once) {
    once_spent_.push_back(command.command);
    once_by_.push_back(id);
  }
  return found;
}

}  // namespace cairn
