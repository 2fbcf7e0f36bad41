// The thermal check against CVODE restarted at rtol 1e-6: 12 nodes, 100,000 input steps, 30 days.
//
// Errors are the greatest differences at the steps' times from CVODE at rtol 1e-10. The check's time includes its
// events, limits and traces; CVODE's is integration alone.

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>

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

double seconds_since(std::chrono::steady_clock::time_point begin) {
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
}

using History = std::vector<std::vector<double>>;  // by step, by node

History run_cvode(const RandomCase& made, const StartState& start, double relative, double& seconds) {
  History history;
  history.reserve(made.drives.size());
  const auto begin = std::chrono::steady_clock::now();
  CvodeReference solver(made.network, start.temperatures, relative, relative * 100);
  for (std::size_t k = 0; k < made.drives.size(); ++k) {
    solver.advance(made.drives[k], made.times[k], made.times[k + 1]);
    history.push_back(solver.temperatures());
  }
  seconds = seconds_since(begin);
  return history;
}

double worst_difference(const History& a, const History& b) {
  double worst = 0;
  for (std::size_t k = 0; k < a.size(); ++k) {
    for (std::size_t i = 0; i < a[k].size(); ++i) worst = std::max(worst, std::abs(a[k][i] - b[k][i]));
  }
  return worst;
}

int run() {
  const RandomCase made = random_case(7, 12, 100'000, 30 * 86'400.0);
  const StartState start = initial_state(made.station);
  double exact_seconds = 0;
  const History exact = run_cvode(made, start, 1e-10, exact_seconds);
  double usual_seconds = 0;
  const History usual = run_cvode(made, start, 1e-6, usual_seconds);
  std::printf("CVODE, rtol 1e-6, restarted: %.3f s, largest error %.2g K\n", usual_seconds,
              worst_difference(usual, exact));
  for (const double tolerance : {1e-4, 1e-3, 1e-2}) {
    const auto begin = std::chrono::steady_clock::now();
    const HeatResult result =
        check_heat(made.station, start, made.timeline, NoSun(), {.tolerance = tolerance, .keep_every = {}});
    const double seconds = seconds_since(begin);
    double worst = 0;
    for (std::size_t i = 0; i < made.network.capacities.size(); ++i) {
      auto point = result.traces[i].begin();
      for (std::size_t k = 0; k < exact.size(); ++k) {
        const Instant time = Instant{} + *duration_from_seconds(made.times[k + 1]);
        while (point != result.traces[i].end() && point->time < time) ++point;
        if (point != result.traces[i].end()) worst = std::max(worst, std::abs(point->temperature - exact[k][i]));
      }
    }
    std::printf("the check, tolerance %g K: %.3f s (%zu steps), largest error %.2g K, %.1f times as fast\n", tolerance,
                seconds, result.steps, worst, usual_seconds / seconds);
  }
  return 0;
}

}  // namespace
}  // namespace cairn

int main() { return cairn::run(); }
