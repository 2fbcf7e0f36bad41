// Random stations in which everything is uncertain, and samples of them: stations without bounds, each
// somewhere within those of the first. For tests and measurements of the envelope.

#pragma once

#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>
#include <string>
#include <vector>

#include "constraints/heat/heat.h"

namespace cairn {

// The Sun rises in the east at a constant rate.
class EvenSky final : public Sky {
 public:
  EvenSky(double rise, double rate) : rise_(rise), rate_(rate) {}
  [[nodiscard]] SkyPoint sun(Instant time) const override {
    return {rate_ * ((time - Instant{}).seconds() - rise_), std::numbers::pi / 2, astronomical_unit};
  }
  [[nodiscard]] SkyPoint earth(Instant) const override { return {0.5, 0, 384.4e6}; }
  [[nodiscard]] double solar_flux(Instant) const override { return solar_irradiance_1au; }

 private:
  double rise_;
  double rate_;
};

struct UncertainCase {
  Station station;
  StartState start;
  Timeline timeline;
};

struct UncertainOptions {
  std::size_t nodes = 5;
  std::size_t draws = 20;
  double length = 40'000;  // s
  double spread = 0.1;     // half-width of the bounds, ratio
  bool own_thermostats = true;
  bool other_thermostats = true;
  bool couplings = true;  // converter and dump load
  bool times = true;      // events uncertain
  bool cold = false;      // little heat and no Sun, so that thermostats work
  double gap = 4;         // K between a thermostat's thresholds
};

class Chance {
 public:
  explicit Chance(std::uint32_t seed) : engine_(seed) {}
  double between(double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(engine_);
  }
  std::size_t below(std::size_t count) { return engine_() % count; }
  Bounded around(double value, double ratio) {
    return {value, value * (1 - ratio * between(0, 1)), value * (1 + ratio * between(0, 1))};
  }
  // Often an edge: what is extreme is likeliest there.
  double pick(const Bounded& bounds) {
    const std::size_t kind = below(3);
    return kind == 0 ? bounds.low : kind == 1 ? bounds.high : between(bounds.low, bounds.high);
  }

