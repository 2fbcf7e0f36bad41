// Points as the checks computed them, thinned where lines between others say the same.

#include "compiler/plan/courses.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace cairn {

namespace {

// K; with what the traces themselves leave out they stay within 5 mK.
constexpr double thinned_within = 0.003;

class Courses {
 public:
  explicit Courses(const PlanInput& input)
      : input_(input), station_(input.station->station), timeline_(*input.timeline) {}

  [[nodiscard]] Json power() const {
    Json::Array points;
    for (const PowerPoint& point : input_.results->power.points) {
      points.push_back(Json::Array{offset(point.time), rounded(point.source, 3), rounded(point.load, 3),
                                   rounded(point.reserve, 3)});
    }
    Json::Array energy;
    for (const UnitEnergy& row : input_.results->power.energy) {
      energy.push_back(
          Json::Object{{"unit", row.unit.is_valid() ? station_.units[row.unit].name : std::string("heaters")},
                       {"day", row.day + 1},
                       {"wh", rounded(row.energy / 3600, 3)}});
    }
    Json::Array shed;
    for (const ShedStep& step : input_.results->power.shed) {
      shed.push_back(Json::Object{{"time", utc(step.time)}, {"unit", station_.units[step.unit].name}});
    }
    Json::Array bound;
    for (const ReservePoint& point : input_.results->power.guaranteed) {
      bound.push_back(Json::Array{offset(point.time), rounded_outward(point.source, -1),
                                  rounded_outward(point.load, 1), rounded_outward(point.reserve, -1)});
    }
    return Json::Object{{"floor", station_.power.reserve_floor},
                        {"points", std::move(points)},
                        {"guaranteed", std::move(bound)},
                        {"energy", std::move(energy)},
                        {"storage", storage()},
                        {"shed", std::move(shed)}};
  }

  // What the storage holds; null where there is none.
  [[nodiscard]] Json storage() const {
    if (!station_.power.storage) return {};
    const PowerResult& power = input_.results->power;
    Json::Array points;
    Json::Array least;
    for (const ChargePoint& point : power.charge) {
      points.push_back(Json::Array{offset(point.time), rounded(point.charge / 3600, 4)});
    }
    for (const ChargePoint& point : power.least_charge) {
      least.push_back(Json::Array{offset(point.time), rounded_outward(point.charge / 3600, -1)});
    }
    return Json::Object{{"capacity", rounded(station_.power.storage->capacity.nominal / 3600, 4)},
                        {"floor", rounded(station_.power.storage->floor / 3600, 4)},
                        {"points", std::move(points)},
                        {"guaranteed", std::move(least)}};
  }

  [[nodiscard]] Json::Array band(std::size_t node) const {
    Json::Array points;
    const auto& bands = input_.results->heat.envelope.bands;
    if (node >= bands.size()) return points;
    for (const BandPoint& point : bands[node]) {
      points.push_back(
          Json::Array{offset(point.time), rounded_outward(point.low, -1), rounded_outward(point.high, 1)});
    }
    return points;
  }

  // A trace without the points that a straight line between their neighbours already gives within 5 mK: a
  // day's solver steps are many, a reader's eye needs few. Extremes are corners and stay.
  [[nodiscard]] Json::Array thinned(const std::vector<TemperaturePoint>& trace) const {
    Json::Array points;
    std::size_t kept = 0;
    const auto add = [&](std::size_t i) {
      points.push_back(Json::Array{offset(trace[i].time), rounded(trace[i].temperature, 3)});
      kept = i;
    };
    if (trace.empty()) return points;
    add(0);
    for (std::size_t i = 1; i + 1 < trace.size(); ++i) {
      const bool corner = (trace[i].temperature - trace[i - 1].temperature) *
                                  (trace[i + 1].temperature - trace[i].temperature) <=
                              0 &&
                          std::abs(trace[i].temperature - trace[kept].temperature) > thinned_within;
      const double span = (trace[i + 1].time - trace[kept].time).seconds();
      bool straight = i - kept < 64;
      for (std::size_t k = kept + 1; straight && k <= i; ++k) {
        const double u = span > 0 ? (trace[k].time - trace[kept].time).seconds() / span : 0;
        const double line =
            trace[kept].temperature + u * (trace[i + 1].temperature - trace[kept].temperature);
        straight = std::abs(line - trace[k].temperature) <= thinned_within;
      }
      if (corner || !straight) add(i);
    }
    if (trace.size() > 1) add(trace.size() - 1);
    return points;
  }

