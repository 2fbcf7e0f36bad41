// The whole check against SUNDIALS CVODE at 1e-10, restarted at every jump, on random stiff networks.

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "tests/heat/cvode.h"
#include "tests/heat/random_network.h"

namespace cairn {
namespace {

double value_at(const std::vector<TemperaturePoint>& trace, Instant time) {
  const auto found = std::lower_bound(trace.begin(), trace.end(), time,
                                      [](const TemperaturePoint& p, Instant t) { return p.time < t; });
  return found == trace.end() || found->time != time ? std::nan("") : found->temperature;
}

TEST(HeatReference, AgreesWithCvodeAtEveryStepOfTheLoad) {
  for (std::uint32_t seed = 1; seed <= 12; ++seed) {
    const std::size_t nodes = 8 + seed % 5;
    // Dense steps of about 30 s, and sparse ones of hours.
    const RandomCase made =
        random_case(seed, nodes, seed % 2 == 0 ? 400 : 40, seed % 2 == 0 ? 12'000 : 400'000);
    const StartState start = initial_state(made.station);
    const HeatResult result = check_heat(made.station, start, made.timeline, NoSun(), {});
    CvodeReference reference(made.network, start.temperatures, 1e-10, 1e-10);
    double worst = 0;
    for (std::size_t k = 0; k + 1 < made.times.size(); ++k) {
      reference.advance(made.drives[k], made.times[k], made.times[k + 1]);
      const Instant time = Instant{} + *duration_from_seconds(made.times[k + 1]);
      for (std::size_t i = 0; i < nodes; ++i) {
        const double difference = std::abs(value_at(result.traces[i], time) - reference.temperatures()[i]);
        ASSERT_FALSE(std::isnan(difference)) << "no point at a step's time";
        worst = std::max(worst, difference);
      }
    }
    EXPECT_LT(worst, 0.01) << "seed " << seed;
    // The account closes to what the tolerance allows on the capacities.
    double capacity = 0;
    for (const double c : made.network.capacities) capacity += c;
    EXPECT_NEAR(result.energy_in - result.energy_out - result.energy_stored, 0,
                1e-4 * result.energy_in + 0.01 * capacity);
  }
}

// Extremes within the steps of the load, by the reference's own course through each: no trace misses one.
TEST(HeatReference, ExtremesBetweenStepsAreInTheTraces) {
  for (std::uint32_t seed = 21; seed <= 24; ++seed) {
    const std::size_t nodes = 8 + seed % 5;
    const RandomCase made =
        random_case(seed, nodes, seed % 2 == 0 ? 200 : 20, seed % 2 == 0 ? 6'000 : 100'000);
    const StartState start = initial_state(made.station);
    const HeatResult result = check_heat(made.station, start, made.timeline, NoSun(), {});
    CvodeReference reference(made.network, start.temperatures, 1e-10, 1e-10);
    for (std::size_t k = 0; k + 1 < made.times.size(); ++k) {
      const double from = made.times[k];
      const double to = made.times[k + 1];
      std::vector<double> least = reference.temperatures();
      std::vector<double> greatest = least;
      reference.restart(made.drives[k], from, to);
      constexpr int samples = 100;
      for (int s = 1; s <= samples; ++s) {
        reference.go_on(s == samples ? to : from + (to - from) * s / samples);
        for (std::size_t i = 0; i < nodes; ++i) {
          least[i] = std::min(least[i], reference.temperatures()[i]);
          greatest[i] = std::max(greatest[i], reference.temperatures()[i]);
        }
      }
      for (std::size_t i = 0; i < nodes; ++i) {
        const auto& trace = result.traces[i];
        const auto before = [](const TemperaturePoint& p, Instant t) { return p.time < t; };
        auto point =
            std::lower_bound(trace.begin(), trace.end(), Instant{} + *duration_from_seconds(from), before);
        const Instant end = Instant{} + *duration_from_seconds(to);
        double traced_least = point->temperature;
        double traced_greatest = traced_least;
        for (; point != trace.end() && point->time <= end; ++point) {
          traced_least = std::min(traced_least, point->temperature);
          traced_greatest = std::max(traced_greatest, point->temperature);
        }
        EXPECT_LE(traced_least, least[i] + 0.005) << "seed " << seed << " node " << i << " step " << k;
        EXPECT_GE(traced_greatest, greatest[i] - 0.005) << "seed " << seed << " node " << i << " step " << k;
      }
    }
  }
}

}  // namespace
}  // namespace cairn
