// The power check by one sweep: between two changes of load only the sources move, and they only fall.
//
// So the reserve over a step is least at the step's end; both ends become points, and where the floor is
// crossed inside a step the crossing is found by halving.

#include "constraints/power/power.h"

#include <algorithm>
#include <map>
#include <optional>

#include "constraints/power/bound_draws.h"
#include "constraints/power/sweep.h"

namespace cairn {

namespace {

constexpr std::int64_t day_nanoseconds = 86'400 * nanoseconds_per_second;

struct HeaterChange {
  Instant time;
  double power = 0;  // W, negative where a heater goes off
  bool begins = false;
};

std::vector<HeaterChange> heater_changes(const Station& station, const Timeline& timeline,
                                         const std::vector<HeaterInterval>& heaters) {
  std::vector<HeaterChange> changes;
  for (const HeaterInterval& interval : heaters) {
    const Instant begin = std::max(interval.begin, timeline.begin);
    const Instant end = std::min(interval.end, timeline.end);
    if (end <= begin) continue;
    const double power = station.thermal.heaters[interval.heater].power.nominal;
    changes.push_back({begin, power, true});
    changes.push_back({end, power, false});
  }
  std::sort(changes.begin(), changes.end(), [](const HeaterChange& a, const HeaterChange& b) {
    return a.time != b.time ? a.time < b.time : a.begins < b.begins;
  });
  return changes;
}

// First time in [begin, end] at which source power is below `needed`, given that it is so at the end.
Instant falls_below(const PowerSystem& power, double needed, Instant begin, Instant end) {
  if (source_power(power, begin, Bound::Nominal) < needed) return begin;
  while ((end - begin).nanoseconds > 1) {
    const Instant middle = begin + Duration{(end - begin).nanoseconds / 2};
    (source_power(power, middle, Bound::Nominal) < needed ? end : begin) = middle;
  }
  return end;
}

class Reserve {
 public:
  Reserve(const Station& station, const Timeline& timeline, PowerResult& result)
      : station_(&station), timeline_(&timeline), result_(&result), shed_(station.units.size(), false) {}

  void step(Instant begin, Instant end, double load, double heaters,
            const std::vector<std::uint32_t>& active) {
    const PowerSystem& power = station_->power;
    const double needed = source_draw(power, load, Bound::Nominal);
    for (const Instant time : {begin, end}) {
      const double source = source_power(power, time, Bound::Nominal);
      result_->points.push_back({time, source, load, heaters, source - needed});
      if (!least_ || result_->points.back().reserve < least_->reserve) least_ = result_->points.back();
    }
    if (result_->points.back().reserve < power.reserve_floor) {
      if (!failed_) first_failure_ = falls_below(power, needed + power.reserve_floor, begin, end);
      failed_ = true;
      last_failure_ = end;
    }
    if (result_->points.back().reserve < 0) shed(begin, end, load, active);
  }

  void settle() const {
    Finding& finding = result_->finding;
    finding.time = finding.interval_begin = finding.interval_end = timeline_->begin;
    if (!least_) {  // no time passes
      finding.has_margin = false;
      return;
    }
    finding.value = least_->reserve;
    finding.margin = least_->reserve - station_->power.reserve_floor;
    finding.time = finding.interval_begin = finding.interval_end = least_->time;
    if (!failed_) return;
    finding.verdict = Verdict::Fails;
    finding.interval_begin = first_failure_;
    finding.interval_end = last_failure_;
    if (result_->shed.empty()) return;
    finding.detail = "units would be shed: ";
    for (const ShedStep& step : result_->shed) {
      finding.detail += (&step == result_->shed.data() ? "" : ", ") + station_->units[step.unit].name;
    }
  }

 private:
  // Units leave the bus in their order, and stay off it, until the rest can be borne.
  void shed(Instant begin, Instant end, double load, const std::vector<std::uint32_t>& active) {
    std::map<UnitId, double> draws;
    for (std::uint32_t index : active) {
      const Draw& draw = timeline_->draws[index];
      draws[draw.unit] += draw.load.nominal;
    }
    for (const auto& [unit, watts] : draws) {
      if (unit.is_valid() && shed_[unit.value]) load -= watts;
    }
    const double source = source_power(station_->power, end, Bound::Nominal);
    for (UnitId unit : station_->power.shed_order) {
      const double needed = source_draw(station_->power, load, Bound::Nominal);
      if (source - needed >= 0) return;
      const auto watts = draws.find(unit);
      if (shed_[unit.value] || watts == draws.end() || watts->second <= 0) continue;
      shed_[unit.value] = true;
      result_->shed.push_back({falls_below(station_->power, needed, begin, end), unit});
      load -= watts->second;
    }
  }

