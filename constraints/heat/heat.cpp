// The thermal check of a timeline: drives the network solver through the steps of the load.

#include "constraints/heat/heat.h"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <limits>
#include <optional>
#include <utility>

#include "constraints/heat/course.h"
#include "constraints/heat/envelope.h"
#include "constraints/heat/environment.h"
#include "constraints/heat/limits.h"
#include "constraints/heat/network.h"
#include "constraints/heat/solver.h"
#include "constraints/heat/step_length.h"
#include "constraints/power/storage.h"

namespace cairn {

namespace {

// A thermostat stays as it is for a second: where its thresholds lie too close together it would otherwise
// switch without end.
constexpr double least_dwell = 1;

// Lines between the points of a trace come this close to the temperatures, K.
constexpr double trace_fidelity = 0.1;

class HeatRun {
 public:
  HeatRun(const Station& station, const StartState& start, const Timeline& timeline, const Sky& sky,
          const HeatOptions& options)
      : station_(station),
        timeline_(timeline),
        environment_(options.surroundings != nullptr && options.surroundings->are_of(station, sky, timeline)
                         ? *options.surroundings->nominal
                         : Environment(station, sky, timeline.begin, timeline.end)),
        options_(options),
        network_(numbers_of(station.thermal)),
        solver_(network_, options.tolerance, {}, options.modal_up_to) {
    const ThermalNetwork& thermal = station.thermal;
    const std::size_t nodes = thermal.nodes.size();
    temperatures_ = start.temperatures;
    temperatures_.resize(nodes, 293.15);
    next_.resize(nodes);
    draw_heat_.resize(nodes);
    courses_.resize(nodes);
    heaters_on_ = start.heaters_on;
    heaters_on_.resize(thermal.heaters.size(), false);
    heater_since_.resize(thermal.heaters.size(), timeline.begin);
    heater_ready_.resize(thermal.heaters.size(), 0.0);
    for (const Heater& heater : thermal.heaters) heater_enabled_.emplace_back(timeline, heater.enabled_while);
    for (std::size_t i = 0; i < nodes; ++i) {
      const NodeId id = thermal.nodes.id_at(i);
      const ThermalNode& node = thermal.nodes[id];
      for (const TemperatureLimit& limit : node.limits) watches_.emplace_back(timeline, node, id, limit);
    }
    if (station.power.storage) {
      const double charge = start.charge ? start.charge->nominal : station.power.storage->initial.nominal;
      storage_.emplace(*station.power.storage, Bound::Nominal, charge);
    }
    result_.traces.resize(nodes);
    doors_.resize(nodes);
    gather_breaks();
  }

  HeatResult run() {
    if (network_.capacities.empty()) return std::move(result_);
    const std::vector<double> first = temperatures_;
    for (std::size_t i = 0; i < first.size() && options_.traces; ++i) {
      if (options_.keep_every.nanoseconds == 0 && options_.trace_tolerance == 0)
        result_.traces[i].reserve(breaks_.size() + breaks_.size() / 2);
      result_.traces[i].push_back({timeline_.begin, first[i]});
    }
    for (std::size_t b = 0; b + 1 < breaks_.size(); ++b) {
      set_segment(breaks_[b]);
      segment_end_ = breaks_[b + 1];
      const double stop = (breaks_[b + 1] - timeline_.begin).seconds();
      double t = (breaks_[b] - timeline_.begin).seconds();
      while (t < stop && !broken_) {
        switch_heaters(t);
        t = advance(t, stop);
      }
    }
    finish(first);
    return std::move(result_);
  }

