// Every number of the plan's power, temperature and table sections, computed a second time.
//
// This reads the plan's JSON (states, commands, heaters) and the station, and shares no code with the checks:
// loads are added up anew, sources decay by their own formula, temperatures are integrated by the classical
// Runge-Kutta method with short fixed steps.

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <memory>
#include <nlohmann/json.hpp>

#include "tests/command/project.h"

namespace cairn::test {
namespace {

using nlohmann::json;

struct Step {
  double begin = 0;
  double end = 0;
  double watts = 0;
  std::vector<HeatShare> heat;
};

class Second {
 public:
  explicit Second(const Compiled& compiled)
      : station(compiled.station.station), plan(json::parse(compiled.plan)), begin(compiled.load.begin) {
    for (const json& part : plan["states"]) add_part(part);
    for (const json& command : plan["commands"]) add_pulses(command);
    for (const json& heater : plan["temperatures"]["heaters"]) {
      const Heater* found = nullptr;
      for (const Heater& candidate : station.thermal.heaters) {
        if (candidate.name == heater["name"]) found = &candidate;
      }
      for (const json& on : heater["on"]) {
        heaters.push_back({on[0], on[1], found->power.nominal, {{found->node, 1.0}}});
      }
    }
  }

  [[nodiscard]] double load(double t) const {
    double sum = 0;
    for (const auto* list : {&draws, &heaters}) {
      for (const Step& step : *list) {
        if (step.begin <= t && t < step.end) sum += step.watts;
      }
    }
    return sum;
  }

  [[nodiscard]] double source(double t) const {
    double sum = 0;
    for (const IsotopeSource& isotope : station.power.sources) {
      const double seconds = t + static_cast<double>((begin - isotope.reference).nanoseconds) / 1e9;
      const double years = seconds / (365.25 * 24 * 3600);
      sum += isotope.power.nominal * std::exp(-std::log(2.0) * seconds / isotope.half_life) *
             std::exp(years * std::log1p(-isotope.ageing_per_year.nominal));
    }
    return sum;
  }

  const Station& station;
  const json plan;
  Instant begin;
  std::vector<Step> draws;
  std::vector<Step> heaters;

 private:
  const CommandDefinition& definition_of(const json& command) const {
    const UnitId unit = find_unit(station, command["unit"].get<std::string>());
    return station.commands[find_command(station, unit, command["name"].get<std::string>())];
  }

  void add_part(const json& part) {
    const std::string name = part["part"];
    const std::size_t dot = name.find('.');
    const UnitId unit = find_unit(station, name.substr(0, dot));
    const PartId id = find_part(station, unit, dot == std::string::npos ? "" : name.substr(dot + 1));
    for (const json& row : part["rows"]) {
      Step step{row[0], row[1], 0, {}};
      const State* from =
          row[2].is_null() ? nullptr : &station.states[find_state(station, id, row[2].get<std::string>())];
      const State* heat = from;
      if (from != nullptr) step.watts = from->load.nominal;
      if (!row[3].is_null()) {
        const StateId to_id = find_state(station, id, row[3].get<std::string>());
        const State& to = station.states[to_id];
        std::optional<double> own;
        if (!row[4].is_null()) {
          for (const Move& move : definition_of(plan["commands"][row[4].get<std::size_t>() - 1]).moves) {
            if (move.part == id && move.to == to_id && move.load) own = move.load->nominal;
          }
        }
        if (own || from == nullptr || to.load.nominal > from->load.nominal) heat = &to;
        step.watts = own ? *own : std::max(step.watts, to.load.nominal);
      }
      if (heat != nullptr) step.heat = heat->heat;
      draws.push_back(step);
    }
  }

