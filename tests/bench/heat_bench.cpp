// The thermal check against CVODE restarted at rtol 1e-6: 12 nodes, 100,000 input steps, 30 days.
//
// Errors are against CVODE at rtol 1e-10: at the steps' times, and of each node's least and greatest value
// within each of the check's input steps. The check's time includes its events, limits and traces; CVODE's is
// integration alone, and gives values at the steps' times only. Usage: heat_bench [rounds]

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <utility>

#include "tests/bench/spread.h"
#include "tests/heat/cvode.h"
#include "tests/heat/random_network.h"

namespace cairn {
namespace {

class NoSun final : public Sky {
 public:
  [[nodiscard]] SkyPoint sun(Instant) const override { return {-0.5, 0, astronomical_unit}; }
  [[nodiscard]] SkyPoint earth(Instant) const override { return {0.5, 0, 384.4e6}; }
  [[nodiscard]] double solar_flux(Instant) const override { return solar_irradiance_1au; }
};

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

// The greatest of evenly spaced values, or of the parabola through it and its neighbours.
double greatest_of(const std::vector<double>& values, double sign) {
  std::size_t top = 0;
  for (std::size_t i = 1; i < values.size(); ++i) {
    if (sign * values[i] > sign * values[top]) top = i;
  }
  if (top == 0 || top + 1 == values.size()) return values[top];
  const double slope = 0.5 * (values[top + 1] - values[top - 1]);
  const double bend = values[top + 1] - 2 * values[top] + values[top - 1];
  return bend == 0 ? values[top] : values[top] - 0.5 * slope * slope / bend;
}

History integrate_with_extremes(const RandomCase& made, const StartState& start, double relative) {
  constexpr int samples = 32;
  History history;
  CvodeReference solver(made.network, start.temperatures, relative, relative * 100);
  const std::size_t nodes = made.network.capacities.size();
  std::vector<std::vector<double>> course(nodes);
  for (std::size_t k = 0; k < made.drives.size(); ++k) {
    const double from = made.times[k];
    const double to = made.times[k + 1];
    for (std::size_t i = 0; i < nodes; ++i) course[i] = {solver.temperatures()[i]};
    solver.restart(made.drives[k], from, to);
    for (int s = 1; s <= samples; ++s) {
      solver.go_on(s == samples ? to : from + (to - from) * s / samples);
      for (std::size_t i = 0; i < nodes; ++i) course[i].push_back(solver.temperatures()[i]);
    }
    history.ends.push_back(solver.temperatures());
    std::vector<double> least;
    std::vector<double> greatest;
    for (const std::vector<double>& values : course) {
      least.push_back(greatest_of(values, -1));
      greatest.push_back(greatest_of(values, 1));
    }
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

int run(int rounds) {
  const RandomCase made = random_case(7, 12, 100'000, 30 * 86'400.0);
  const StartState start = initial_state(made.station);
  const History exact = integrate_with_extremes(made, start, 1e-10);
  const double tolerances[] = {HeatOptions{}.tolerance, 1e-3, 1e-4};
  std::vector<double> usual;
  std::vector<double> times[std::size(tolerances)];
  std::vector<double> ratios[std::size(tolerances)];
  HeatResult results[std::size(tolerances)];
  History by_cvode;
  for (int round = 0; round < rounds; ++round) {
    double begin = processor_seconds();
    by_cvode = integrate(made, start, 1e-6);
    usual.push_back(processor_seconds() - begin);
    for (std::size_t i = 0; i < std::size(tolerances); ++i) {
      results[i] = {};
      begin = processor_seconds();
      results[i] = check_heat(made.station, start, made.timeline, NoSun(),
                              {.tolerance = tolerances[i], .keep_every = {}});
      times[i].push_back(processor_seconds() - begin);
      ratios[i].push_back(usual.back() / times[i].back());
    }
  }
  fmt::print(
      "12 nodes, 100,000 input steps, 30 days; {} rounds, processor seconds: median (least to greatest)\n",
      rounds);
  fmt::print("CVODE BDF restarted, rtol 1e-6: {} s; at the steps' times {:.2g} K off at most\n",
             middle_and_spread(usual, 2), worst_difference(by_cvode.ends, exact.ends));
  for (std::size_t i = 0; i < std::size(tolerances); ++i) {
    const History history = history_of(results[i], made);
    fmt::print(
        "the check, tolerance {:g} K: {} s, {} times as fast; {} steps; at their times {:.2g} K off at most, "
        "extremes between {:.2g} K\n",
        tolerances[i], middle_and_spread(times[i], 3), middle_and_spread(ratios[i], 1), results[i].steps,
        worst_difference(history.ends, exact.ends),
        std::max(worst_difference(history.least, exact.least),
                 worst_difference(history.greatest, exact.greatest)));
  }
  return 0;
}

}  // namespace
}  // namespace cairn

int main(int count, char** arguments) {
  return cairn::run(count > 1 ? std::max(1, std::atoi(arguments[1])) : 5);
}