 private:
  // Instants at which something changes by a step.
  void gather_breaks() {
    const std::vector<Draw>& draws = timeline_.draws;
    by_end_.resize(draws.size());
    for (std::size_t i = 0; i < by_end_.size(); ++i) by_end_[i] = i;
    const auto ends_before = [&](std::size_t a, std::size_t b) {
      return draws[a].end.nominal < draws[b].end.nominal;
    };
    if (!std::is_sorted(by_end_.begin(), by_end_.end(), ends_before)) {
      std::stable_sort(by_end_.begin(), by_end_.end(), ends_before);
    }
    // Three sorted lists, merged.
    std::vector<Instant> begins;
    std::vector<Instant> ends;
    std::vector<Instant> others = environment_.knots();
    begins.reserve(draws.size());
    ends.reserve(draws.size());
    const auto add = [&](std::vector<Instant>& list, Instant time) {
      if (time > timeline_.begin && time < timeline_.end && (list.empty() || list.back() != time))
        list.push_back(time);
    };
    for (const Draw& draw : draws) add(begins, draw.begin.nominal);
    for (const std::size_t i : by_end_) add(ends, draws[i].end.nominal);
    const auto add_all = [&](const Condition& condition) {
      for (const Condition::Interval& interval : condition.intervals()) {
        add(others, interval.begin);
        add(others, interval.end);
      }
    };
    for (const Condition& condition : heater_enabled_) add_all(condition);
    for (LimitWatch& watch : watches_) add_all(watch.condition());
    others.push_back(timeline_.begin);
    others.push_back(timeline_.end);
    std::sort(others.begin(), others.end());
    std::vector<Instant> draw_times;
    draw_times.reserve(begins.size() + ends.size());
    std::merge(begins.begin(), begins.end(), ends.begin(), ends.end(), std::back_inserter(draw_times));
    breaks_.reserve(draw_times.size() + others.size());
    std::merge(draw_times.begin(), draw_times.end(), others.begin(), others.end(),
               std::back_inserter(breaks_));
    breaks_.erase(std::unique(breaks_.begin(), breaks_.end()), breaks_.end());
  }

  void add_draw(const Draw& draw, double sign) {
    length_.jump();
    bus_load_ += sign * draw.load.nominal;
    for (const HeatShare& share : draw.heat) {
      if (share.node.is_valid()) draw_heat_[share.node.value] += sign * draw.load.nominal * share.share;
    }
  }

  // Moves the sums of load and heat, and what holds, on to the segment that begins at `time`.
  void set_segment(Instant time) {
    while (next_begin_ < timeline_.draws.size() && timeline_.draws[next_begin_].begin.nominal <= time) {
      const Draw& draw = timeline_.draws[next_begin_++];
      if (draw.end.nominal > draw.begin.nominal) add_draw(draw, 1);
    }
    while (next_end_ < by_end_.size() && timeline_.draws[by_end_[next_end_]].end.nominal <= time) {
      const Draw& draw = timeline_.draws[by_end_[next_end_++]];
      if (draw.end.nominal > draw.begin.nominal && draw.begin.nominal <= time) add_draw(draw, -1);
    }
    environment_.enter(time);
    for (Condition& condition : heater_enabled_) condition.enter(time);
    for (LimitWatch& watch : watches_) watch.condition().enter(time);
  }

  void drive(double seconds, Drive& out) const {
    const ThermalNetwork& thermal = station_.thermal;
    const PowerSystem& power = station_.power;
    out.heat = draw_heat_;
    double load = bus_load_;
    for (std::size_t i = 0; i < heaters_on_.size(); ++i) {
      if (!heaters_on_[i]) continue;
      const Heater& heater = thermal.heaters[thermal.heaters.id_at(i)];
      out.heat[heater.node.value] += heater.power.nominal;
      load += heater.power.nominal;
    }
    const auto spread = [&](const std::vector<HeatShare>& shares, double watts) {
      for (const HeatShare& share : shares) {
        if (share.node.is_valid()) out.heat[share.node.value] += watts * share.share;
      }
    };
    const double source = environment_.apply(seconds, out.heat, out.sinks);
    const double draw = source_draw(power, load, Bound::Nominal);
    spread(power.converter_heat, draw - load);
    double spare = std::max(0.0, source - draw);
    if (storage_) {
      // What arrays give and nobody takes stays in them; what isotope sources give goes to the dump load.
      const double surplus = source + from_arrays(seconds) - draw;
      const double taken = storage_->taken_in(surplus);
      spare = std::max(0.0, spare - taken);
      spread(power.storage->heat,
             taken * (1 - power.storage->charge_efficiency.nominal) +
                 storage_->given(surplus) * (1 / power.storage->discharge_efficiency.nominal - 1) +
                 storage_->lost());
    }
    spread(power.dump_heat, spare);
  }

