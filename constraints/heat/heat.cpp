// The thermal check of a timeline: drives the network solver through the steps of the load.

#include "constraints/heat/heat.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "constraints/heat/environment.h"
#include "constraints/heat/network.h"

namespace cairn {

namespace {

struct Interval {
  Instant begin;
  Instant end;
};

// When a condition holds: resting in one of its states, or moving out of or into one.
std::vector<Interval> intervals_of(const Timeline& timeline, const std::optional<StateCondition>& condition) {
  if (!condition) return {{timeline.begin, timeline.end}};
  std::vector<Interval> result;
  if (condition->part.value >= timeline.occupations.size()) return result;
  for (const Occupation& row : timeline.occupations[condition->part.value]) {
    const bool holds = (row.state.is_valid() && contains(*condition, row.state)) ||
                       (row.moving_to.is_valid() && contains(*condition, row.moving_to));
    if (!holds) continue;
    if (!result.empty() && result.back().end >= row.begin.nominal) {
      result.back().end = row.end.nominal;
    } else {
      result.push_back({row.begin.nominal, row.end.nominal});
    }
  }
  return result;
}

bool is_inside(const std::vector<Interval>& intervals, Instant time) {
  const auto after = std::upper_bound(intervals.begin(), intervals.end(), time,
                                      [](Instant t, const Interval& i) { return t < i.begin; });
  return after != intervals.begin() && time < (after - 1)->end;
}

// One accepted step as a cubic in time: temperatures and rates at both ends.
struct Cubic {
  double t0, t1, y0, y1, d0, d1;

  [[nodiscard]] double at(double t) const {
    const double h = t1 - t0;
    const double u = (t - t0) / h;
    const double u2 = u * u;
    const double u3 = u2 * u;
    return (2 * u3 - 3 * u2 + 1) * y0 + (u3 - 2 * u2 + u) * h * d0 + (3 * u2 - 2 * u3) * y1 + (u3 - u2) * h * d1;
  }
  // Interior extremes, in rising order.
  [[nodiscard]] std::vector<double> extremes() const {
    const double h = t1 - t0;
    const double a = 3 * (2 * y0 - 2 * y1 + h * (d0 + d1));
    const double b = 2 * (-3 * y0 + 3 * y1 - h * (2 * d0 + d1));
    const double c = h * d0;
    std::vector<double> roots;
    if (std::abs(a) < 1e-300) {
      if (b != 0) roots.push_back(-c / b);
    } else {
      const double inside = b * b - 4 * a * c;
      if (inside <= 0) return {};
      const double q = -0.5 * (b + std::copysign(std::sqrt(inside), b));
      roots = {q / a};
      if (q != 0) roots.push_back(c / q);
    }
    std::vector<double> times;
    for (const double u : roots) {
      if (u > 1e-9 && u < 1 - 1e-9) times.push_back(t0 + u * h);
    }
    std::sort(times.begin(), times.end());
    return times;
  }
  // First time in the step at which the value passes `level` in the direction given; none otherwise.
  [[nodiscard]] std::optional<double> first_passing(double level, bool upwards) const {
    std::vector<double> knots = extremes();
    knots.insert(knots.begin(), t0);
    knots.push_back(t1);
    for (std::size_t i = 1; i < knots.size(); ++i) {
      const double before = at(knots[i - 1]) - level;
      const double after = at(knots[i]) - level;
      const bool passes = upwards ? before < 0 && after >= 0 : before > 0 && after <= 0;
      if (!passes) continue;
      double low = knots[i - 1];
      double high = knots[i];
      for (int k = 0; k < 60 && high - low > 1e-6; ++k) {
        const double middle = 0.5 * (low + high);
        const double value = at(middle) - level;
        ((upwards ? value < 0 : value > 0) ? low : high) = middle;
      }
      return high;
    }
    return std::nullopt;
  }
};

struct LimitWatch {
  NodeId node;
  const TemperatureLimit* limit = nullptr;
  std::vector<Interval> when;
  Finding finding;
  bool seen = false;

