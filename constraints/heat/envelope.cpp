// Both bounds stepped together through the load, their thermostats between them.

#include "constraints/heat/envelope.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <iterator>
#include <limits>
#include <optional>
#include <utility>

#include "constraints/heat/band.h"
#include "constraints/heat/bound_system.h"
#include "constraints/heat/course.h"
#include "constraints/heat/environment.h"
#include "constraints/heat/exact.h"
#include "constraints/heat/limits.h"
#include "constraints/heat/may_be.h"
#include "constraints/heat/solver.h"
#include "constraints/heat/step_length.h"
#include "constraints/power/bound_draws.h"

namespace cairn {

namespace {

constexpr double band_tolerance = 0.01;  // K, of the points kept
constexpr double band_share = 0.005;     // or of the band's width
constexpr double small_bend = 0.003;     // K: a course that strays so little from its chord is not read

// A limit's least guaranteed margin.
struct Guard {
  NodeId node;
  const TemperatureLimit* limit;
  Condition condition;
  bool seen = false;
  double margin = std::numeric_limits<double>::infinity();
  double value = 0;
  bool at_low = false;
  double time = 0;
  bool crossed = false;
  double first = 0;
  double last = 0;
};

class EnvelopeRun {
 public:
  EnvelopeRun(const Station& station, const StartState& start, const Timeline& timeline, const Sky& sky,
              const HeatOptions& options, HeatResult& result)
      : station_(station),
        timeline_(timeline),
        exact_(is_exact(station, start, timeline)),
        environment_(!exact_ && options.surroundings != nullptr &&
                             options.surroundings->are_of(station, sky, timeline)
                         ? *options.surroundings->bounded
                         : Environment(station, sky, timeline.begin, timeline.end, true, exact_)),
        heaters_(thermostats(station, start, timeline)),
        bounds_(station, timeline, heaters_, options.tolerance * (exact_ ? 1 : coarser), options.modal_up_to),
        low_(bounds_.low),
        high_(bounds_.high),
        result_(result),
        envelope_(result.envelope) {
    const ThermalNetwork& thermal = station.thermal;
    const std::size_t nodes = thermal.nodes.size();
    for (std::size_t i = 0; i < nodes; ++i) {
      double low = i < start.temperatures.size() ? start.temperatures[i] : 293.15;
      double high = low;
      if (i < start.lowest_temperatures.size()) low = std::min(low, start.lowest_temperatures[i]);
      if (i < start.highest_temperatures.size()) high = std::max(high, start.highest_temperatures[i]);
      bounds_.temperatures[i] = Pair{low, high};
      if (options.traces) bands_.emplace_back(band_tolerance, band_share, timeline.begin, low, high);
      const NodeId id = thermal.nodes.id_at(i);
      for (const TemperatureLimit& limit : thermal.nodes[id].limits) {
        guards_.push_back({id, &limit, Condition(timeline, limit.while_state, Condition::Reading::Possible)});
      }
    }
    on_since_.resize(heaters_.size());
    surely_since_.resize(heaters_.size());
    gather_breaks();
  }

  void run() {
    if (bounds_.temperatures.empty()) return;
    for (std::size_t b = 0; b + 1 < breaks_.size() && !broken_; ++b) {
      set_segment(breaks_[b]);
      segment_end_ = breaks_[b + 1];
      const double stop = (breaks_[b + 1] - timeline_.begin).seconds();
      double t = (breaks_[b] - timeline_.begin).seconds();
      settle_heaters(t);
      while (t < stop && !broken_) {
        t = advance(t, stop);
        settle_heaters(t);
      }
    }
    finish();
  }

 private:
  // A bound need not be as exact as the nominal course: what it is off by widens it. Where nothing is
  // uncertain it is that course, and thermostats that switch at slightly other times would lead the two
  // apart.
  static constexpr double coarser = 3;
  // K: thermostats are taken to know so little more than their bounds' errors at a step's begin say.
  static constexpr double most_growth = 0.002;
  static constexpr double shortest_halved = 1e-3;  // s