  // W, the cells being as warm as they were at the begin of the step.
  [[nodiscard]] double from_arrays(double seconds) const {
    double watts = 0;
    const std::vector<SolarArray>& arrays = station_.power.arrays;
    for (std::size_t i = 0; i < arrays.size(); ++i) {
      const NodeId node = arrays[i].node;
      const double temperature = node.is_valid() ? temperatures_[node.value] : 0;
      watts += environment_.light_at(seconds, i) *
               efficiency_at(arrays[i].efficiency, temperature, Bound::Nominal);
    }
    return watts;
  }

  // W that the sources give beyond the load, as the heaters stand.
  [[nodiscard]] double surplus(double seconds) const {
    double load = bus_load_;
    for (std::size_t i = 0; i < heaters_on_.size(); ++i) {
      if (heaters_on_[i]) load += heater(i).power.nominal;
    }
    const Instant time = instant(seconds);
    return source_power(station_.power, time, Bound::Nominal) + from_arrays(seconds) -
           source_draw(station_.power, load, Bound::Nominal);
  }

  [[nodiscard]] Instant instant(double seconds) const {
    return timeline_.begin + duration_from_seconds(seconds).value_or(Duration{});
  }

  [[nodiscard]] const Heater& heater(std::size_t i) const {
    return station_.thermal.heaters[station_.thermal.heaters.id_at(i)];
  }

  void turn(std::size_t i, bool on, double t, bool dwells = true) {
    if (heaters_on_[i] == on) return;
    const Instant now = instant(t);
    if (!on && now > heater_since_[i]) {
      result_.heaters.push_back({station_.thermal.heaters.id_at(i), heater_since_[i], now});
    }
    length_.jump();
    heaters_on_[i] = on;
    heater_since_[i] = now;
    heater_ready_[i] = dwells ? t + least_dwell : t;
  }

  void switch_heaters(double t) {
    for (std::size_t i = 0; i < heaters_on_.size(); ++i) {
      const double sensed = temperatures_[heater(i).sensor.value];
      // A hair's breadth of tolerance: the switching was located, the value there is the threshold but for
      // rounding.
      constexpr double hair = 1e-6;
      if (!heater_enabled_[i].holds()) {
        turn(i, false, t, false);
      } else if (t < heater_ready_[i]) {
        continue;
      } else if (heaters_on_[i]) {
        if (sensed >= heater(i).off_above.nominal - hair) turn(i, false, t);
      } else {
        if (sensed <= heater(i).on_below.nominal + hair) turn(i, true, t);
      }
    }
  }

  // The temperature that switches a thermostat as it stands; none while it may not switch.
  [[nodiscard]] std::optional<double> threshold(std::size_t i, double t) const {
    if (t < heater_ready_[i] || !heater_enabled_[i].holds()) return std::nullopt;
    return heaters_on_[i] ? heater(i).off_above.nominal : heater(i).on_below.nominal;
  }

  double try_step(double t, double step) {
    t_ = t;
    step_ = step;
    for (std::vector<Cubic>& course : courses_) course.clear();
    return solver_.try_step([this](double seconds, Drive& out) { drive(seconds, out); }, t, step,
                            temperatures_, next_);
  }