  [[nodiscard]] Json temperatures() const {
    const ThermalNetwork& thermal = station_.thermal;
    Json::Array nodes;
    for (std::size_t i = 0; i < thermal.nodes.size(); ++i) {
      const ThermalNode& node = thermal.nodes[thermal.nodes.id_at(i)];
      Json::Array limits;
      for (const TemperatureLimit& limit : node.limits) {
        limits.push_back(Json::Object{{"kind", limit.kind == LimitKind::Survival ? "survival" : "operating"},
                                      {"low", rounded(limit.low, 3)},
                                      {"high", rounded(limit.high, 3)},
                                      {"alert", rounded(limit.alert, 3)},
                                      {"while", limit.while_state ? Json(limit.while_state->text) : Json()}});
      }
      nodes.push_back(Json::Object{{"name", node.name},
                                   {"limits", std::move(limits)},
                                   {"points", thinned(input_.results->heat.traces[i])},
                                   {"band", band(i)}});
    }
    Json::Array heaters;
    const double length = (timeline_.end - timeline_.begin).seconds();
    for (std::size_t i = 0; i < thermal.heaters.size(); ++i) {
      Json::Array on;
      double total = 0;
      for (const HeaterInterval& interval : input_.results->heat.heaters) {
        if (interval.heater != thermal.heaters.id_at(i)) continue;
        on.push_back(Json::Array{offset(interval.begin), offset(interval.end)});
        total += (interval.end - interval.begin).seconds();
      }
      Json::Array may_be_on;
      for (const HeaterInterval& interval : input_.results->heat.envelope.may_be_on) {
        if (interval.heater != thermal.heaters.id_at(i)) continue;
        may_be_on.push_back(Json::Array{offset(interval.begin), offset(interval.end)});
      }
      heaters.push_back(Json::Object{{"name", thermal.heaters[thermal.heaters.id_at(i)].name},
                                     {"on", std::move(on)},
                                     {"may_be_on", std::move(may_be_on)},
                                     {"duty", length > 0 ? rounded(total / length, 4) : 0.0}});
    }
    return Json::Object{{"nodes", std::move(nodes)}, {"heaters", std::move(heaters)}};
  }

  [[nodiscard]] Json table() const {
    Json::Array points;
    for (const TablePoint& point : input_.results->table.points) {
      points.push_back(Json::Array{offset(point.time), point.entries, point.bytes});
    }
    return Json::Object{{"entries_cap", station_.table.entries},
                        {"bytes_cap", station_.table.bytes},
                        {"points", std::move(points)}};
  }

  [[nodiscard]] Json sun() const {
    Json::Array points;
    constexpr Duration step = seconds_to_duration(std::int64_t{3} * 3600);
    for (Instant time = timeline_.begin;; time = std::min(time + step, timeline_.end)) {
      points.push_back(
          Json::Array{offset(time), rounded(input_.sky->sun(time).elevation * 180 / std::numbers::pi, 3)});
      if (time >= timeline_.end) break;
    }
    return Json::Object{{"points", std::move(points)}};
  }

 private:
  [[nodiscard]] std::string utc(Instant time) const { return format_utc_exact(time, *input_.leap_seconds); }
  [[nodiscard]] double offset(Instant time) const { return rounded((time - timeline_.begin).seconds(), 3); }

  const PlanInput& input_;
  const Station& station_;
  const Timeline& timeline_;
};

}  // namespace

double rounded_outward(double value, int direction) {
  return rounded(direction > 0 ? std::ceil(value * 1e3) * 1e-3 : std::floor(value * 1e3) * 1e-3, 3);
}

PlanCourses plan_courses(const PlanInput& input) {
  const Courses courses(input);
  return {courses.power(), courses.temperatures(), courses.table(), courses.sun()};
}

}  // namespace cairn