  static std::vector<MayBe> thermostats(const Station& station, const StartState& start,
                                        const Timeline& timeline) {
    std::vector<MayBe> list;
    for (std::size_t i = 0; i < station.thermal.heaters.size(); ++i) {
      const bool on = i < start.heaters_on.size() && start.heaters_on[i];
      const bool unsure = i < start.heaters_unsure.size() && start.heaters_unsure[i];
      list.emplace_back(timeline, station.thermal.heaters[station.thermal.heaters.id_at(i)], on || unsure,
                        !on || unsure);
    }
    return list;
  }

  void gather_breaks() {
    const auto add = [&](Instant time) {
      if (time > timeline_.begin && time < timeline_.end) breaks_.push_back(time);
    };
    const auto add_draws = [&](const BoundDraws& draws) {
      std::vector<Instant> begins;
      std::vector<Instant> ends;
      for (const BoundDraw& draw : draws.draws()) {
        if (draw.begin > timeline_.begin && (begins.empty() || begins.back() != draw.begin))
          begins.push_back(draw.begin);
      }
      for (const std::size_t i : draws.by_end()) {
        const Instant end = draws.draws()[i].end;
        if (end < timeline_.end && (ends.empty() || ends.back() != end)) ends.push_back(end);
      }
      std::vector<Instant> merged;
      std::merge(begins.begin(), begins.end(), ends.begin(), ends.end(), std::back_inserter(merged));
      const auto middle = static_cast<std::ptrdiff_t>(breaks_.size());
      breaks_.insert(breaks_.end(), merged.begin(), merged.end());
      std::inplace_merge(breaks_.begin(), breaks_.begin() + middle, breaks_.end());
      breaks_.erase(std::unique(breaks_.begin(), breaks_.end()), breaks_.end());
    };
    add_draws(low_.draws);
    add_draws(high_.draws);
    const auto middle = static_cast<std::ptrdiff_t>(breaks_.size());
    for (const Instant knot : environment_.knots()) add(knot);
    const auto add_all = [&](const Condition& condition) {
      for (const Condition::Interval& interval : condition.intervals()) {
        add(interval.begin);
        add(interval.end);
      }
    };
    for (const MayBe& heater : heaters_) {
      add_all(heater.possible());
      add_all(heater.sure());
    }
    for (const Guard& guard : guards_) add_all(guard.condition);
    breaks_.push_back(timeline_.begin);
    breaks_.push_back(timeline_.end);
    std::sort(breaks_.begin() + middle, breaks_.end());
    std::inplace_merge(breaks_.begin(), breaks_.begin() + middle, breaks_.end());
    breaks_.erase(std::unique(breaks_.begin(), breaks_.end()), breaks_.end());
  }

  void sum_draw(BoundSide& side, const BoundDraw& draw, double sign) {
    length_.jump();
    side.bus_load += sign * draw.load;
    for (const HeatShare& share : *draw.heat) {
      if (share.node.is_valid()) side.draw_heat[share.node.value] += sign * draw.load * share.share;
    }
  }

  void set_segment(Instant time) {
    for (BoundSide* side : {&low_, &high_}) {
      const std::vector<BoundDraw>& draws = side->draws.draws();
      const std::vector<std::size_t>& by_end = side->draws.by_end();
      while (side->next_begin < draws.size() && draws[side->next_begin].begin <= time) {
        sum_draw(*side, draws[side->next_begin++], 1);
      }
      while (side->next_end < by_end.size() && draws[by_end[side->next_end]].end <= time) {
        sum_draw(*side, draws[by_end[side->next_end++]], -1);
      }
    }
    environment_.enter(time);
    for (MayBe& heater : heaters_) heater.enter(time);
    for (Guard& guard : guards_) guard.condition.enter(time);
  }