  // K: an extreme that stands out by less is none.
  [[nodiscard]] double negligible() const { return 0.5 * options_.tolerance; }
  // What the node keeps between during the step.
  [[nodiscard]] double lowest(std::size_t node) const {
    return std::min(temperatures_[node], next_[node]) - solver_.bend(node) - negligible();
  }
  [[nodiscard]] double highest(std::size_t node) const {
    return std::max(temperatures_[node], next_[node]) + solver_.bend(node) + negligible();
  }
  // The course of a node through the step, read when first asked for.
  const std::vector<Cubic>& course(std::size_t node) {
    std::vector<Cubic>& pieces = courses_[node];
    if (pieces.empty()) {
      read_course(solver_, node, t_, step_, negligible(), pieces);
      pieces.back().y1 = next_[node];
    }
    return pieces;
  }

  // When the first thermostat switches within the step, if any does.
  struct Switching {
    double time = 0;
    std::size_t sensor = 0;
    double level = 0;
  };
  [[nodiscard]] std::optional<Switching> first_switching(double t) {
    std::optional<Switching> first;
    for (std::size_t i = 0; i < heaters_on_.size(); ++i) {
      const auto level = threshold(i, t);
      const std::size_t sensor = heater(i).sensor.value;
      if (!level || *level < lowest(sensor) || *level > highest(sensor)) continue;
      for (const Cubic& cubic : course(sensor)) {
        const auto near = cubic.first_passing(*level, heaters_on_[i]);
        if (!near) continue;
        const double at = refine_passing(sensor, *level, *near, cubic);
        if (!first || at < first->time) first = Switching{at, sensor, *level};
        break;
      }
    }
    return first;
  }

  // The cubic knows about when; Newton's method on the temperature itself says when.
  [[nodiscard]] double refine_passing(std::size_t node, double level, double near, const Cubic& cubic) {
    for (int turn = 0; turn < 3; ++turn) {
      const Reading reading = solver_.at(node, (near - t_) / step_);
      const double nearer = near - (reading.temperature - level) / reading.rate;
      if (!(nearer > cubic.t0 && nearer < cubic.t1)) break;
      near = nearer;
    }
    return near;
  }

  // The same step again up to a switching: its end is then as good as any other. A shorter step is not quite
  // the same solution, so the end is moved until the sensor stands on its threshold; returns the end.
  double step_to_switching(double t, double step, const Switching& switching) {
    constexpr double shortest = StepLength::shortest;
    constexpr double close = 1e-5;  // K
    double end = std::max(switching.time, t + shortest);
    for (int turn = 1;; ++turn) {
      static_cast<void>(try_step(t, end - t));
      const Reading reading = solver_.at(switching.sensor, 1);
      const double moved = end + (switching.level - reading.temperature) / reading.rate;
      if (turn == 4 || std::abs(next_[switching.sensor] - switching.level) < close ||
          !(moved > t + shortest && moved < t + step))
        break;
      end = moved;
    }
    // Nothing must have switched before.
    for (int turn = 0; turn < 4; ++turn) {
      const auto before = first_switching(t);
      if (!before || before->time > end - 1e-4) break;
      end = std::max(before->time, t + shortest);
      static_cast<void>(try_step(t, end - t));
    }
    // It must be seen as one: a crumb of rounding must not put it off.
    double& sensed = next_[switching.sensor];
    if (std::abs(sensed - switching.level) < 10 * close) sensed = switching.level;
    return end;
  }

  // One accepted step from `t`, to `segment_end` at most; returns where it ends.
  double advance(double t, const double segment_end) {
    // A thermostat that may not switch yet is asked again when it may.
    double stop = segment_end;
    for (const double ready : heater_ready_) {
      if (ready > t) stop = std::min(stop, ready);
    }
    // A full storage takes in no more: the step ends when it is full, to the second.
    if (storage_) stop = std::min(stop, t + std::max(1.0, storage_->seconds_to_full(surplus(t))));
    double step = 0;
    do {
      step = std::min(length_.next(), stop - t);
      if (stop - t - step < 1e-7) step = stop - t;
    } while (!length_.judge(step, try_step(t, step)));
    ++result_.steps;
    if (!std::all_of(next_.begin(), next_.end(), [](double x) { return std::isfinite(x); })) {
      // Only a network that no loader lets through gets here; better no answer than an endless search for
      // one.
      broken_ = true;
      return stop;
    }
    double end = t + step;
    const auto switching = first_switching(t);
    if (switching && switching->time < end - 1e-7) end = step_to_switching(t, step, *switching);
    if (segment_end - end < 1e-9) end = segment_end;
    accept(end == segment_end ? segment_end_ : instant(end));
    temperatures_ = next_;
    return end;
  }