 private:
  std::mt19937 engine_;
};

inline Instant at_second(double seconds) { return Instant{} + *duration_from_seconds(seconds); }

inline UncertainCase uncertain_case(std::uint32_t seed, const UncertainOptions& options) {
  Chance chance(seed);
  UncertainCase made;
  Station& station = made.station;
  ThermalNetwork& thermal = station.thermal;
  const double spread = options.spread;
  const SinkId space = thermal.sinks.add(
      {"space", SinkKind::Space, chance.around(10, spread), Bounded::exactly(0), Bounded::exactly(1)});
  const SinkId body =
      thermal.sinks.add({"body", SinkKind::Fixed, chance.around(options.cold ? 225 : 270, 0.02 * spread),
                         Bounded::exactly(0), Bounded::exactly(1)});
  Chance soil(seed + 1000);  // apart, so that networks stay as they were
  const SinkId ground =
      thermal.sinks.add({"ground", SinkKind::Ground, chance.around(120, 0.5 * spread),
                         soil.around(0.12, 0.5 * spread), soil.around(0.95, 0.05 * spread)});
  for (std::size_t i = 0; i < options.nodes; ++i) {
    thermal.nodes.add(
        {"node " + std::to_string(i),
         chance.around(std::pow(10.0, chance.between(2, 4.3)), spread),
         chance.around(options.cold ? chance.between(240, 265) : chance.between(250, 300), 0.02 * spread),
         {{LimitKind::Survival, 150, 500, 0, {}, no_origin}},
         no_origin});
  }
  const auto node = [&](std::size_t i) { return thermal.nodes.id_at(i); };
  for (std::size_t i = 1; i < options.nodes; ++i) {
    thermal.links.push_back(
        {{node(i - 1), {}}, {node(i), {}}, false, chance.around(chance.between(0.05, 1), spread), no_origin});
  }
  for (std::size_t i = 0; i < options.nodes / 2; ++i) {
    const std::size_t a = chance.below(options.nodes);
    const std::size_t b = chance.below(options.nodes);
    if (a != b)
      thermal.links.push_back({{node(a), {}},
                               {node(b), {}},
                               true,
                               chance.around(chance.between(0.005, 0.05), spread),
                               no_origin});
  }
  for (std::size_t i = 0; i < options.nodes; i += 2) {
    thermal.links.push_back(
        {{node(i), {}}, {{}, space}, true, chance.around(chance.between(0.01, 0.05), spread), no_origin});
    thermal.links.push_back({{{}, ground}, {node(i), {}}, true, chance.around(0.005, spread), no_origin});
  }
  thermal.links.push_back(
      {{node(options.nodes - 1), {}}, {{}, body}, false, chance.around(0.2, spread), no_origin});
  if (!options.cold)
    thermal.faces.push_back({node(0), chance.around(0.01, spread), std::numbers::pi / 2, 0, no_origin});
  const auto heater = [&](std::size_t to, std::size_t sensor) {
    const double on = chance.between(options.cold ? 235 : 255, options.cold ? 250 : 275);
    const double unsure = 0.3 * spread * 10;
    const double off = on + options.gap;
    // Thresholds that overlap would make it go on where it must go off.
    const double most = std::min(unsure, 0.5 * options.gap);
    thermal.heaters.add({"heater",
                         node(to),
                         node(sensor),
                         chance.around(chance.between(2, 12), spread),
                         {on, on - unsure, on + most},
                         {off, off - most, off + unsure},
                         {},
                         chance.below(2) == 0,
                         no_origin});
  };
  if (options.own_thermostats) {
    heater(0, 0);
    heater(options.nodes - 1, options.nodes - 1);
  }
  if (options.other_thermostats) heater(1, 2 % options.nodes);
  PowerSystem& power = station.power;
  IsotopeSource source;
  source.power = chance.around(60, 0.2 * spread);
  source.half_life = 87.7 * seconds_per_year;
  source.ageing_per_year = Bounded::exactly(0.01);
  source.heat = chance.around(options.cold ? 1 : 20, spread);
  source.heat_node = node(0);
  power.sources.push_back(source);
  if (options.couplings) {
    power.converter_efficiency = chance.around(0.9, 0.1 * spread);
    power.converter_heat = {{node(1), 0.8}};
    power.dump_heat = {{node(2 % options.nodes), 0.3}};
  }
  const UnitId unit = station.units.add({"box", "", {}, no_origin});
  made.timeline.end = at_second(options.length);
  for (std::size_t k = 0; k < options.draws; ++k) {
    const double from = chance.between(0, options.length);
    const double to = from + chance.between(30, options.length / 8);
    const double slack = options.times ? chance.between(0, 20) : 0;
    const EventTime begin{at_second(from), at_second(from - slack), at_second(from + slack)};
    const EventTime end{at_second(to), at_second(to - slack), at_second(to + slack)};
    made.timeline.draws.push_back(
        {begin,
         end,
         chance.around(options.cold ? chance.between(0.2, 2) : chance.between(1, 15), spread),
         {{node(chance.below(options.nodes)), 0.7}, {node(chance.below(options.nodes)), 0.3}},
         unit,
         {},
         {}});
  }
  std::stable_sort(made.timeline.draws.begin(), made.timeline.draws.end(),
                   [](const Draw& a, const Draw& b) { return a.begin.nominal < b.begin.nominal; });
  made.start = initial_state(station);
  return made;
}

// All numbers of a station that can have bounds, each given to `fix`.
template <class Fix>
void each_bounded(Station& station, Fix fix) {
  ThermalNetwork& thermal = station.thermal;
  for (ThermalNode& node : thermal.nodes) {
    fix(node.capacity);
    fix(node.initial);
  }
  for (Sink& sink : thermal.sinks) {
    fix(sink.temperature);
    fix(sink.albedo);
    fix(sink.emissivity);
  }
  for (ThermalLink& link : thermal.links) fix(link.value);
  for (SunlitFace& face : thermal.faces) fix(face.area);
  for (Heater& heater : thermal.heaters) {
    fix(heater.power);
    fix(heater.on_below);
    fix(heater.off_above);
  }
  PowerSystem& power = station.power;
  for (IsotopeSource& source : power.sources) {
    fix(source.power);
    fix(source.heat);
    fix(source.ageing_per_year);
  }
  for (SolarArray& array : power.arrays) {
    fix(array.area);
    fix(array.ageing_per_year);
    for (EfficiencyPoint& point : array.efficiency) fix(point.efficiency);
  }
  fix(power.converter_efficiency);
  for (EfficiencyPoint& point : power.converter_points) fix(point.efficiency);
  if (!power.storage) return;
  Storage& storage = *power.storage;
  for (Bounded* value :
       {&storage.capacity, &storage.initial, &storage.charge_efficiency, &storage.discharge_efficiency,
        &storage.charge_limit, &storage.discharge_limit, &storage.self_discharge}) {
    fix(*value);
  }
}

// One of the possible truths.
inline UncertainCase sample_of(const UncertainCase& bounds, Chance& chance) {
  UncertainCase made = bounds;
  const auto fix = [&](Bounded& value) { value = Bounded::exactly(chance.pick(value)); };
  each_bounded(made.station, fix);
  const auto fix_time = [&](EventTime& time) {
    const double low = (time.earliest - Instant{}).seconds();
    const double high = (time.latest - Instant{}).seconds();
    const Instant chosen =
        low < high ? at_second(chance.pick({0.5 * (low + high), low, high})) : time.nominal;
    time = {chosen, chosen, chosen};
  };
  for (Draw& draw : made.timeline.draws) {
    fix(draw.load);
    fix_time(draw.begin);
    fix_time(draw.end);
  }
  std::stable_sort(made.timeline.draws.begin(), made.timeline.draws.end(),
                   [](const Draw& a, const Draw& b) { return a.begin.nominal < b.begin.nominal; });
  made.start = initial_state(made.station);
  return made;
}

// K by which a trace leaves a band; negative: how much is left where it is least.
inline double leaves(const std::vector<BandPoint>& band, const std::vector<TemperaturePoint>& trace) {
  double worst = -1e9;
  std::size_t k = 0;
  for (const TemperaturePoint& point : trace) {
    while (k + 2 < band.size() && band[k + 1].time < point.time) ++k;
    const BandPoint& from = band[k];
    const BandPoint& to = band[std::min(k + 1, band.size() - 1)];
    const double span = (to.time - from.time).seconds();
    const double part = span > 0 ? (point.time - from.time).seconds() / span : 0;
    const double low = from.low + part * (to.low - from.low);
    const double high = from.high + part * (to.high - from.high);
    worst = std::max({worst, low - point.temperature, point.temperature - high});
  }
  return worst;
}

}  // namespace cairn
