// What ran did what it does. What may have run leaves open how its parts stand; what still is to run is
// predicted, and where its own outcome hangs on a state that is not known, so do its parts.

#include "compiler/review/reconcile/course.h"

#include <fmt/format.h>

#include <algorithm>
#include <numeric>

#include "constraints/timeline/state_tracker.h"

namespace cairn {

namespace {

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

class Course {
 public:
  Course(const ReconcileInput& input, Reconciliation& result)
      : input_(input),
        result_(result),
        station_(*input.station),
        tracker_(*input.station, *input.start),
        from_(input.begin) {}

  void follow() {
    std::vector<std::size_t> order(input_.commands.size());
    std::iota(order.begin(), order.end(), 0);
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
      return input_.commands[a].time < input_.commands[b].time;
    });
    for (const std::size_t i : order) {
      const ReconciledCommand& command = result_.commands[i];
      if (command.is_unsure) {
        leave_open(i, fmt::format("{}, and what it did is not known", to_word(command.fate)), true);
      } else if (command.fate == Fate::Ran) {
        take_as_told(i);
      } else if (command.fate == Fate::Waiting || command.fate == Fate::ToBeSent) {
        expect(i);
      }
    }
    cut(result_.end);
  }

 private:
  [[nodiscard]] TimedCommand timed(std::size_t i) const {
    const CarriedEntry& entry = input_.commands[i];
    return {entry.time, entry.command, entry.arguments};
  }
  [[nodiscard]] TimedCommandId id() const {
    return TimedCommandId{static_cast<std::uint32_t>(ahead_.size())};
  }

  void run(std::size_t i) {
    const TimedCommand command = timed(i);
    tracker_.apply(id(), command);
    ahead_.push_back(command);
  }

  // The parts that the command moves under its arguments, each with where it can lead.
  struct Reach {
    PartId part;
    std::vector<const Move*> moves;
  };
  [[nodiscard]] std::vector<Reach> reach_of(const TimedCommand& command) const {
    std::vector<Reach> reaches;
    for (const Move& move : station_.commands[command.command].moves) {
      if (!is_selected(move, command)) continue;
      auto found = std::find_if(reaches.begin(), reaches.end(),
                                [&](const Reach& reach) { return reach.part == move.part; });
      if (found == reaches.end()) found = reaches.insert(found, {move.part, {}});
      found->moves.push_back(&move);
    }
    return reaches;
  }

  // The station says that it ran: where that leads to one state only, it is in that state, whatever was known
  // before.
  void take_as_told(std::size_t i) {
    const TimedCommand command = timed(i);
    const std::vector<Conflict> conflicts = tracker_.conflicts(id(), command);
    if (conflicts.empty()) return run(i);
    std::vector<Stretch::Correction> corrections;
    for (const Conflict& conflict : conflicts) {
      if (conflict.kind == ConflictKind::StateUnknown) continue;
      note(i, fmt::format("ran, although by all that was known {}", why(station_, conflict)));
      // The two cannot both be true.
      if (conflict.kind == ConflictKind::NeedNotMet) corrections.push_back({conflict.part, {}});
    }
    for (const Reach& reach : reach_of(command)) {
      const StateId to = reach.moves.front()->to;
      const bool is_one = std::all_of(reach.moves.begin(), reach.moves.end(),
                                      [to](const Move* move) { return move->to == to; });
      std::erase_if(corrections, [&](const Stretch::Correction& one) { return one.part == reach.part; });
      corrections.push_back({reach.part, is_one ? to : StateId{}});
    }
    correct(i, std::move(corrections));
  }

  void expect(std::size_t i) {
    const std::vector<Conflict> conflicts = tracker_.conflicts(id(), timed(i));
    if (conflicts.empty()) return run(i);
    for (const Conflict& conflict : conflicts) result_.commands[i].broken.push_back(why(station_, conflict));
    const bool is_refused = std::any_of(conflicts.begin(), conflicts.end(), [](const Conflict& conflict) {
      return conflict.kind != ConflictKind::StateUnknown;
    });
    if (!is_refused) leave_open(i, "will run or not, as a state is that is not known", false);
  }

  // It may have run, or not, or in part. One that may have begun did so whatever was known; one that is still
  // to run will be refused where its parts stand otherwise.
  void leave_open(std::size_t i, const std::string& how, bool may_have_begun) {
    const TimedCommand command = timed(i);
    std::vector<Stretch::Correction> corrections;
    std::string names;
    for (const Reach& reach : reach_of(command)) {
      const Standing now = tracker_.standing(reach.part, command.time);
      const bool can_change = std::any_of(reach.moves.begin(), reach.moves.end(), [&](const Move* move) {
        const bool fits = may_have_begun || move->from.empty() || !now.state.is_valid() ||
                          now.moving_to.is_valid() ||
                          std::find(move->from.begin(), move->from.end(), now.state) != move->from.end();
        return fits && (move->to != now.state || now.moving_to.is_valid());
      });
      if (!can_change) continue;
      corrections.push_back({reach.part, {}});
      names += (names.empty() ? "" : ", ") + full_name(station_, reach.part);
    }
    const bool is_once = station_.commands[command.command].once;
    note(i,
         how +
             (names.empty() ? "" : fmt::format("; from then on the state of {} counts as not known", names)) +
             (is_once ? "; it is a one-shot and counts as used" : ""));
    correct(i, std::move(corrections));
  }

  // From the command's time on things stand otherwise than predicted.
  void correct(std::size_t i, std::vector<Stretch::Correction> corrections) {
    const CarriedEntry& entry = input_.commands[i];
    StartState next;
    for (std::size_t p = 0; p < station_.parts.size(); ++p) {
      const Standing now = tracker_.standing(station_.parts.id_at(p), entry.time);
      next.parts.push_back(now.moving_to.is_valid() ? now.moving_to : now.state);
    }
    next.once_spent = tracker_.once_spent();
    for (const Stretch::Correction& correction : corrections)
      next.parts[correction.part.value] = correction.state;
    std::vector<CommandId> spent;
    const bool is_spent =
        std::find(next.once_spent.begin(), next.once_spent.end(), entry.command) != next.once_spent.end();
    if (station_.commands[entry.command].once && !is_spent) {
      spent.push_back(entry.command);
      next.once_spent.push_back(entry.command);
    }
    if (corrections.empty() && spent.empty()) return;
    cut(std::max(entry.time, from_));
    result_.stretches.back().corrections = std::move(corrections);
    result_.stretches.back().spent = std::move(spent);
    tracker_ = StateTracker(station_, next);
  }

  void cut(Instant time) {
    result_.stretches.push_back({from_, time, std::move(ahead_), {}, {}});
    ahead_.clear();
    from_ = time;
  }

  void note(std::size_t i, const std::string& sentence) {
    result_.notes.push_back(
        fmt::format("command {}, {}: {}", i + 1, full_name(station_, input_.commands[i].command), sentence));
  }

  const ReconcileInput& input_;
  Reconciliation& result_;
  const Station& station_;
  StateTracker tracker_;
  Instant from_;
  std::vector<TimedCommand> ahead_;  // of the stretch that is open
};

}  // namespace

void follow_course(const ReconcileInput& input, Reconciliation& result) { Course(input, result).follow(); }

}  // namespace cairn