  void look(double temperature, Instant time) {
    const double margin = std::min(temperature - limit->low, limit->high - temperature);
    if (!seen || margin < finding.margin) {
      finding.margin = margin;
      finding.value = temperature;
      finding.limit = temperature - limit->low < limit->high - temperature ? limit->low : limit->high;
      finding.time = time;
      seen = true;
    }
    if (margin < 0) {
      if (finding.verdict != Verdict::Fails) finding.interval_begin = time;
      finding.verdict = Verdict::Fails;
      finding.interval_end = time;
    }
  }
};

// A thermostat stays as it is for a second: where its thresholds lie too close together it would otherwise
// switch without end.
constexpr double least_dwell = 1;

class HeatRun {
 public:
  HeatRun(const Station& station, const StartState& start, const Timeline& timeline, const Sky& sky,
          const HeatOptions& options)
      : station_(station),
        timeline_(timeline),
        environment_(station, sky, timeline.begin, timeline.end),
        options_(options),
        length_((timeline.end - timeline.begin).seconds()) {
    const ThermalNetwork& thermal = station.thermal;
    for (const ThermalNode& node : thermal.nodes) network_.capacities.push_back(node.capacity.nominal);
    for (const ThermalLink& link : thermal.links) add_link(link);
    temperatures_ = start.temperatures;
    heaters_on_ = start.heaters_on;
    temperatures_.resize(thermal.nodes.size(), 293.15);
    heaters_on_.resize(thermal.heaters.size(), false);
    heater_since_.resize(thermal.heaters.size(), timeline.begin);
    heater_ready_.resize(thermal.heaters.size(), 0.0);
    for (const Heater& heater : thermal.heaters) {
      heater_enabled_.push_back(intervals_of(timeline, heater.enabled_while));
    }
    result_.traces.resize(thermal.nodes.size());
    for (std::size_t i = 0; i < thermal.nodes.size(); ++i) watch_limits(thermal.nodes.id_at(i));
    gather_breaks();
  }

  HeatResult run() {
    if (network_.capacities.empty()) return std::move(result_);
    NetworkSolver solver(network_, options_.tolerance);
    const std::vector<double> first = temperatures_;
    double t = 0;
    double h = 60;
    keep(0, temperatures_);
    for (std::size_t b = 0; b + 1 < breaks_.size(); ++b) {
      set_segment(breaks_[b]);
      const double stop = (breaks_[b + 1] - timeline_.begin).seconds();
      t = (breaks_[b] - timeline_.begin).seconds();
      while (t < stop && !broken_) {
        switch_heaters(t);
        t = advance(solver, t, stop, h);
      }
    }
    finish(first);
    return std::move(result_);
  }

 private:
  void add_link(const ThermalLink& link) {
    NetworkLink made;
    const bool from_node = link.from.node.is_valid();
    const LinkEnd& near = from_node ? link.from : link.to;
    const LinkEnd& far = from_node ? link.to : link.from;
    if (!near.node.is_valid()) return;  // between two sinks: nothing flows that matters
    made.node = near.node.value;
    made.to_sink = !far.node.is_valid();
    made.other = made.to_sink ? far.sink.value : far.node.value;
    made.radiative = link.radiative;
    made.value = link.value.nominal;
    network_.links.push_back(made);
  }

  void watch_limits(NodeId id) {
    const ThermalNode& node = station_.thermal.nodes[id];
    for (const TemperatureLimit& limit : node.limits) {
      LimitWatch watch;
      watch.node = id;
      watch.limit = &limit;
      watch.when = intervals_of(timeline_, limit.while_state);
      watch.finding.code = limit.kind == LimitKind::Survival ? "heat/survival" : "heat/operating";
      watch.finding.check = CheckKind::Heat;
      watch.finding.subject = node.name;
      if (limit.while_state) watch.finding.subject += " while " + limit.while_state->text;
      watch.finding.dimension = dimensions::temperature_difference;
      watch.finding.limit_origin = limit.origin;
      watches_.push_back(std::move(watch));
    }
  }