  void drive(double seconds, DriveOf<Pair>& out) const {
    const PowerSystem& power = station_.power;
    const std::size_t sinks = station_.thermal.sinks.size();
    out.heat.resize(low_.draw_heat.size());
    for (std::size_t i = 0; i < out.heat.size(); ++i)
      out.heat[i] = Pair{low_.draw_heat[i], high_.draw_heat[i]};
    out.sinks.resize(sinks + heaters_.size());
    double least_load = std::max(0.0, low_.bus_load);
    double most_load = std::max(least_load, high_.bus_load);
    for (std::size_t i = 0; i < heaters_.size(); ++i) {
      const MayBe& may_be = heaters_[i];
      const Heater& heater = may_be.heater();
      if (may_be.may_be_on()) most_load += heater.power.high;
      if (!may_be.may_be_off()) least_load += heater.power.low;
      out.heat[heater.node.value] += Pair{may_be.lower() == Heating::Full ? heater.power.low : 0,
                                          may_be.upper() == Heating::Full ? heater.power.high : 0};
      out.sinks[sinks + i] = Pair{may_be.lower_hold(), may_be.upper_hold() + MayBe::hold_width};
    }
    const Pair source = environment_.apply(seconds, out.heat, out.sinks);
    const auto spread = [&](const std::vector<HeatShare>& shares, Pair watts) {
      for (const HeatShare& share : shares) {
        if (share.node.is_valid()) out.heat[share.node.value] += watts * share.share;
      }
    };
    const Bounded draw = draw_range(power, least_load, most_load);
    if (!power.converter_heat.empty()) {
      const Bounded loss = loss_range(power, least_load, most_load);
      spread(power.converter_heat, Pair{loss.low, loss.high});
    }
    const Pair spare = source - Pair{draw.high + most_taken_in(power), draw.low};
    spread(power.dump_heat, greater_of(spare, Pair{}));
    if (power.storage) spread(power.storage->heat, Pair{0, most_storage_loss(power, spare[1], draw.high)});
  }

  [[nodiscard]] Instant instant(double seconds) const {
    return timeline_.begin + duration_from_seconds(seconds).value_or(Duration{});
  }

  // ---- thermostats

  // No temperature of the node changes faster than this, K/s, while all stay within the bounds.
  [[nodiscard]] double fastest(std::size_t node, const DriveOf<Pair>& drive) const {
    const std::vector<Pair>& temperatures = bounds_.temperatures;
    double watts = std::abs(drive.heat[node][1]);
    for (const MayBe& heater : heaters_) {
      if (heater.heater().node.value == node) watts += heater.heater().power.high;
    }
    for (std::size_t k = 0; k < bounds_.network.links.size(); ++k) {
      const NetworkLink& link = bounds_.network.links[k];
      if (link.value <= 0 || (link.node != node && (link.to_sink || link.other != node))) continue;
      const std::size_t other = link.node == node ? link.other : link.node;
      const double high = link.to_sink ? drive.sinks[other][1] : temperatures[other][1];
      const double low = link.to_sink ? 0 : temperatures[other][0];
      const double strongest = link.value + bounds_.spread.links[k];
      const double span = std::max(high - temperatures[node][0], temperatures[node][1] - low);
      const auto fourth = [](double x) { return x * x * x * x; };
      watts += link.radiative ? stefan_boltzmann * strongest * (fourth(high) + fourth(temperatures[node][1]))
                              : strongest * std::max(0.0, span);
    }
    return 2 * watts / bounds_.network.capacities[node] * (1 + bounds_.spread.capacities[node]);
  }

  // K by which either bound of the node may be off, until the next step's end.
  [[nodiscard]] double off(std::size_t node) const {
    return exact_ ? 0 : greatest(bounds_.displacement.off[node]) + most_growth;
  }

  // Whether a thermostat's sensor may be off by more at the end of the step tried last than was thought when
  // the step looked for switchings.
  [[nodiscard]] bool outgrows() const {
    if (exact_) return false;
    return std::any_of(heaters_.begin(), heaters_.end(), [&](const MayBe& heater) {
      const std::size_t sensor = heater.heater().sensor.value;
      return greatest(bounds_.displacement_then.off[sensor]) > off(sensor);
    });
  }

  void settle_heaters(double t) {
    if (heaters_.empty()) return;
    drive(t_, now_);
    for (std::size_t i = 0; i < heaters_.size(); ++i) {
      MayBe& heater = heaters_[i];
      const std::size_t sensor = heater.heater().sensor.value;
      heater.set_fastest(fastest(sensor, now_));
      const bool was_on = heater.may_be_on();
      const bool was_sure = !heater.may_be_off();
      heater.settle(bounds_.temperatures[sensor][0], bounds_.temperatures[sensor][1], off(sensor));
      const HeaterId id = station_.thermal.heaters.id_at(i);
      note(id, t, was_on, heater.may_be_on(), on_since_[i], envelope_.may_be_on);
      note(id, t, was_sure, !heater.may_be_off(), surely_since_[i], envelope_.surely_on);
      if (!heater.own_sensor()) continue;
      const Bounded& power = heater.heater().power;
      bounds_.solver.set_contact(bounds_.holds[i],
                                 Pair{heater.lower() == Heating::Held ? power.low / MayBe::hold_width : 0,
                                      heater.upper() == Heating::Held ? power.high / MayBe::hold_width : 0});
    }
  }