  void accept(Instant end) {
    result_.energy_in += solver_.energy_in();
    result_.energy_out += solver_.energy_out();
    if (storage_) storage_->advance(surplus(t_), surplus(t_ + step_), step_);
    for (LimitWatch& watch : watches_) {
      if (!watch.condition().holds()) continue;
      const std::size_t node = watch.node().value;
      if (watch.matters(lowest(node), highest(node))) watch.follow(course(node));
    }
    if (!options_.traces) return;
    for (std::size_t i = 0; i < next_.size(); ++i) {
      if (solver_.bend(i) > negligible()) keep_course(i);
      keep(i, end, next_[i]);
    }
  }

  // Extremes, and as many points between as the lines need.
  void keep_course(std::size_t node) {
    const bool curved = solver_.bend(node) > trace_fidelity;
    for (const Cubic& cubic : course(node)) {
      const FewTimes extremes = cubic.extremes();
      const double chord = 0.5 * (cubic.y0 + cubic.y1);
      const double off = std::abs(cubic.at(0.5 * (cubic.t0 + cubic.t1)) - chord);
      const double parts = std::min(1 + std::floor(std::sqrt(off / trace_fidelity)), 1000.0);
      const double* extreme = extremes.begin();
      const auto keep_extremes_before = [&](double time) {
        for (; extreme != extremes.end() && *extreme <= time; ++extreme) {
          add_point(node, instant(*extreme), cubic.at(*extreme));
        }
      };
      if (cubic.t0 > t_ && curved) keep(node, instant(cubic.t0), cubic.y0);
      for (double part = 1; part < parts; ++part) {
        const double time = cubic.t0 + (cubic.t1 - cubic.t0) * part / parts;
        keep_extremes_before(time);
        keep(node, instant(time), cubic.at(time));
      }
      keep_extremes_before(cubic.t1);
    }
  }

  void keep(std::size_t node, Instant time, double temperature) {
    const std::vector<TemperaturePoint>& trace = result_.traces[node];
    if (time < timeline_.end && time - trace.back().time < options_.keep_every) return;
    add_point(node, time, temperature);
  }

  void add_point(std::size_t node, Instant time, double temperature) {
    std::vector<TemperaturePoint>& trace = result_.traces[node];
    if (time <= trace.back().time) return;
    if (options_.trace_tolerance == 0) {
      trace.push_back({time, temperature});
    } else {
      thin(node, {time, temperature});
    }
  }

  // The last point stays where a line from the one before it to the new point would miss any left out between
  // by more than the tolerance: slopes that pass all of them narrow down point by point.
  void thin(std::size_t node, TemperaturePoint point) {
    std::vector<TemperaturePoint>& trace = result_.traces[node];
    Door& door = doors_[node];
    if (door.open) {
      const TemperaturePoint& last = trace.back();
      const TemperaturePoint& anchor = trace[trace.size() - 2];
      const double before = 1e-9 * static_cast<double>((last.time - anchor.time).nanoseconds);
      const double seconds = 1e-9 * static_cast<double>((point.time - anchor.time).nanoseconds);
      const double rise = last.temperature - anchor.temperature;
      const double inverse = 1 / before;
      const double steepest = std::min(door.steepest, (rise + options_.trace_tolerance) * inverse);
      const double flattest = std::max(door.flattest, (rise - options_.trace_tolerance) * inverse);
      const double climb = point.temperature - anchor.temperature;
      if (climb <= steepest * seconds && climb >= flattest * seconds) {
        door.steepest = steepest;
        door.flattest = flattest;
        trace.back() = point;
        return;
      }
    }
    door = {true, std::numeric_limits<double>::infinity(), -std::numeric_limits<double>::infinity()};
    trace.push_back(point);
  }