  // Instants at which something changes by a step.
  void gather_breaks() {
    const auto add = [&](Instant time) {
      if (time > timeline_.begin && time < timeline_.end) breaks_.push_back(time);
    };
    for (const Draw& draw : timeline_.draws) {
      add(draw.begin.nominal);
      add(draw.end.nominal);
    }
    const auto add_all = [&](const std::vector<Interval>& intervals) {
      for (const Interval& interval : intervals) {
        add(interval.begin);
        add(interval.end);
      }
    };
    for (const auto& intervals : heater_enabled_) add_all(intervals);
    for (const LimitWatch& watch : watches_) add_all(watch.when);
    for (const Instant knot : environment_.knots()) add(knot);
    breaks_.push_back(timeline_.begin);
    breaks_.push_back(timeline_.end);
    std::sort(breaks_.begin(), breaks_.end());
    breaks_.erase(std::unique(breaks_.begin(), breaks_.end()), breaks_.end());
    by_end_.resize(timeline_.draws.size());
    for (std::size_t i = 0; i < by_end_.size(); ++i) by_end_[i] = i;
    std::stable_sort(by_end_.begin(), by_end_.end(), [&](std::size_t a, std::size_t b) {
      return timeline_.draws[a].end.nominal < timeline_.draws[b].end.nominal;
    });
  }

  void add_draw(const Draw& draw, double sign) {
    bus_load_ += sign * draw.load.nominal;
    for (const HeatShare& share : draw.heat) {
      if (share.node.is_valid()) draw_heat_[share.node.value] += sign * draw.load.nominal * share.share;
    }
  }

  // Moves the sums of load and heat on to the segment that begins at `time`.
  void set_segment(Instant time) {
    draw_heat_.resize(network_.capacities.size());
    while (next_begin_ < timeline_.draws.size() && timeline_.draws[next_begin_].begin.nominal <= time) {
      const Draw& draw = timeline_.draws[next_begin_++];
      if (draw.end.nominal > draw.begin.nominal) add_draw(draw, 1);
    }
    while (next_end_ < by_end_.size() && timeline_.draws[by_end_[next_end_]].end.nominal <= time) {
      const Draw& draw = timeline_.draws[by_end_[next_end_++]];
      if (draw.end.nominal > draw.begin.nominal && draw.begin.nominal <= time) add_draw(draw, -1);
    }
    environment_.enter(time);
    segment_ = time;
  }