  void note(HeaterId id, double t, bool was, bool is, std::optional<double>& since,
            std::vector<HeaterInterval>& intervals) {
    if (is && !since) since = t;
    if (!is && since) {
      if (was && t > *since) intervals.push_back({id, instant(*since), instant(t)});
      since.reset();
    }
  }

  // ---- steps

  double try_step(double t, double h) {
    t_ = t;
    step_ = h;
    return bounds_.try_step(t, h, [this](double seconds, DriveOf<Pair>& out) { drive(seconds, out); });
  }

  const std::vector<Cubic>& course(BoundSide& side, std::size_t node) {
    std::vector<Cubic>& pieces = side.courses[node];
    if (pieces.empty()) {
      read_course(bounds_.solver, node, t_, step_, small_bend, pieces, side.index);
      pieces.back().y1 = bounds_.next[node][side.index];
    }
    return pieces;
  }

  struct Event {
    double time = 0;
    std::size_t side = 0;
    std::size_t sensor = 0;
    double level = 0;
  };

  [[nodiscard]] std::optional<Event> first_event() {
    std::optional<Event> first;
    for (const MayBe& heater : heaters_) {
      const std::size_t sensor = heater.heater().sensor.value;
      const double unsure = off(sensor);
      for (BoundSide* side : {&low_, &high_}) {
        const double bend = bounds_.solver.bend(sensor, side->index) + small_bend;
        const double from = bounds_.temperatures[sensor][side->index];
        const double to = bounds_.next[sensor][side->index];
        const double least = std::min(from, to) - bend;
        const double most = std::max(from, to) + bend;
        for (const bool upwards : {false, true}) {
          const MayBe::Levels levels = side->direction > 0 ? heater.upper_levels(upwards, unsure)
                                                           : heater.lower_levels(upwards, unsure);
          for (std::size_t k = 0; k < levels.count; ++k) {
            const double level = levels.values[k];
            if (level < least || level > most) continue;
            for (const Cubic& cubic : course(*side, sensor)) {
              const auto at = cubic.first_passing(level, upwards);
              if (!at) continue;
              if (!first || *at < first->time) first = Event{*at, side->index, sensor, level};
              break;
            }
          }
        }
      }
    }
    return first;
  }

  // The step again up to an event; a shorter step is not quite the same solution, so its end is moved until
  // the bound stands on the level.
  double step_to(double t, double step, const Event& event) {
    constexpr double shortest = StepLength::shortest;
    constexpr double close = 1e-6;  // K
    double end = std::max(event.time, t + shortest);
    for (int turn = 1;; ++turn) {
      static_cast<void>(try_step(t, end - t));
      const Reading reading = bounds_.solver.at(event.sensor, 1, event.side);
      const double moved = end + (event.level - reading.temperature) / reading.rate;
      if (turn == 5 || std::abs(reading.temperature - event.level) < close ||
          !(moved > t + shortest && moved < t + step))
        break;
      end = moved;
    }
    // Nothing must have happened before.
    for (int turn = 0; turn < 8; ++turn) {
      const auto before = first_event();
      if (!before || before->time > end - 1e-4) break;
      end = std::max(before->time, t + shortest);
      static_cast<void>(try_step(t, end - t));
    }
    Pair& sensed = bounds_.next[event.sensor];
    if (std::abs(sensed[event.side] - event.level) < 10 * close) sensed[event.side] = event.level;
    return end;
  }

  double advance(double t, const double stop) {
    double end = 0;
    double longest = stop - t;
    do {
      double step = 0;
      do {
        step = std::min(length_.next(), longest);
        if (stop - t - step < 1e-7) step = stop - t;
      } while (!length_.judge(step, try_step(t, step)));
      end = t + step;
      if (!heaters_.empty()) {
        const auto event = first_event();
        if (event && event->time < end - 1e-7) end = step_to(t, step, *event);
      }
      bounds_.foresee_displacement();
      longest = 0.5 * (end - t);
    } while (outgrows() && longest > shortest_halved);
    ++envelope_.steps;
    broken_ |= !std::all_of(bounds_.next.begin(), bounds_.next.end(),
                            [](Pair x) { return std::isfinite(x[0]) && std::isfinite(x[1]); });
    // Bounds that never get on are none.
    crawling_ = end - t < 1e-4 && end < stop ? crawling_ + 1 : 0;
    broken_ |= crawling_ > most_crawling;
    if (broken_) return stop;
    if (stop - end < 1e-9) end = stop;
    accept(end == stop ? segment_end_ : instant(end));
    return end;
  }