  void finish(const std::vector<double>& first) {
    for (std::size_t i = 0; i < first.size(); ++i) {
      result_.energy_stored += network_.capacities[i] * (temperatures_[i] - first[i]);
    }
    result_.end_temperatures = temperatures_;
    result_.end_heaters_on = heaters_on_;
    for (std::size_t i = 0; i < heaters_on_.size(); ++i) {
      if (heaters_on_[i]) {
        result_.heaters.push_back({station_.thermal.heaters.id_at(i), heater_since_[i], timeline_.end});
      }
    }
    std::sort(result_.heaters.begin(), result_.heaters.end(),
              [](const HeaterInterval& a, const HeaterInterval& b) {
                return a.begin != b.begin ? a.begin < b.begin : a.heater < b.heater;
              });
    for (LimitWatch& watch : watches_) result_.findings.push_back(watch.finish(broken_));
  }

  const Station& station_;
  const Timeline& timeline_;
  Environment environment_;
  const HeatOptions options_;
  Network network_;
  NetworkSolver solver_;
  std::optional<StorageRun> storage_;
  std::vector<double> temperatures_;
  // The step being tried: begin, length, temperatures at its end, courses of those nodes that were asked for.
  double t_ = 0;
  double step_ = 0;
  std::vector<double> next_;
  std::vector<std::vector<Cubic>> courses_;
  StepLength length_;
  std::vector<bool> heaters_on_;
  std::vector<Instant> heater_since_;
  std::vector<double> heater_ready_;  // s: not switched by its sensor before
  std::vector<Condition> heater_enabled_;
  std::vector<LimitWatch> watches_;
  struct Door {
    bool open = false;  // a point has been kept that may yet go
    double steepest = 0;
    double flattest = 0;
  };
  std::vector<Door> doors_;
  std::vector<Instant> breaks_;
  std::vector<std::size_t> by_end_;
  std::size_t next_begin_ = 0;
  std::size_t next_end_ = 0;
  std::vector<double> draw_heat_;
  double bus_load_ = 0;
  Instant segment_end_;
  bool broken_ = false;
  HeatResult result_;
};

}  // namespace

Network numbers_of(const ThermalNetwork& thermal) {
  Network network;
  for (const ThermalNode& node : thermal.nodes) network.capacities.push_back(node.capacity.nominal);
  for (const ThermalLink& link : thermal.links) {
    const bool from_node = link.from.node.is_valid();
    const LinkEnd& near = from_node ? link.from : link.to;
    const LinkEnd& far = from_node ? link.to : link.from;
    if (!near.node.is_valid()) continue;  // between two sinks: nothing flows that matters
    const bool to_sink = !far.node.is_valid();
    network.links.push_back({near.node.value, to_sink ? far.sink.value : far.node.value, to_sink,
                             link.radiative, link.value.nominal});
  }
  return network;
}

Surroundings surroundings_of(const Station& station, const Sky& sky, Instant begin, Instant end) {
  return {&station,
          &sky,
          begin,
          end,
          std::make_shared<const Environment>(station, sky, begin, end),
          std::make_shared<const Environment>(station, sky, begin, end, true, false)};
}

HeatResult check_heat(const Station& station, const StartState& start, const Timeline& timeline,
                      const Sky& sky, const HeatOptions& options) {
  HeatResult result = HeatRun(station, start, timeline, sky, options).run();
  if (options.envelope) bound_heat(station, start, timeline, sky, options, result);
  return result;
}

}  // namespace cairn
