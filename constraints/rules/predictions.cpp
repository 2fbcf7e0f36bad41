// Spells and events from the timeline, signals from the checks' results.

#include "constraints/rules/predictions.h"

#include <algorithm>
#include <optional>
#include <utility>

#include "constraints/rules/signals.h"

namespace cairn {

EventTime inside(Instant time) { return {time, time, time}; }

EventTime outside(const StationClock& clock, Instant time) {
  const Duration by = clock_uncertainty(clock, time);
  return {time, time - by, time + by};
}

namespace {

class Gatherer {
 public:
  explicit Gatherer(const Predictions& predictions)
      : station_(predictions.station), timeline_(predictions.timeline), start_(predictions.start) {}

  std::vector<Occurrence> spells(const RuleState& state) const {
    const auto in = [&state](StateId id) {
      return id.is_valid() && std::find(state.states.begin(), state.states.end(), id) != state.states.end();
    };
    const auto holds = [&](const Occupation& row) {
      const bool rests = in(row.state);
      if (!row.moving_to.is_valid()) return rests;
      return state.reading == StateReading::Rests ? rests && in(row.moving_to) : rests || in(row.moving_to);
    };
    return occupied(state.part, holds, true);
  }

  std::vector<Occurrence> spells(const RuleMoving& moving) const {
    return occupied(
        moving.part, [](const Occupation& row) { return row.moving_to.is_valid(); }, false);
  }

  std::vector<Occurrence> spells(const RuleWindow& wanted) const {
    std::vector<Occurrence> result;
    for (std::size_t i = 0; i < station_->windows.size(); ++i) {
      const WindowId id = station_->windows.id_at(i);
      const Window& window = station_->windows[id];
      if (wanted.window.is_valid() ? wanted.window != id
                                   : wanted.antenna.is_valid() && wanted.antenna != window.antenna) {
        continue;
      }
      const std::vector<Occurrence> one = spells(
          RuleInterval{outside(station_->clock, window.opens), outside(station_->clock, window.closes)});
      result.insert(result.end(), one.begin(), one.end());
    }
    return merged(std::move(result));
  }

  // Cut to the span; what lies outside it is left out.
  std::vector<Occurrence> spells(const RuleInterval& interval) const {
    if (interval.to.nominal <= timeline_->begin || interval.from.nominal >= timeline_->end ||
        interval.to.nominal <= interval.from.nominal) {
      return {};
    }
    Occurrence spell;
    spell.from_before = interval.from.nominal <= timeline_->begin;
    spell.goes_on = interval.to.nominal >= timeline_->end;
    spell.begin = spell.from_before ? inside(timeline_->begin) : interval.from;
    spell.end = spell.goes_on ? inside(timeline_->end) : interval.to;
    return {spell};
  }

  std::vector<Occurrence> events(const RuleCommand& wanted) const {
    std::vector<Occurrence> result;
    const Duration tick = tick_uncertainty(station_->clock);
    for (std::uint32_t i = 0; i < timeline_->commands.size(); ++i) {
      const TimedCommand& command = timeline_->commands[i];
      if (command.command != wanted.command) continue;
      const bool fits = std::all_of(wanted.when.begin(), wanted.when.end(), [&](const MoveCondition& when) {
        return when.argument < command.arguments.size() &&
               command.arguments[when.argument].number == when.number;
      });
      if (!fits) continue;
      Occurrence event;
      event.begin = event.end = {command.time, command.time - tick, command.time + tick};
      event.begun_by = event.ended_by = TimedCommandId{i};
      result.push_back(event);
    }
    return result;
  }

  std::vector<Occurrence> events(const RuleMarks& marks) const {
    std::vector<Occurrence> result;
    for (const EventTime& time : marks.times) {
      Occurrence event;
      event.begin = event.end = time;
      result.push_back(event);
    }
    std::stable_sort(result.begin(), result.end(), [](const Occurrence& a, const Occurrence& b) {
      return a.begin.nominal < b.begin.nominal;
    });
    return result;
  }

  std::uint32_t times_before(const RuleEvents& wanted) const {
    const RuleCommand* command = std::get_if<RuleCommand>(&wanted);
    if (command == nullptr || start_ == nullptr) return 0;
    const auto& spent = start_->once_spent;
    return std::find(spent.begin(), spent.end(), command->command) != spent.end() ? 1 : 0;
  }