  void accept(Instant end) {
    envelope_.numerical = std::max(envelope_.numerical, bounds_.accept_displacement());
    for (Guard& guard : guards_) {
      if (guard.condition.holds()) watch(guard);
    }
    for (std::size_t i = 0; i < bands_.size(); ++i) keep(i, end);
    bounds_.temperatures = bounds_.next;
  }

  // The side's furthest temperature within the step, and when.
  std::pair<double, double> furthest(BoundSide& side, std::size_t node) {
    const double sign = side.direction;
    std::pair<double, double> found{of_side(bounds_.temperatures[node], side.index), t_};
    const auto look = [&](double temperature, double time) {
      if (sign * temperature > sign * found.first) found = {temperature, time};
    };
    look(bounds_.next[node][side.index], t_ + step_);
    const double bend = bounds_.solver.bend(node, side.index);
    if (bend > small_bend) {
      for (const Cubic& cubic : course(side, node)) {
        look(cubic.y0, cubic.t0);
        for (const double time : cubic.extremes()) look(cubic.at(time), time);
      }
      found.first += sign * small_bend;
    } else {
      found.first += sign * bend;
    }
    found.first += sign * bounds_.off_in_step[node][side.index];
    return found;
  }

  void watch(Guard& guard) {
    const std::size_t node = guard.node.value;
    const auto look = [&](double margin, const std::pair<double, double>& at, bool at_low) {
      if (margin < guard.margin) {
        guard.margin = margin;
        guard.value = at.first;
        guard.time = at.second;
        guard.at_low = at_low;
      }
      if (margin < 0) {
        if (!guard.crossed) guard.first = t_;
        guard.crossed = true;
        guard.last = t_ + step_;
      }
    };
    // Cheap first: what cannot come nearer than has been seen need not be read.
    const Pair from = bounds_.temperatures[node];
    const Pair to = bounds_.next[node];
    const Pair off = bounds_.off_in_step[node];
    const double low_bound = std::min(from[0], to[0]) - bounds_.solver.bend(node, 0) - off[0];
    const double high_bound = std::max(from[1], to[1]) + bounds_.solver.bend(node, 1) + off[1];
    const double enough = guard.seen ? std::max(0.0, guard.margin) : std::numeric_limits<double>::infinity();
    if (low_bound - guard.limit->low < enough) {
      const auto low = furthest(low_, node);
      look(low.first - guard.limit->low, low, true);
    }
    if (guard.limit->high - high_bound < enough) {
      const auto high = furthest(high_, node);
      look(guard.limit->high - high.first, high, false);
    }
    guard.seen = true;
  }

  void keep(std::size_t node, Instant end) {
    const double low_bend = bounds_.solver.bend(node, 0);
    const double high_bend = bounds_.solver.bend(node, 1);
    const double low_off = bounds_.off_in_step[node][0];
    const double high_off = bounds_.off_in_step[node][1];
    const double tolerance = bands_[node].tolerance(bounds_.next[node][0], bounds_.next[node][1]);
    if (std::max(low_bend, high_bend) <= tolerance) {
      bands_[node].add(end, bounds_.next[node][0] - low_off, bounds_.next[node][1] + high_off, low_bend,
                       high_bend);
      return;
    }
    // Both courses at the ends of both their pieces, read no closer than need be.
    const auto straight = [&](BoundSide& side, std::vector<Cubic>& pieces) {
      if (!side.courses[node].empty()) {
        straighten(side.courses[node], tolerance, pieces);
        return small_bend;
      }
      const double close = std::max(small_bend, 0.25 * tolerance);
      read_course(bounds_.solver, node, t_, step_, close, kept_, side.index);
      kept_.back().y1 = bounds_.next[node][side.index];
      straighten(kept_, tolerance, pieces);
      return close;
    };
    const double low_close = straight(low_, lows_);
    const double high_close = straight(high_, highs_);
    const std::vector<Cubic>& lows = lows_;
    const std::vector<Cubic>& highs = highs_;
    std::size_t l = 0;
    std::size_t h = 0;
    while (l < lows.size() && h < highs.size()) {
      const double time = std::min(lows[l].t1, highs[h].t1);
      const bool last = l + 1 == lows.size() && h + 1 == highs.size();
      bands_[node].add(last ? end : instant(time), lows[l].at(time) - low_off, highs[h].at(time) + high_off,
                       lows[l].bulge(-1) + low_close, highs[h].bulge(1) + high_close);
      const bool low_done = lows[l].t1 <= time;
      const bool high_done = highs[h].t1 <= time;
      if (last) break;
      if (low_done && l + 1 < lows.size()) ++l;
      if (high_done && h + 1 < highs.size()) ++h;
    }
  }