  void add_pulses(const json& command) {
    for (const Pulse& pulse : definition_of(command).pulses) {
      const double t = command["offset"];
      draws.push_back({t, t + pulse.length.nominal, pulse.load.nominal, pulse.heat});
    }
  }
};

const Compiled& lunation() {
  static const std::unique_ptr<Run> run =
      compile_load_file(source_path("examples/loads/alder-42-lunation.cairn"));
  return *run->compiled;
}

TEST(Recomputation, Power) {
  const Second second(lunation());
  const double efficiency = second.station.power.converter_efficiency.nominal;
  const json& points = second.plan["power"]["points"];
  ASSERT_GT(points.size(), 1000U);
  for (const json& point : points) {
    const double t = point[0];
    // At a step two points share the time: the load before and the load after. Offsets are rounded to 1 ms.
    const double before = second.load(t - 0.0015);
    const double after = second.load(t + 0.0015);
    const double shown = point[2];
    EXPECT_TRUE(std::abs(shown - before) < 0.0011 || std::abs(shown - after) < 0.0011)
        << "at " << t << " s: " << shown << " against " << before << " and " << after;
    EXPECT_NEAR(point[1].get<double>(), second.source(t), 0.0006);
    EXPECT_NEAR(point[3].get<double>(), second.source(t) - shown / efficiency, 0.002);
  }
  // Between two points nothing happens: the load in the middle is the load shown.
  for (std::size_t i = 0; i + 1 < points.size(); ++i) {
    const double from = points[i][0];
    const double to = points[i + 1][0];
    if (to - from < 0.01) continue;
    EXPECT_NEAR(points[i][2].get<double>(), second.load((from + to) / 2), 0.0011) << from << " to " << to;
  }
  // The least margin is the least of all.
  double least = 1e9;
  for (const json& point : points) least = std::min(least, point[3].get<double>());
  EXPECT_NEAR(second.plan["checks"][0]["value"].get<double>(), least, 0.001);

  // Energy by unit and day adds up to the integral of the load.
  double energy = 0;
  for (const json& row : second.plan["power"]["energy"]) energy += row["wh"].get<double>();
  double integral = 0;
  for (std::size_t i = 0; i + 1 < points.size(); ++i) {
    integral +=
        points[i][2].get<double>() * (points[i + 1][0].get<double>() - points[i][0].get<double>()) / 3600;
  }
  EXPECT_NEAR(energy, integral, 1e-4 * integral);
}

// Right-hand side of the network, written out from the station file's meaning.
class Network2 {
 public:
  explicit Network2(const Second& second) : second_(second), sky_(model_sky(second.station.site)) {}

  void set_environment(double t) {
    const Instant time = second_.begin + Duration{static_cast<std::int64_t>(t * 1e9)};
    sun_ = sky_->sun(time);
    flux_ = sky_->solar_flux(time);
  }

  void set_loads(double t) {
    const Station& station = second_.station;
    heat_.assign(station.thermal.nodes.size(), 0.0);
    double load = 0;
    for (const auto* list : {&second_.draws, &second_.heaters}) {
      for (const Step& step : *list) {
        if (!(step.begin <= t && t < step.end)) continue;
        load += step.watts;
        for (const HeatShare& share : step.heat) heat_[share.node.value] += step.watts * share.share;
      }
    }
    const double drawn = load / station.power.converter_efficiency.nominal;
    for (const HeatShare& share : station.power.converter_heat)
      heat_[share.node.value] += (drawn - load) * share.share;
    for (const HeatShare& share : station.power.dump_heat) {
      heat_[share.node.value] += std::max(0.0, second_.source(t) - drawn) * share.share;
    }
    for (const IsotopeSource& source : station.power.sources) {
      const double seconds = t + (second_.begin - source.reference).seconds();
      if (source.heat_node.is_valid())
        heat_[source.heat_node.value] += source.heat.nominal * std::exp2(-seconds / source.half_life);
    }
  }

  [[nodiscard]] std::vector<double> rates(const std::vector<double>& kelvin) const {
    constexpr double sigma = 5.670374419e-8;
    const Station& station = second_.station;
    std::vector<double> watts = heat_;
    const bool up = sun_.elevation > horizon_elevation(station.site, sun_.azimuth);
    for (const SunlitFace& face : station.thermal.faces) {
      const double cosine = std::sin(sun_.elevation) * std::sin(face.normal_elevation) +
                            std::cos(sun_.elevation) * std::cos(face.normal_elevation) *
                                std::cos(sun_.azimuth - face.normal_azimuth);
      if (up && cosine > 0) watts[face.node.value] += flux_ * cosine * face.area.nominal;
    }
    for (const ThermalLink& link : station.thermal.links) {
      const double a = temperature_of(link.from, kelvin);
      const double b = temperature_of(link.to, kelvin);
      const double flow = link.radiative ? sigma * link.value.nominal * (std::pow(a, 4) - std::pow(b, 4))
                                         : link.value.nominal * (a - b);
      if (link.from.node.is_valid()) watts[link.from.node.value] -= flow;
      if (link.to.node.is_valid()) watts[link.to.node.value] += flow;
    }
    for (std::size_t i = 0; i < watts.size(); ++i) {
      watts[i] /= station.thermal.nodes[station.thermal.nodes.id_at(i)].capacity.nominal;
    }
    return watts;
  }

 private:
  [[nodiscard]] double temperature_of(const LinkEnd& end, const std::vector<double>& kelvin) const {
    if (end.node.is_valid()) return kelvin[end.node.value];
    const Sink& sink = second_.station.thermal.sinks[end.sink];
    const double night = sink.temperature.nominal;
    if (sink.kind != SinkKind::Ground) return night;
    const double absorbed = (1 - sink.albedo.nominal) * flux_ * std::max(0.0, std::sin(sun_.elevation));
    return std::pow(std::pow(night, 4) + absorbed / (sink.emissivity.nominal * 5.670374419e-8), 0.25);
  }

