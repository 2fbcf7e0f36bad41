// The thermal check against CVODE restarted at rtol 1e-6: 12 nodes, 30 days, three layouts of input steps;
// and the envelope against the check and against samples.
//
// Errors are against CVODE at rtol 1e-10: at the steps' times, and of each node's least and greatest value
// within each of the check's input steps. The check is timed twice: with its events, limits and the findings
// that come of them, extremes between steps included; and with every step's temperatures kept besides.
// CVODE's time is integration alone, and gives values at the steps' times only.
//
// Usage: heat_bench [rounds [layout]]; lines that begin with `row,` are for tests/bench/heat_plot.

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <string>
#include <utility>

#include "tests/bench/spread.h"
#include "tests/heat/cvode.h"
#include "tests/heat/random_network.h"

namespace cairn {
namespace {

// By step, by node.
struct History {
  std::vector<std::vector<double>> ends;
  std::vector<std::vector<double>> least;  // within the step
  std::vector<std::vector<double>> greatest;
};

History integrate(const RandomCase& made, const StartState& start, double relative) {
  History history;
  history.ends.reserve(made.drives.size());
  CvodeReference solver(made.network, start.temperatures, relative, relative * 100);
  for (std::size_t k = 0; k < made.drives.size(); ++k) {
    solver.advance(made.drives[k], made.times[k], made.times[k + 1]);
    history.ends.push_back(solver.temperatures());
  }
  return history;
}

// A temperature at a time.
struct Place {
  double time, kelvin, rate;
};

// The greatest on the way from one place to the next: of the cubic that has both values and both rates, where
// it turns.
double greatest_between(const Place& from, const Place& to, double sign) {
  const double ends = std::max(sign * from.kelvin, sign * to.kelvin);
  if (!(sign * from.rate > 0 && sign * to.rate < 0)) return ends;
  const double h = to.time - from.time;
  const double slope = (to.kelvin - from.kelvin) / h;
  const auto value = [&](double u) {
    return from.kelvin + u * h * (slope + (1 - u) * ((1 - u) * (from.rate - slope) - u * (to.rate - slope)));
  };
  const auto rate = [&](double u) {
    return 6 * u * (1 - u) * slope + (1 - u) * (1 - 3 * u) * from.rate + u * (3 * u - 2) * to.rate;
  };
  double low = 0;
  double high = 1;
  for (int k = 0; k < 50; ++k) {
    const double middle = 0.5 * (low + high);
    (sign * rate(middle) > 0 ? low : high) = middle;
  }
  return std::max(ends, sign * value(low));
}

History integrate_with_extremes(const RandomCase& made, const StartState& start, double relative) {
  constexpr int samples = 48;  // closer together where a step begins: fast nodes turn there
  History history;
  CvodeReference solver(made.network, start.temperatures, relative, relative * 100);
  const std::size_t nodes = made.network.capacities.size();
  std::vector<Place> before(nodes);
  for (std::size_t k = 0; k < made.drives.size(); ++k) {
    const double from = made.times[k];
    const double to = made.times[k + 1];
    solver.restart(made.drives[k], from, to);
    std::vector<double> rates = solver.rates();
    std::vector<double> least(nodes);
    std::vector<double> greatest(nodes);
    for (std::size_t i = 0; i < nodes; ++i) {
      before[i] = {from, solver.temperatures()[i], rates[i]};
      least[i] = greatest[i] = before[i].kelvin;
    }
    for (int s = 1; s <= samples; ++s) {
      const double part = static_cast<double>(s) / samples;
      const double time = s == samples ? to : from + (to - from) * part * part;
      solver.go_on(time);
      rates = solver.rates();
      for (std::size_t i = 0; i < nodes; ++i) {
        const Place here{time, solver.temperatures()[i], rates[i]};
        least[i] = std::min(least[i], -greatest_between(before[i], here, -1));
        greatest[i] = std::max(greatest[i], greatest_between(before[i], here, 1));
        before[i] = here;
      }
    }
    history.ends.push_back(solver.temperatures());
    history.least.push_back(std::move(least));
    history.greatest.push_back(std::move(greatest));
  }
  return history;
}

// The check's traces in the same form.
History history_of(const HeatResult& result, const RandomCase& made) {
  History history;
  const std::size_t nodes = made.network.capacities.size();
  std::vector<std::vector<TemperaturePoint>::const_iterator> points;
  for (const auto& trace : result.traces) points.push_back(trace.begin());
  for (std::size_t k = 0; k < made.drives.size(); ++k) {
    const Instant end = Instant{} + *duration_from_seconds(made.times[k + 1]);
    std::vector<double> ends(nodes);
    std::vector<double> least(nodes);
    std::vector<double> greatest(nodes);
    for (std::size_t i = 0; i < nodes; ++i) {
      auto& point = points[i];
      least[i] = greatest[i] = ends[i] = point->temperature;
      while (point + 1 != result.traces[i].end() && (point + 1)->time <= end) {
        ++point;
        ends[i] = point->temperature;
        least[i] = std::min(least[i], ends[i]);
        greatest[i] = std::max(greatest[i], ends[i]);
      }
    }
    history.ends.push_back(std::move(ends));
    history.least.push_back(std::move(least));
    history.greatest.push_back(std::move(greatest));
  }
  return history;
}

using Table = std::vector<std::vector<double>>;
double worst_difference(const Table& a, const Table& b) {
  double worst = 0;
  for (std::size_t k = 0; k < a.size(); ++k) {
    for (std::size_t i = 0; i < a[k].size(); ++i) worst = std::max(worst, std::abs(a[k][i] - b[k][i]));
  }
  return worst;
}

// The same network, its numbers uncertain by a ratio.
RandomCase with_bounds(const RandomCase& made, double ratio) {
  RandomCase bounded = made;
  const auto widen = [&](Bounded& value) {
    value = {value.nominal, value.nominal * (1 - ratio), value.nominal * (1 + ratio)};
  };
  for (ThermalNode& node : bounded.station.thermal.nodes) widen(node.capacity);
  for (ThermalLink& link : bounded.station.thermal.links) widen(link.value);
  for (Draw& draw : bounded.timeline.draws) widen(draw.load);
  return bounded;
}

struct Measured {
  std::vector<double> seconds;
  double at_steps = 0;  // K
  double between = 0;
};

void tell_row(const char* layout, const char* method, double setting, const Measured& measured) {
  std::vector<double> sorted = measured.seconds;
  std::sort(sorted.begin(), sorted.end());
  fmt::print("row,{},{},{:g},{:.4g},{:.3g},{:.3g}\n", layout, method, setting, sorted[sorted.size() / 2],
             measured.at_steps, measured.between);
}

int compare(const char* layout, const RandomCase& made, int rounds) {
  const StartState start = initial_state(made.station);
  const History exact = integrate_with_extremes(made, start, 1e-10);
  // The first of each is the usual setting.
  const double tolerances[] = {HeatOptions{}.tolerance, 2e-2, 1e-3, 1e-4};
  const double relatives[] = {1e-6, 1e-4, 1e-5, 1e-8};
  Measured by_cvode[std::size(relatives)];
  Measured found[std::size(tolerances)];
  Measured kept[std::size(tolerances)];
  std::vector<double> bounded;       // seconds, findings alone
  std::vector<double> bounded_kept;  // with courses and bands
  HeatResult envelope;
  std::size_t steps = 0;
  for (int round = 0; round < rounds; ++round) {
    for (std::size_t i = 0; i < std::size(relatives); ++i) {
      if (i > 0 && round > 0) continue;
      const double begin = processor_seconds();
      const History history = integrate(made, start, relatives[i]);
      by_cvode[i].seconds.push_back(processor_seconds() - begin);
      by_cvode[i].at_steps = by_cvode[i].between = worst_difference(history.ends, exact.ends);
    }
    for (std::size_t i = 0; i < std::size(tolerances); ++i) {
      HeatOptions options;
      options.tolerance = tolerances[i];
      options.envelope = options.traces = false;
      double begin = processor_seconds();
      static_cast<void>(check_heat(made.station, start, made.timeline, NoSun(), options));
      found[i].seconds.push_back(processor_seconds() - begin);
      options.traces = true;
      begin = processor_seconds();
      const HeatResult result = check_heat(made.station, start, made.timeline, NoSun(), options);
      kept[i].seconds.push_back(processor_seconds() - begin);
      if (i == 0) steps = result.steps;
      if (round > 0) continue;
      const History history = history_of(result, made);
      found[i].at_steps = kept[i].at_steps = worst_difference(history.ends, exact.ends);
      found[i].between = kept[i].between = std::max(worst_difference(history.least, exact.least),
                                                    worst_difference(history.greatest, exact.greatest));
    }
    // The same with every bound five per cent wide.
    const RandomCase uncertain = with_bounds(made, 0.05);
    for (const bool bands : {false, true}) {
      HeatOptions options;
      options.traces = bands;
      envelope = {};
      const double begin = processor_seconds();
      envelope = check_heat(uncertain.station, initial_state(uncertain.station), uncertain.timeline, NoSun(),
                            options);
      (bands ? bounded_kept : bounded)
          .push_back(processor_seconds() - begin - (bands ? kept : found)[0].seconds.back());
    }
  }
  std::vector<double> ratio;
  std::vector<double> ratio_kept;
  std::vector<double> ratio_bounds;
  std::vector<double> ratio_bands;
  for (std::size_t r = 0; r < found[0].seconds.size(); ++r) {
    ratio.push_back(by_cvode[0].seconds[r] / found[0].seconds[r]);
    ratio_kept.push_back(by_cvode[0].seconds[r] / kept[0].seconds[r]);
    ratio_bounds.push_back(bounded[r] / found[0].seconds[r]);
    ratio_bands.push_back(bounded_kept[r] / kept[0].seconds[r]);
  }
  fmt::print("{}: {} input steps; {} rounds, processor seconds: median (least to greatest)\n", layout,
             made.drives.size(), rounds);
  fmt::print("  CVODE BDF restarted, rtol 1e-6: {} s; at the steps' times {:.2g} K off at most\n",
             middle_and_spread(by_cvode[0].seconds, 2), by_cvode[0].at_steps);
  fmt::print(
      "  the check's findings: {} s, {} times as fast; with every temperature kept: {} s, {} times; {} "
      "steps; {:.2g} K off "
      "at most at the steps' times, extremes between {:.2g} K\n",
      middle_and_spread(found[0].seconds, 3), middle_and_spread(ratio, 1),
      middle_and_spread(kept[0].seconds, 3), middle_and_spread(ratio_kept, 1), steps, found[0].at_steps,
      found[0].between);
  fmt::print(
      "  its envelope: {} s, {} times the findings; with its bands {} s, {} times all kept; {} steps, "
      "widened "
      "by {:.2g} K for its own error\n",
      middle_and_spread(bounded, 3), middle_and_spread(ratio_bounds, 2), middle_and_spread(bounded_kept, 3),
      middle_and_spread(ratio_bands, 2), envelope.envelope.steps, envelope.envelope.numerical);
  for (std::size_t i = 0; i < std::size(relatives); ++i) tell_row(layout, "cvode", relatives[i], by_cvode[i]);
  for (std::size_t i = 0; i < std::size(tolerances); ++i) tell_row(layout, "check", tolerances[i], found[i]);
  for (std::size_t i = 0; i < std::size(tolerances); ++i) tell_row(layout, "kept", tolerances[i], kept[i]);
  return 0;
}

int run(int rounds, const std::string& only) {
  constexpr double month = 30 * 86'400.0;
  const auto wanted = [&](const char* name) { return only.empty() || only == name; };
  if (wanted("even")) compare("even", random_case(7, 12, 100'000, month), rounds);
  if (wanted("bursts")) compare("bursts", random_case(7, 12, 100'000, month, Layout::Bursts), rounds);
  if (wanted("sparse")) compare("sparse", random_case(7, 12, 2'000, month), rounds);
  return 0;
}

}  // namespace
}  // namespace cairn

int main(int count, char** arguments) {
  return cairn::run(count > 1 ? std::max(1, std::atoi(arguments[1])) : 5, count > 2 ? arguments[2] : "");
}
