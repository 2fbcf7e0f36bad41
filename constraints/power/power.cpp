// The power check by one sweep: between two changes of load only the sources move, and they run one way.
//
// So the reserve over a step is least at one of its ends; both become points, and where the floor is crossed
// inside a step the crossing is found by halving. A storage cuts steps where it comes to its floor.

#include "constraints/power/power.h"

#include <algorithm>
#include <map>
#include <optional>

#include "constraints/power/charge_watch.h"
#include "constraints/power/load_steps.h"
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

class Reserve {
 public:
  Reserve(const PowerInput& input, PowerResult& result)
      : station_(input.station),
        timeline_(input.timeline),
        result_(&result),
        source_(*input.station, input.solar),
        shed_(input.station->units.size(), false) {
    if (!station_->power.storage) return;
    const double charge = input.charge ? input.charge->nominal : station_->power.storage->initial.nominal;
    storage_.emplace(*station_->power.storage, Bound::Nominal, charge, 0);
  }

  void step(Instant begin, Instant end, double load, double heaters,
            const std::vector<std::uint32_t>& active) {
    source_.enter(begin);
    const double needed = source_draw(station_->power, load, Bound::Nominal);
    if (!storage_) {
      part({begin, end, 0}, needed, load, heaters, active);
      return;
    }
    const double first = source(begin) - needed;
    const double last = source(end) - needed;
    for (const ChargeWatch::Part& each : storage_->advance(begin, end, first, last)) {
      part(each, needed, load, heaters, active);
    }
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

  void settle_storage() const {
    if (!storage_) return;
    result_->charge = storage_->points();
    result_->end_charge =
        HeldCharge{storage_->charge(), storage_->charge(), station_->power.storage->capacity.high};
    Finding& finding = result_->storage.emplace();
    finding.code = "power/storage";
    finding.check = CheckKind::Power;
    finding.subject = "storage";
    finding.dimension = dimensions::energy;
    finding.limit = station_->power.storage->floor;
    finding.limit_origin = station_->power.storage->floor_origin;
    finding.time = finding.interval_begin = finding.interval_end = timeline_->begin;
    finding.has_margin = storage_->least().has_value();
    if (!finding.has_margin) return;
    finding.value = storage_->least()->charge;
    finding.margin = storage_->margin();
    finding.time = finding.interval_begin = finding.interval_end = storage_->least()->time;
    if (finding.margin >= 0) return;
    finding.verdict = Verdict::Fails;
    finding.interval_begin = storage_->first_below();
    finding.interval_end = storage_->last_below();
  }

 private:
  [[nodiscard]] double source(Instant time) const { return source_.at(time, Bound::Nominal); }

  // First time in [begin, end] at which source power is below `needed`, given that it is so at one of them.
  [[nodiscard]] Instant falls_below(double needed, Instant begin, Instant end) const {
    if (source(begin) < needed) return begin;
    while ((end - begin).nanoseconds > 1) {
      const Instant middle = begin + Duration{(end - begin).nanoseconds / 2};
      (source(middle) < needed ? end : begin) = middle;
    }
    return end;
  }

  // A part of a step in which the storage gives `available`, if it has to.
  void part(const ChargeWatch::Part& part, double needed, double load, double heaters,
            const std::vector<std::uint32_t>& active) {
    const double floor = station_->power.reserve_floor;
    double least = 0;
    for (const Instant time : {part.begin, part.end}) {
      const double power = source(time);
      result_->points.push_back({time, power, load, heaters, power + part.available - needed});
      const PowerPoint& point = result_->points.back();
      if (!least_ || point.reserve < least_->reserve) least_ = point;
      least = time == part.begin ? point.reserve : std::min(least, point.reserve);
    }
    if (least < floor) {
      if (!failed_) first_failure_ = falls_below(needed + floor - part.available, part.begin, part.end);
      failed_ = true;
      last_failure_ = part.end;
    }
    if (least < 0) shed(part, load, active);
  }

  // Units leave the bus in their order, and stay off it, until the rest can be borne.
  void shed(const ChargeWatch::Part& part, double load, const std::vector<std::uint32_t>& active) {
    std::map<UnitId, double> draws;
    for (std::uint32_t index : active) {
      const Draw& draw = timeline_->draws[index];
      draws[draw.unit] += draw.load.nominal;
    }
    for (const auto& [unit, watts] : draws) {
      if (unit.is_valid() && shed_[unit.value]) load -= watts;
    }
    const double power = std::min(source(part.begin), source(part.end)) + part.available;
    for (UnitId unit : station_->power.shed_order) {
      const double needed = source_draw(station_->power, load, Bound::Nominal);
      if (power - needed >= 0) return;
      const auto watts = draws.find(unit);
      if (shed_[unit.value] || watts == draws.end() || watts->second <= 0) continue;
      shed_[unit.value] = true;
      result_->shed.push_back({falls_below(needed - part.available, part.begin, part.end), unit});
      load -= watts->second;
    }
  }

  const Station* station_;
  const Timeline* timeline_;
  PowerResult* result_;
  SourceReader source_;
  std::optional<ChargeWatch> storage_;
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

}  // namespace

PowerResult check_power(const PowerInput& input) {
  const Station& station = *input.station;
  const Timeline& timeline = *input.timeline;
  PowerResult result;
  result.finding.code = "power/reserve";
  result.finding.check = CheckKind::Power;
  result.finding.subject = "bus";
  result.finding.dimension = dimensions::power;
  result.finding.limit = station.power.reserve_floor;
  result.finding.limit_origin = station.power.reserve_floor_origin;

  DrawSweep draws(timeline);
  const std::vector<HeaterChange> switchings = heater_changes(station, timeline, *input.heaters);
  std::vector<Instant> times = draws.times();
  times.push_back(timeline.begin);
  times.push_back(timeline.end);
  for (const HeaterChange& change : switchings) times.push_back(change.time);
  for (const Instant cut : supply_cuts(station, timeline, input.solar)) {
    if (cut > timeline.begin && cut < timeline.end) times.push_back(cut);
  }
  std::sort(times.begin(), times.end());
  times.erase(std::unique(times.begin(), times.end()), times.end());

  Reserve reserve(input, result);
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
  reserve.settle_storage();
  if (input.may_be_on != nullptr) bound_power(input, result);
  result.energy = energy_per_day(station, timeline, *input.heaters);
  result.solar = input.solar;
  return result;
}

PowerResult check_power(const Station& station, const Timeline& timeline,
                        const std::vector<HeaterInterval>& heaters,
                        const std::vector<HeaterInterval>* may_be_on) {
  PowerInput input;
  input.station = &station;
  input.timeline = &timeline;
  input.heaters = &heaters;
  input.may_be_on = may_be_on;
  return check_power(input);
}

}  // namespace cairn
