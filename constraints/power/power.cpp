// Reserve over time by one sweep over the steps of the load.

#include "constraints/power/power.h"

#include <algorithm>
#include <map>
#include <tuple>

namespace cairn {

namespace {

struct Step {
  double load = 0;
  double heaters = 0;
};

// Net load of every unit at an instant, for shedding.
std::map<UnitId, double> unit_loads(const Timeline& timeline, Instant time) {
  std::map<UnitId, double> loads;
  for (const Draw& draw : timeline.draws) {
    if (draw.begin.nominal <= time && time < draw.end.nominal) loads[draw.unit] += draw.load.nominal;
  }
  return loads;
}

void account(std::vector<UnitEnergy>& energy, UnitId unit, double watts, Instant begin, Instant end,
             const Timeline& timeline) {
  constexpr Duration day = seconds_to_duration(86'400);
  begin = std::max(begin, timeline.begin);
  end = std::min(end, timeline.end);
  while (begin < end && watts != 0) {
    const std::int64_t number = (begin - timeline.begin).nanoseconds / day.nanoseconds;
    const Instant stop = std::min(end, timeline.begin + day * (number + 1));
    const double joules = watts * (stop - begin).seconds();
    const auto row = std::find_if(energy.begin(), energy.end(), [&](const UnitEnergy& e) {
      return e.unit == unit && e.day == number;
    });
    if (row == energy.end()) {
      energy.push_back({unit, number, joules});
    } else {
      row->energy += joules;
    }
    begin = stop;
  }
}

void predict_shedding(const Station& station, const Timeline& timeline, PowerResult& result) {
  std::vector<UnitId> gone;
  for (const PowerPoint& point : result.points) {
    double reserve = point.reserve;
    if (reserve >= 0) continue;
    const std::map<UnitId, double> loads = unit_loads(timeline, point.time);
    const auto relief = [&](UnitId unit) {
      const auto found = loads.find(unit);
      return found == loads.end()
                 ? 0.0
                 : source_draw(station.power, found->second, Bound::Nominal);
    };
    for (UnitId unit : gone) reserve += relief(unit);
    for (UnitId unit : station.power.shed_order) {
      if (reserve >= 0) break;
      if (relief(unit) <= 0 || std::find(gone.begin(), gone.end(), unit) != gone.end()) continue;
      gone.push_back(unit);
      result.shed.push_back({point.time, unit});
      reserve += relief(unit);
    }
  }
}

}  // namespace

PowerResult check_power(const Station& station, const Timeline& timeline,
                        const std::vector<HeaterInterval>& heaters) {
  PowerResult result;
  std::map<Instant, Step> steps;
  steps[timeline.begin];
  const auto add = [&](Instant begin, Instant end, double watts, bool heater) {
    begin = std::max(begin, timeline.begin);
    end = std::min(end, timeline.end);
    if (begin >= end) return;
    Step& on = steps[begin];
    on.load += watts;
    Step& off = steps[end];
    off.load -= watts;
    if (heater) {
      on.heaters += watts;
      off.heaters -= watts;
    }
  };
  for (const Draw& draw : timeline.draws) {
    add(draw.begin.nominal, draw.end.nominal, draw.load.nominal, false);
    account(result.energy, draw.unit, draw.load.nominal, draw.begin.nominal, draw.end.nominal, timeline);
  }
  for (const HeaterInterval& interval : heaters) {
    const double watts = station.thermal.heaters[interval.heater].power.nominal;
    add(interval.begin, interval.end, watts, true);
    account(result.energy, {}, watts, interval.begin, interval.end, timeline);
  }
  std::sort(result.energy.begin(), result.energy.end(), [](const UnitEnergy& a, const UnitEnergy& b) {
    return std::tie(a.unit, a.day) < std::tie(b.unit, b.day);
  });

  Finding& finding = result.finding;
  finding.code = "power/reserve";
  finding.check = CheckKind::Power;
  finding.subject = "bus";
  finding.dimension = dimensions::power;
  finding.limit = station.power.reserve_floor;
  finding.limit_origin = station.power.reserve_floor_origin;

  double load = 0;
  double heating = 0;
  bool first = true;
  bool failing = false;
  for (auto step = steps.begin(); step != steps.end(); ++step) {
    load += step->second.load;
    heating += step->second.heaters;
    // Sums of many steps leave crumbs of rounding; a load is never negative.
    const double watts = load < 1e-9 ? 0 : load;
    const double heater_watts = heating < 1e-9 ? 0 : heating;
    const auto next = std::next(step);
    const Instant end = next == steps.end() ? timeline.end : next->first;
    const double draw = source_draw(station.power, watts, Bound::Nominal);
    for (const Instant time : {step->first, end}) {
      const double source = source_power(station.power, time, Bound::Nominal);
      const PowerPoint point{time, source, watts, heater_watts, source - draw};
      if (time != step->first && time <= step->first) continue;
      result.points.push_back(point);
      const double margin = point.reserve - finding.limit;
      if (first || margin < finding.margin) {
        finding.margin = margin;
        finding.value = point.reserve;
        finding.time = time;
        first = false;
      }
      if (margin < 0) {
        if (!failing) finding.interval_begin = time;
        failing = true;
        finding.interval_end = time;
      }
    }
  }
  if (failing) {
    finding.verdict = Verdict::Fails;
  } else {
    finding.interval_begin = finding.interval_end = finding.time;
  }
  predict_shedding(station, timeline, result);
  if (!result.shed.empty()) {
    finding.detail = "units would be shed: ";
    for (std::size_t i = 0; i < result.shed.size(); ++i) {
      finding.detail += (i > 0 ? ", " : "") + station.units[result.shed[i].unit].name;
    }
  }
  return result;
}

}  // namespace cairn