  void drive(double seconds, Drive& out) const {
    const ThermalNetwork& thermal = station_.thermal;
    const PowerSystem& power = station_.power;
    out.heat = draw_heat_;
    double load = bus_load_;
    for (std::size_t i = 0; i < thermal.heaters.size(); ++i) {
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
    spread(power.dump_heat, std::max(0.0, source - draw));
  }

  [[nodiscard]] Instant instant(double seconds) const {
    return timeline_.begin + duration_from_seconds(seconds).value_or(Duration{});
  }

  void turn(std::size_t heater, bool on, double t) {
    if (heaters_on_[heater] == on) return;
    const Instant now = instant(t);
    if (!on && now > heater_since_[heater]) {
      result_.heaters.push_back({station_.thermal.heaters.id_at(heater), heater_since_[heater], now});
    }
    heaters_on_[heater] = on;
    heater_since_[heater] = now;
    heater_ready_[heater] = t + least_dwell;
  }

  void switch_heaters(double t) {
    for (std::size_t i = 0; i < heaters_on_.size(); ++i) {
      const Heater& heater = station_.thermal.heaters[station_.thermal.heaters.id_at(i)];
      const bool enabled = is_inside(heater_enabled_[i], segment_);
      const double sensed = temperatures_[heater.sensor.value];
      // A hair's breadth of tolerance: the switching was located, the value there is the threshold but for rounding.
      constexpr double hair = 1e-6;
      if (!enabled) {
        turn(i, false, t);
      } else if (t < heater_ready_[i]) {
        continue;
      } else if (sensed >= heater.off_above.nominal - hair) {
        turn(i, false, t);
      } else if (sensed <= heater.on_below.nominal + hair) {
        turn(i, true, t);
      }
    }
  }

  // When the first thermostat switches within the step, if any does.
  [[nodiscard]] std::optional<double> first_switching(const std::vector<Cubic>& cubics, double t) const {
    std::optional<double> first;
    for (std::size_t i = 0; i < heaters_on_.size(); ++i) {
      if (t < heater_ready_[i] || !is_inside(heater_enabled_[i], segment_)) continue;
      const Heater& heater = station_.thermal.heaters[station_.thermal.heaters.id_at(i)];
      const Cubic& cubic = cubics[heater.sensor.value];
      const auto at = heaters_on_[i] ? cubic.first_passing(heater.off_above.nominal, true)
                                     : cubic.first_passing(heater.on_below.nominal, false);
      if (at && (!first || *at < *first)) first = at;
    }
    return first;
  }

  double advance(NetworkSolver& solver, double t, double stop, double& h) {
    const DriveAt drive_at = [this](double seconds, Drive& out) { drive(seconds, out); };
    constexpr double shortest = 1e-6;
    // A thermostat that may not switch yet is asked again when it may.
    const double segment_end = stop;
    for (const double ready : heater_ready_) {
      if (ready > t) stop = std::min(stop, ready);
    }
    std::vector<double> next;
    double step = 0;
    for (;;) {
      step = std::min(h, stop - t);
      if (stop - t - step < 1e-7) step = stop - t;
      const double error = solver.try_step(drive_at, t, step, temperatures_, next);
      const double factor = std::clamp(0.9 * std::pow(std::max(error, 1e-10), -1.0 / 3.0), 0.2, 5.0);
      if (error <= 1 || step <= shortest) {
        if (step >= h || factor < 1) h = std::max(step * factor, shortest);
        break;
      }
      h = std::max(step * factor, shortest);
    }
    ++result_.steps;
    if (!std::all_of(next.begin(), next.end(), [](double x) { return std::isfinite(x); })) {
      // Only a network that no loader lets through gets here; better no answer than an endless search for one.
      broken_ = true;
      return stop;
    }
    Drive begin_drive;
    Drive end_drive;
    drive(t, begin_drive);
    drive(t + step, end_drive);
    std::vector<double> rates0;
    std::vector<double> rates1;
    temperature_rates(network_, begin_drive, temperatures_, rates0);
    temperature_rates(network_, end_drive, next, rates1);
    std::vector<Cubic> cubics(next.size());
    for (std::size_t i = 0; i < next.size(); ++i) {
      cubics[i] = {t, t + step, temperatures_[i], next[i], rates0[i], rates1[i]};
    }
    double end = t + step;
    const auto switching = first_switching(cubics, t);
    if (switching && *switching < end - 1e-7) {
      // The same step again up to the switching: its end is then as good as any other.
      end = std::max(*switching, t + shortest);
      static_cast<void>(solver.try_step(drive_at, t, end - t, temperatures_, next));
      drive(end, end_drive);
      temperature_rates(network_, end_drive, next, rates1);
      for (std::size_t i = 0; i < next.size(); ++i) {
        cubics[i] = {t, end, temperatures_[i], next[i], rates0[i], rates1[i]};
      }
      snap_to_threshold(next, cubics);
    }
    accept(cubics, begin_drive, end_drive, next);
    temperatures_ = next;
    if (stop - end < 1e-9) end = stop;
    return segment_end - end < 1e-9 ? segment_end : end;
  }

  // A located switching must be seen as one: put the sensor exactly on the threshold it has reached.
  void snap_to_threshold(std::vector<double>& next, std::vector<Cubic>& cubics) const {
    for (std::size_t i = 0; i < heaters_on_.size(); ++i) {
      if (cubics.front().t0 < heater_ready_[i] || !is_inside(heater_enabled_[i], segment_)) continue;
      const Heater& heater = station_.thermal.heaters[station_.thermal.heaters.id_at(i)];
      const double level = heaters_on_[i] ? heater.off_above.nominal : heater.on_below.nominal;
      double& sensed = next[heater.sensor.value];
      if (std::abs(sensed - level) < 10 * options_.tolerance) {
        sensed = level;
        cubics[heater.sensor.value].y1 = level;
      }
    }
  }

  void accept(const std::vector<Cubic>& cubics, const Drive& begin_drive, const Drive& end_drive,
              const std::vector<double>& next) {
    const double t0 = cubics.front().t0;
    const double t1 = cubics.front().t1;
    const double middle = 0.5 * (t0 + t1);
    // Simpson's rule for the account.
    Drive middle_drive;
    drive(middle, middle_drive);
    std::vector<double> halfway(next.size());
    for (std::size_t i = 0; i < next.size(); ++i) halfway[i] = cubics[i].at(middle);
    const auto sum = [](const Drive& d) {
      double watts = 0;
      for (const double q : d.heat) watts += q;
      return watts;
    };
    const double weight = (t1 - t0) / 6;
    result_.energy_in += weight * (sum(begin_drive) + 4 * sum(middle_drive) + sum(end_drive));
    result_.energy_out += weight * (sink_flow(network_, begin_drive, temperatures_) +
                                    4 * sink_flow(network_, middle_drive, halfway) +
                                    sink_flow(network_, end_drive, next));

    for (std::size_t i = 0; i < cubics.size(); ++i) {
      for (const double time : cubics[i].extremes()) {
        result_.traces[i].push_back({instant(time), cubics[i].at(time)});
      }
    }
    keep(t1, next);
    for (LimitWatch& watch : watches_) {
      if (!is_inside(watch.when, segment_)) continue;
      const Cubic& cubic = cubics[watch.node.value];
      watch.look(cubic.y0, instant(t0));
      for (const bool upwards : {false, true}) {
        for (const double level : {watch.limit->low, watch.limit->high}) {
          const auto passing = cubic.first_passing(level, upwards);
          // The crossing itself lies on the limit; it bounds the failing interval.
          if (passing) crossing(watch, instant(*passing), level == watch.limit->low ? !upwards : upwards);
        }
      }
      for (const double time : cubic.extremes()) watch.look(cubic.at(time), instant(time));
      watch.look(cubic.y1, instant(t1));
    }
  }

  static void crossing(LimitWatch& watch, Instant time, bool leaves) {
    Finding& finding = watch.finding;
    if (leaves && finding.verdict != Verdict::Fails) {
      finding.verdict = Verdict::Fails;
      finding.interval_begin = finding.interval_end = time;
    } else if (!leaves && finding.verdict == Verdict::Fails) {
      finding.interval_end = std::max(finding.interval_end, time);
    }
  }

  void keep(double t, const std::vector<double>& temperatures) {
    const Instant time = instant(t);
    for (std::size_t i = 0; i < temperatures.size(); ++i) {
      std::vector<TemperaturePoint>& trace = result_.traces[i];
      if (t > 0 && t < length_ && options_.keep_every.nanoseconds > 0 && !trace.empty() &&
          time - trace.back().time < options_.keep_every) {
        continue;
      }
      trace.push_back({time, temperatures[i]});
    }
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
    for (LimitWatch& watch : watches_) {
      if (broken_) {
        watch.finding.verdict = Verdict::Fails;
        watch.finding.has_margin = false;
        watch.finding.time = watch.finding.interval_begin = watch.finding.interval_end = timeline_.begin;
        watch.finding.detail = "the network's temperatures cannot be computed from its values";
      } else if (!watch.seen) {  // the condition never held
        watch.finding.has_margin = false;
        watch.finding.time = timeline_.begin;
        watch.finding.detail = "never in that state";
      }
      if (watch.finding.verdict != Verdict::Fails) {
        watch.finding.interval_begin = watch.finding.interval_end = watch.finding.time;
      }
      result_.findings.push_back(std::move(watch.finding));
    }
  }

  const Station& station_;
  const Timeline& timeline_;
  Environment environment_;
  const HeatOptions options_;
  double length_;
  Network network_;
  std::vector<double> temperatures_;
  std::vector<bool> heaters_on_;
  std::vector<Instant> heater_since_;
  std::vector<double> heater_ready_;  // s: not switched by its sensor before
  std::vector<std::vector<Interval>> heater_enabled_;
  std::vector<LimitWatch> watches_;
  std::vector<Instant> breaks_;
  std::vector<std::size_t> by_end_;
  std::size_t next_begin_ = 0;
  std::size_t next_end_ = 0;
  std::vector<double> draw_heat_;
  double bus_load_ = 0;
  Instant segment_;
  bool broken_ = false;
  HeatResult result_;
};

}  // namespace

HeatResult check_heat(const Station& station, const StartState& start, const Timeline& timeline, const Sky& sky,
                      const HeatOptions& options) {
  return HeatRun(station, start, timeline, sky, options).run();
}

}  // namespace cairn
