// The whole check against SUNDIALS CVODE at 1e-10, restarted at every jump, on random stiff networks.

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>

#include "tests/heat/cvode.h"
#include "tests/heat/random_network.h"

namespace cairn {
namespace {

double value_at(const std::vector<TemperaturePoint>& trace, Instant time) {
  const auto found = std::lower_bound(trace.begin(), trace.end(), time,
                                      [](const TemperaturePoint& p, Instant t) { return p.time < t; });
  return found == trace.end() || found->time != time ? std::nan("") : found->temperature;
}

// K: the largest difference at the steps' times.
double furthest_from_cvode(const RandomCase& made, const HeatResult& result, double relative) {
  CvodeReference reference(made.network, initial_state(made.station).temperatures, relative, relative);
  double worst = 0;
  for (std::size_t k = 0; k + 1 < made.times.size(); ++k) {
    reference.advance(made.drives[k], made.times[k], made.times[k + 1]);
    const Instant time = Instant{} + *duration_from_seconds(made.times[k + 1]);
    for (std::size_t i = 0; i < result.traces.size(); ++i) {
      const double difference = std::abs(value_at(result.traces[i], time) - reference.temperatures()[i]);
      if (std::isnan(difference)) {
        ADD_FAILURE() << "no point at a step's time";
        return difference;
      }
      worst = std::max(worst, difference);
    }
  }
  return worst;
}

HeatResult nominal_course(const RandomCase& made, std::size_t modal_up_to = most_modal_nodes) {
  HeatOptions options;
  options.modal_up_to = modal_up_to;
  options.envelope = false;
  return check_heat(made.station, initial_state(made.station), made.timeline, NoSun(), options);
}

// Thirty days in which the heat of nodes changes 10,000 times, in networks of 5 to 30 nodes with time
// constants from minutes to days.
TEST(HeatReference, TwentyStiffNetworksOverThirtyDaysOfSwitching) {
  const std::uint32_t step = std::getenv("CAIRN_ALL_NETWORKS") == nullptr ? 3 : 1;
  for (std::uint32_t n = 0; n < 20; n += step) {
    const std::size_t nodes = 5 + 25 * n / 19;
    const RandomCase made = random_case(500 + n, nodes, 10'000, 30 * 86'400.0);
    EXPECT_LT(furthest_from_cvode(made, nominal_course(made), 1e-7), 0.01) << nodes << " nodes";
  }
}

// Where a network counts as large, it is linearised anew less often.
TEST(HeatReference, LargeNetworksAgreeWithCvode) {
  for (const std::size_t nodes : {60U, 110U}) {
    const RandomCase made = random_case(90, nodes, 100, 200'000);
    EXPECT_LT(furthest_from_cvode(made, nominal_course(made), 1e-9), 0.01) << nodes << " nodes";
  }
}

// As large ones are stepped; with thousands of switchings, and few.
TEST(HeatReference, SparseAlgebraAgreesWithCvode) {
  for (std::uint32_t n = 0; n < 4; ++n) {
    const std::size_t nodes = 5 + 9 * n;
    const RandomCase made = random_case(700 + n, nodes, n % 2 == 0 ? 2'000 : 100, 6 * 86'400.0);
    EXPECT_LT(furthest_from_cvode(made, nominal_course(made, 0), 1e-8), 0.01) << nodes << " nodes";
  }
}

TEST(HeatReference, AgreesWithCvodeAtEveryStepOfTheLoad) {
  for (std::uint32_t seed = 1; seed <= 12; ++seed) {
    const std::size_t nodes = 8 + seed % 5;
    // Dense steps of about 30 s, and sparse ones of hours.
    const RandomCase made =
        random_case(seed, nodes, seed % 2 == 0 ? 400 : 40, seed % 2 == 0 ? 12'000 : 400'000);
    const StartState start = initial_state(made.station);
    const HeatResult result = check_heat(made.station, start, made.timeline, NoSun(), {});
    EXPECT_LT(furthest_from_cvode(made, result, 1e-10), 0.01) << "seed " << seed;
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