  const Station* station_;
  const Timeline* timeline_;
  PowerResult* result_;
  std::vector<bool> shed_;
  std::optional<PowerPoint> least_;
  bool failed_ = false;
  Instant first_failure_;
  Instant last_failure_;
};

std::vector<UnitEnergy> energy_per_day(const Station& station, const Timeline& timeline,
                                       const std::vector<HeaterInterval>& heaters) {
  std::map<std::pair<UnitId, std::int64_t>, double> energy;
  const auto add = [&](UnitId unit, double power, Instant from, Instant to) {
    const Instant begin = std::max(from, timeline.begin);
    const Instant end = std::min(to, timeline.end);
    for (Instant time = begin; time < end;) {
      const std::int64_t day = (time - timeline.begin).nanoseconds / day_nanoseconds;
      const Instant stop = std::min(end, timeline.begin + Duration{(day + 1) * day_nanoseconds});
      energy[{unit, day}] += power * (stop - time).seconds();
      time = stop;
    }
  };
  for (const Draw& draw : timeline.draws) {
    add(draw.unit, draw.load.nominal, draw.begin.nominal, draw.end.nominal);
  }
  for (const HeaterInterval& interval : heaters) {
    add({}, station.thermal.heaters[interval.heater].power.nominal, interval.begin, interval.end);
  }
  std::vector<UnitEnergy> result;
  result.reserve(energy.size());
  for (const auto& [key, joules] : energy) result.push_back({key.first, key.second, joules});
  return result;
}

// Load by load as it may be, and what the sources give at least.
class Guarantee {
 public:
  Guarantee(const Station& station, const Timeline& timeline, const std::vector<HeaterInterval>& may_be_on)
      : station_(station), timeline_(timeline), draws_(timeline, Bound::High) {
    const auto add = [&](Instant begin, Instant end, double watts) {
      begin = std::max(begin, timeline.begin);
      end = std::min(end, timeline.end);
      if (begin >= end) return;
      changes_.push_back({begin, watts, true});
      changes_.push_back({end, watts, false});
    };
    for (const BoundDraw& draw : draws_.draws()) add(draw.begin, draw.end, draw.load);
    for (const HeaterInterval& interval : may_be_on) {
      add(interval.begin, interval.end, station.thermal.heaters[interval.heater].power.high);
    }
    std::sort(changes_.begin(), changes_.end(),
              [](const Change& a, const Change& b) { return a.time < b.time; });
  }

  void judge(PowerResult& result) {
    Finding& finding = result.finding;
    finding.assurance = Assurance::Guaranteed;
    double load = 0;
    std::size_t on = 0;
    for (std::size_t i = 0; i <= changes_.size();) {
      const Instant begin = i == 0 ? timeline_.begin : changes_[i - 1].time;
      const Instant end = i == changes_.size() ? timeline_.end : changes_[i].time;
      if (begin < end) step(result, begin, end, load);
      if (i == changes_.size()) break;
      const Instant time = changes_[i].time;
      for (; i < changes_.size() && changes_[i].time == time; ++i) {
        load += changes_[i].begins ? changes_[i].watts : -changes_[i].watts;
        on += changes_[i].begins ? 1 : std::size_t(-1);
      }
      if (on == 0) load = 0;  // no rounding left over from the sums
    }
    if (finding.has_guaranteed && finding.guaranteed_margin < 0 && finding.verdict == Verdict::Holds) {
      finding.verdict = Verdict::Unproven;
      finding.interval_begin = first_;
      finding.interval_end = last_;
    }
  }

 private:
  struct Change {
    Instant time;
    double watts = 0;
    bool begins = false;
  };

  void step(PowerResult& result, Instant begin, Instant end, double load) {
    Finding& finding = result.finding;
    const double needed = source_draw(station_.power, std::max(load, 0.0), Bound::Low);
    for (const Instant time : {begin, end}) {
      // The clock may be late, so that the source is weaker than at the time it shows.
      const double source =
          source_power(station_.power, time + clock_uncertainty(station_.clock, time), Bound::Low);
      const double reserve = source - needed;
      result.guaranteed.push_back({time, source, load, reserve});
      const double margin = reserve - station_.power.reserve_floor;
      if (!finding.has_guaranteed || margin < finding.guaranteed_margin) {
        finding.has_guaranteed = true;
        finding.guaranteed_margin = margin;
        finding.guaranteed_value = reserve;
        finding.guaranteed_limit = station_.power.reserve_floor;
        finding.guaranteed_time = time;
      }
      if (margin >= 0) continue;
      if (!crossed_) first_ = begin;
      crossed_ = true;
      last_ = end;
    }
  }

  const Station& station_;
  const Timeline& timeline_;
  BoundDraws draws_;
  std::vector<Change> changes_;
  bool crossed_ = false;
  Instant first_;
  Instant last_;
};

}  // namespace

PowerResult check_power(const Station& station, const Timeline& timeline,
                        const std::vector<HeaterInterval>& heaters,
                        const std::vector<HeaterInterval>* may_be_on) {
  PowerResult result;
  result.finding.code = "power/reserve";
  result.finding.check = CheckKind::Power;
  result.finding.subject = "bus";
  result.finding.dimension = dimensions::power;
  result.finding.limit = station.power.reserve_floor;
  result.finding.limit_origin = station.power.reserve_floor_origin;

  DrawSweep draws(timeline);
  const std::vector<HeaterChange> switchings = heater_changes(station, timeline, heaters);
  std::vector<Instant> times = draws.times();
  times.push_back(timeline.begin);
  times.push_back(timeline.end);
  for (const HeaterChange& change : switchings) times.push_back(change.time);
  std::sort(times.begin(), times.end());
  times.erase(std::unique(times.begin(), times.end()), times.end());

  Reserve reserve(station, timeline, result);
  std::size_t next = 0;
  std::size_t heaters_on = 0;
  double heater_load = 0;
  for (std::size_t i = 0; i + 1 < times.size(); ++i) {
    draws.advance(times[i]);
    for (; next < switchings.size() && switchings[next].time <= times[i]; ++next) {
      heater_load += switchings[next].begins ? switchings[next].power : -switchings[next].power;
      heaters_on += switchings[next].begins ? 1 : std::size_t(-1);
    }
    if (heaters_on == 0) heater_load = 0;  // no rounding left over from the sums
    double load = heater_load;
    for (std::uint32_t index : draws.active()) load += timeline.draws[index].load.nominal;
    reserve.step(times[i], times[i + 1], load, heater_load, draws.active());
  }
  reserve.settle();
  if (may_be_on != nullptr) Guarantee(station, timeline, *may_be_on).judge(result);
  result.energy = energy_per_day(station, timeline, heaters);
  return result;
}

}  // namespace cairn