  const Second& second_;
  std::unique_ptr<Sky> sky_;
  SkyPoint sun_;
  double flux_ = 0;
  std::vector<double> heat_;
};

TEST(Recomputation, Temperatures) {
  const Second second(lunation());
  Network2 network(second);
  const json& nodes = second.plan["temperatures"]["nodes"];
  ASSERT_EQ(nodes.size(), second.station.thermal.nodes.size());
  std::vector<double> kelvin;
  for (const ThermalNode& node : second.station.thermal.nodes) kelvin.push_back(node.initial.nominal);

  std::vector<double> stops;
  for (const auto* list : {&second.draws, &second.heaters}) {
    for (const Step& step : *list) {
      stops.push_back(step.begin);
      stops.push_back(step.end);
    }
  }
  const double end = (lunation().load.end - lunation().load.begin).seconds();
  for (double t = 0; t <= end; t += 120) stops.push_back(t);
  stops.push_back(end);
  std::sort(stops.begin(), stops.end());
  stops.erase(std::unique(stops.begin(), stops.end()), stops.end());

  std::vector<std::size_t> next(nodes.size(), 0);
  double worst = 0;
  const auto compare = [&](double t0, const std::vector<double>& y0, double t1,
                           const std::vector<double>& y1) {
    for (std::size_t n = 0; n < nodes.size(); ++n) {
      const json& points = nodes[n]["points"];
      for (; next[n] < points.size() && points[next[n]][0].get<double>() <= t1 + 1e-9; ++next[n]) {
        const double u = t1 > t0 ? (points[next[n]][0].get<double>() - t0) / (t1 - t0) : 1;
        worst = std::max(worst, std::abs(y0[n] + u * (y1[n] - y0[n]) - points[next[n]][1].get<double>()));
      }
    }
  };
  for (std::size_t s = 0; s + 1 < stops.size() && stops[s] < end; ++s) {
    const double t0 = stops[s];
    const double t1 = std::min(stops[s + 1], end);
    network.set_loads(0.5 * (t0 + t1));
    const int pieces = std::max(1, static_cast<int>(std::ceil((t1 - t0) / 60)));
    const double h = (t1 - t0) / pieces;
    for (int p = 0; p < pieces; ++p) {
      network.set_environment(t0 + (p + 0.5) * h);
      const std::vector<double> y = kelvin;
      const auto shifted = [&](const std::vector<double>& k, double factor) {
        std::vector<double> out = y;
        for (std::size_t i = 0; i < out.size(); ++i) out[i] += factor * h * k[i];
        return out;
      };
      const auto k1 = network.rates(y);
      const auto k2 = network.rates(shifted(k1, 0.5));
      const auto k3 = network.rates(shifted(k2, 0.5));
      const auto k4 = network.rates(shifted(k3, 1));
      for (std::size_t i = 0; i < kelvin.size(); ++i)
        kelvin[i] += h / 6 * (k1[i] + 2 * k2[i] + 2 * k3[i] + k4[i]);
      compare(t0 + p * h, y, t0 + (p + 1) * h, kelvin);
    }
  }
  for (std::size_t n = 0; n < nodes.size(); ++n)
    EXPECT_EQ(next[n], nodes[n]["points"].size()) << "all points compared";
  EXPECT_LT(worst, 0.01) << "kelvin, largest difference over a lunation";
  RecordProperty("largest_difference_mK", static_cast<int>(worst * 1000));
}

TEST(Recomputation, Table) {
  const Second second(lunation());
  const auto seconds = [&](const json& utc) {
    return (parse_utc(utc.get<std::string>(), published_leap_seconds()).value() - second.begin).seconds();
  };
  std::map<double, std::pair<int, int>> changes;
  for (const json& command : second.plan["commands"]) {
    const int bytes = command["entry_bytes"];
    auto& in = changes[seconds(command["aboard"])];
    in = {in.first + 1, in.second + bytes};
    auto& out = changes[seconds(command["time"])];
    out = {out.first - 1, out.second - bytes};
  }
  for (const json& point : second.plan["table"]["points"]) {
    int entries = 0;
    int bytes = 0;
    for (const auto& [time, change] : changes) {
      if (time > point[0].get<double>() + 0.0006) break;
      entries += change.first;
      bytes += change.second;
    }
    EXPECT_EQ(point[1].get<int>(), entries);
    EXPECT_EQ(point[2].get<int>(), bytes);
    EXPECT_LE(entries, second.plan["table"]["entries_cap"].get<int>());
  }
}

}  // namespace
}  // namespace cairn::test
