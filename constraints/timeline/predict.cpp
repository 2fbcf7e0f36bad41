// From timed commands to occupations and draws, in one pass over the commands.

#include <algorithm>
#include <cmath>

#include "constraints/timeline/state_tracker.h"
#include "constraints/timeline/timeline.h"

namespace cairn {

namespace {

Duration rounded(double seconds) { return duration_from_seconds(seconds).value_or(Duration{}); }

EventTime exactly(Instant time) { return {time, time, time}; }

EventTime later(EventTime begin, const Bounded& seconds) {
  return {begin.nominal + rounded(seconds.nominal), begin.earliest + rounded(seconds.low),
          begin.latest + rounded(seconds.high)};
}

EventTime clip(EventTime time, Instant end) {
  return {std::min(time.nominal, end), std::min(time.earliest, end), std::min(time.latest, end)};
}

// One row of occupations with the draws that belong to it.
class PartRow {
 public:
  PartRow(const Station& station, PartId part, StateId start, Instant begin, Instant end)
      : station_(&station), part_(part), end_(end) {
    rows_.push_back({part, start, {}, exactly(begin), exactly(end), {}});
  }

  void move(const Move& move, EventTime begin, TimedCommandId cause) {
    rows_.back().end = begin;
    const StateId from = rows_.back().moving_to.is_valid() ? rows_.back().moving_to : rows_.back().state;
    const EventTime arrival = clip(later(begin, move.takes), end_);
    if (arrival.nominal > begin.nominal) {
      rows_.push_back({part_, from, move.to, begin, arrival, cause});
      moving_load_.resize(rows_.size());
      moving_load_.back() = move.load;
    }
    rows_.push_back({part_, move.to, {}, arrival, exactly(end_), cause});
  }

  void collect(std::vector<Draw>& draws) {
    for (std::size_t i = 0; i < rows_.size(); ++i) {
      const Occupation& row = rows_[i];
      if (row.end.nominal <= row.begin.nominal && row.end.latest <= row.begin.earliest) continue;
      Draw draw{row.begin, row.end, {}, {}, station_->parts[part_].unit, part_, row.cause};
      const bool own_load = i < moving_load_.size() && moving_load_[i].has_value();
      if (!row.state.is_valid() && !own_load) {  // on the way from it, too: its heat may go elsewhere
        any_state(draw);
        if (draw.load.high > 0) draws.push_back(std::move(draw));
        continue;
      }
      const State* heat_of = row.state.is_valid() ? &station_->states[row.state] : nullptr;
      if (heat_of != nullptr) draw.load = heat_of->load;
      if (row.moving_to.is_valid()) {
        const State& to = station_->states[row.moving_to];
        if (heat_of == nullptr || to.load.nominal > heat_of->load.nominal || own_load) heat_of = &to;
        draw.load =
            own_load ? *moving_load_[i]
                     : Bounded{std::max(draw.load.nominal, to.load.nominal),
                               std::max(draw.load.low, to.load.low), std::max(draw.load.high, to.load.high)};
      }
      if (heat_of != nullptr) draw.heat = heat_of->heat;
      if (draw.load.high > 0) draws.push_back(std::move(draw));
    }
  }

  std::vector<Occupation> take() { return std::move(rows_); }

 private:
  // It may be in any of its states: nominally in the one that draws most, and bounded so that none of them
  // lies outside, for the bus and for each node.
  void any_state(Draw& draw) const {
    for (const StateId id : station_->parts[part_].states) {
      const Bounded& load = station_->states[id].load;
      draw.load.nominal = std::max(draw.load.nominal, load.nominal);
      draw.load.high = std::max(draw.load.high, load.high);
    }
    if (draw.load.high <= 0) return;
    for (const StateId id : station_->parts[part_].states) {
      const State& state = station_->states[id];
      for (const HeatShare& heat : state.heat) {
        const double share = heat.share * state.load.high / draw.load.high;
        const auto found = std::find_if(draw.heat.begin(), draw.heat.end(),
                                        [&heat](const HeatShare& one) { return one.node == heat.node; });
        if (found == draw.heat.end()) {
          draw.heat.push_back({heat.node, share});
        } else {
          found->share = std::max(found->share, share);
        }
      }
    }
  }