  void finish() {
    const double end = (timeline_.end - timeline_.begin).seconds();
    for (std::size_t i = 0; i < heaters_.size(); ++i) {
      const HeaterId id = station_.thermal.heaters.id_at(i);
      note(id, end, true, false, on_since_[i], envelope_.may_be_on);
      note(id, end, true, false, surely_since_[i], envelope_.surely_on);
      envelope_.end_may_be_on.push_back(heaters_[i].may_be_on());
      envelope_.end_may_be_off.push_back(heaters_[i].may_be_off());
    }
    for (std::vector<HeaterInterval>* list : {&envelope_.may_be_on, &envelope_.surely_on}) {
      std::sort(list->begin(), list->end(), [](const HeaterInterval& a, const HeaterInterval& b) {
        return a.begin != b.begin ? a.begin < b.begin : a.heater < b.heater;
      });
    }
    for (BandKeeper& band : bands_) envelope_.bands.push_back(band.finish());
    for (std::size_t i = 0; i < bounds_.temperatures.size(); ++i) {
      envelope_.end_low.push_back(bounds_.temperatures[i][0] - bounds_.displacement.off[i][0]);
      envelope_.end_high.push_back(bounds_.temperatures[i][1] + bounds_.displacement.off[i][1]);
    }
    for (std::size_t k = 0; k < guards_.size(); ++k) judge(guards_[k], result_.findings[k]);
  }

  void judge(const Guard& guard, Finding& finding) const {
    if (broken_) {
      if (finding.verdict == Verdict::Holds) finding.verdict = Verdict::Unproven;
      finding.detail = "no bounds can be computed for the network's temperatures";
      return;
    }
    finding.assurance = Assurance::Guaranteed;
    if (!guard.seen) return;
    finding.has_guaranteed = true;
    finding.guaranteed_margin = guard.margin;
    finding.guaranteed_value = guard.value;
    finding.guaranteed_limit = guard.at_low ? guard.limit->low : guard.limit->high;
    finding.guaranteed_time = instant(guard.time);
    if (finding.verdict == Verdict::Fails || guard.margin >= 0) return;
    finding.verdict = Verdict::Unproven;
    finding.interval_begin = instant(guard.first);
    finding.interval_end = instant(guard.last);
  }

  const Station& station_;
  const Timeline& timeline_;
  bool exact_;
  Environment environment_;
  std::vector<MayBe> heaters_;
  BoundSystem bounds_;
  BoundSide& low_;
  BoundSide& high_;
  DriveOf<Pair> now_;
  HeatResult& result_;
  HeatEnvelope& envelope_;
  std::vector<Guard> guards_;
  std::vector<BandKeeper> bands_;
  std::vector<std::optional<double>> on_since_;
  std::vector<std::optional<double>> surely_since_;
  std::vector<Instant> breaks_;
  Instant segment_end_;
  std::vector<Cubic> kept_, lows_, highs_;  // of the node that is being kept
  double t_ = 0;
  double step_ = 0;
  StepLength length_;
  static constexpr int most_crawling = 5'000;
  int crawling_ = 0;  // steps one after the other that are as good as none
  bool broken_ = false;
};

}  // namespace

void bound_heat(const Station& station, const StartState& start, const Timeline& timeline, const Sky& sky,
                const HeatOptions& options, HeatResult& result) {
  EnvelopeRun(station, start, timeline, sky, options, result).run();
}

}  // namespace cairn