 private:
  // The end of a move comes at its own time after the command that began it. Against another command both are
  // displaced, each by half a tick; so that an event has only to look at what comes before its own earliest
  // time, the move's end takes on the other half, too.
  EventTime edge(EventTime time, TimedCommandId cause) const {
    if (!cause.is_valid() || timeline_->commands[cause.value].time == time.nominal) return time;
    time.earliest = time.earliest - tick_uncertainty(station_->clock) * 2;
    return time;
  }

  template <class Holds>
  std::vector<Occurrence> occupied(PartId part, const Holds& holds, bool may_be_unknown) const {
    std::vector<Occurrence> result;
    if (part.value >= timeline_->occupations.size()) return result;
    bool open = false;
    std::optional<Instant> unknown_since;
    for (const Occupation& row : timeline_->occupations[part.value]) {
      const Instant begin = std::min(row.begin.nominal, timeline_->end);
      const Instant end = std::min(row.end.nominal, timeline_->end);
      if (end <= begin) continue;
      const bool unknown = may_be_unknown && !row.state.is_valid() && !holds(row);
      if (!holds(row)) {
        if (open) result.back().ended_by = row.cause;
        open = false;
        if (unknown) {
          if (!unknown_since) unknown_since = begin;
        } else if (unknown_since) {
          result.push_back(possible(*unknown_since, begin));
          unknown_since.reset();
        }
        continue;
      }
      if (!open) {
        Occurrence spell;
        spell.begin = edge(row.begin, row.cause);
        spell.begun_by = row.cause;
        spell.from_before = begin <= timeline_->begin;
        // What was not known before may have been just this.
        if (unknown_since) spell.begin.earliest = std::min(spell.begin.earliest, *unknown_since);
        unknown_since.reset();
        result.push_back(spell);
        open = true;
      }
      result.back().end = row.end;
      result.back().goes_on = end >= timeline_->end;
    }
    if (unknown_since) result.push_back(possible(*unknown_since, timeline_->end));
    for (Occurrence& spell : result) {
      if (!spell.goes_on) spell.end = edge(spell.end, spell.ended_by);
    }
    return result;
  }

  // It may hold then, or within; it need not.
  Occurrence possible(Instant begin, Instant end) const {
    Occurrence spell;
    spell.begin = {begin, begin, end};
    spell.end = {end, begin, end};
    spell.existence = Existence::Possible;
    spell.from_before = begin <= timeline_->begin;
    spell.goes_on = end >= timeline_->end;
    return spell;
  }

  static std::vector<Occurrence> merged(std::vector<Occurrence> spells) {
    std::stable_sort(spells.begin(), spells.end(), [](const Occurrence& a, const Occurrence& b) {
      return a.begin.nominal < b.begin.nominal;
    });
    std::vector<Occurrence> result;
    for (const Occurrence& spell : spells) {
      if (result.empty() || result.back().end.nominal < spell.begin.nominal) {
        result.push_back(spell);
      } else if (result.back().end.nominal < spell.end.nominal) {
        result.back().end = spell.end;
        result.back().goes_on = spell.goes_on;
      }
    }
    return result;
  }

  const Station* station_;
  const Timeline* timeline_;
  const StartState* start_;
};

}  // namespace

RuleEvidence gather(const RuleBook& book, const Predictions& predictions) {
  RuleEvidence evidence;
  evidence.begin = predictions.timeline->begin;
  evidence.end = predictions.timeline->end;
  evidence.tick = tick_uncertainty(predictions.station->clock);
  for (const RuleSignal& signal : book.signals) evidence.signals.push_back(signal_of(signal, predictions));
  const Gatherer gatherer(predictions);
  for (const RuleSpells& wanted : book.spells) {
    evidence.spells.push_back(
        std::visit([&gatherer](const auto& spells) { return gatherer.spells(spells); }, wanted));
  }
  for (const RuleEvents& wanted : book.events) {
    evidence.events.push_back(
        std::visit([&gatherer](const auto& events) { return gatherer.events(events); }, wanted));
    evidence.times_before.push_back(gatherer.times_before(wanted));
  }
  return evidence;
}

}  // namespace cairn