  const Station* station_;
  PartId part_;
  Instant end_;
  std::vector<Occupation> rows_;
  std::vector<std::optional<Bounded>> moving_load_;
};

}  // namespace

StartState initial_state(const Station& station) {
  StartState start;
  for (const Part& part : station.parts) start.parts.push_back(part.initial);
  for (const ThermalNode& node : station.thermal.nodes) {
    start.temperatures.push_back(node.initial.nominal);
    start.lowest_temperatures.push_back(node.initial.low);
    start.highest_temperatures.push_back(node.initial.high);
  }
  for (const Heater& heater : station.thermal.heaters) start.heaters_on.push_back(heater.initially_on);
  start.in_balance = station.thermal.begins_in_balance;
  if (const auto& storage = station.power.storage)
    start.charge = HeldCharge{storage->initial.nominal, storage->initial.low, storage->initial.high};
  return start;
}

Duration tick_uncertainty(const StationClock& clock) { return {clock.tick.nanoseconds / 2}; }

Duration clock_uncertainty(const StationClock& clock, Instant time) {
  const Duration half_tick = tick_uncertainty(clock);
  if (!clock.last_correlation) return half_tick;
  const double elapsed = std::abs((time - *clock.last_correlation).seconds());
  return half_tick + rounded(elapsed * clock.rate_error);
}

Timeline predict(const Station& station, const StartState& start, Instant begin, Instant end,
                 std::vector<TimedCommand> commands) {
  Timeline timeline;
  timeline.begin = begin;
  timeline.end = end;
  StateTracker tracker(station, start);
  std::vector<PartRow> rows;
  rows.reserve(station.parts.size());
  for (std::size_t i = 0; i < station.parts.size(); ++i) {
    rows.emplace_back(station, station.parts.id_at(i), i < start.parts.size() ? start.parts[i] : StateId{},
                      begin, end);
  }

  for (std::uint32_t i = 0; i < commands.size(); ++i) {
    const TimedCommandId id{i};
    const TimedCommand& command = commands[i];
    const CommandDefinition& definition = station.commands[command.command];
    const std::vector<std::uint32_t> moves = tracker.applicable_moves(command);
    std::vector<Conflict> conflicts = tracker.apply(id, command);
    if (!conflicts.empty()) {
      timeline.conflicts.insert(timeline.conflicts.end(), conflicts.begin(), conflicts.end());
      continue;
    }
    const Duration clock = tick_uncertainty(station.clock);
    const EventTime at{command.time, command.time - clock, command.time + clock};
    for (std::uint32_t index : moves) {
      const Move& move = definition.moves[index];
      rows[move.part.value].move(move, at, id);
    }
    for (const Pulse& pulse : definition.pulses) {
      const EventTime stop = clip(later(at, pulse.length), end);
      if (stop.nominal <= at.nominal) continue;
      timeline.draws.push_back({at, stop, pulse.load, pulse.heat, definition.unit, {}, id});
    }
  }

  timeline.occupations.reserve(rows.size());
  for (PartRow& row : rows) {
    row.collect(timeline.draws);
    timeline.occupations.push_back(row.take());
  }
  std::stable_sort(timeline.draws.begin(), timeline.draws.end(),
                   [](const Draw& a, const Draw& b) { return a.begin.nominal < b.begin.nominal; });
  timeline.once_spent = tracker.once_spent();
  timeline.commands = std::move(commands);
  return timeline;
}

const Occupation* occupation_at(const Timeline& timeline, PartId part, Instant time) {
  if (part.value >= timeline.occupations.size()) return nullptr;
  if (time < timeline.begin || time > timeline.end) return nullptr;
  const std::vector<Occupation>& rows = timeline.occupations[part.value];
  auto after = std::upper_bound(rows.begin(), rows.end(), time,
                                [](Instant t, const Occupation& row) { return t < row.begin.nominal; });
  return after == rows.begin() ? nullptr : &*(after - 1);
}

}  // namespace cairn
