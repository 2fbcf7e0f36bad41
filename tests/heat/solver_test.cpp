// What the check's solver says of a step's inside: held against closed forms, against shorter steps, and its
// bounds against what they bound.

#include "constraints/heat/solver.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "constraints/heat/course.h"
#include "tests/heat/random_network.h"

namespace cairn {
namespace {

// A lump with a conductive link, under heat that grows linearly with time, in closed form.
struct WarmedLump {
  double capacity = 500;
  double conductance = 2;
  double sink = 280;
  double start = 300;
  double heat = 30;         // W at first
  double heat_slope = 0.2;  // W/s

  [[nodiscard]] Network network() const { return {{capacity}, {{0, 0, true, false, conductance}}}; }
  void drive(double seconds, Drive& out) const { out = {{heat + heat_slope * seconds}, {sink}}; }
  [[nodiscard]] double at(double seconds) const {
    const double tau = capacity / conductance;
    const double ramp = heat_slope / conductance;
    const double level = sink + heat / conductance - ramp * tau;
    return level + ramp * seconds + (start - level) * std::exp(-seconds / tau);
  }
};

TEST(Solver, ExactInWhatIsLinearAtEveryPartOfTheStep) {
  const WarmedLump lump;
  for (const double h : {1e-3, 1.0, 60.0, 250.0, 3000.0, 1e6}) {
    const Network network = lump.network();
    NetworkSolver solver(network, 1e-4);
    std::vector<double> result;
    const auto drive = [&](double seconds, Drive& out) { lump.drive(seconds, out); };
    EXPECT_LE(solver.try_step(drive, 0, h, {lump.start}, result), 1);
    const double close = 1e-10 * std::abs(lump.at(h)) + 1e-9;
    EXPECT_NEAR(result[0], lump.at(h), close);
    for (const double part :
         {0.0, 1.0, 0.5, 0.25, 0.75, 0.625, 1.0 / 1024, 1.0 - 1.0 / 4096, 0.3, 0.9999, 1e-5}) {
      const NetworkSolver::Reading reading = solver.at(0, part);
      EXPECT_NEAR(reading.temperature, lump.at(part * h), close) << part << " of " << h;
      const double rate =
          (lump.heat + lump.heat_slope * part * h - lump.conductance * (lump.at(part * h) - lump.sink)) /
          lump.capacity;
      EXPECT_NEAR(reading.rate, rate, 1e-11 * (1 + h)) << part << " of " << h;
    }
  }
}

// One long step and many short ones tell the same story, as far as the tolerance goes.
TEST(Solver, TheInsideOfAStepIsWhatShorterStepsFind) {
  for (std::uint32_t seed = 1; seed <= 20; ++seed) {
    const RandomCase made = random_case(seed, 6 + seed % 7, 2, 200);
    const std::vector<double> start = initial_state(made.station).temperatures;
    const auto drive = [&](double, Drive& out) { out = made.drives[0]; };
    NetworkSolver whole(made.network, 1e-3);
    std::vector<double> end;
    double h = 200;
    while (whole.try_step(drive, 0, h, start, end) > 1) h /= 2;
    NetworkSolver shorter(made.network, 1e-3);
    std::vector<double> now = start;
    std::vector<double> next;
    constexpr int steps = 64;
    for (int s = 1; s <= steps; ++s) {
      static_cast<void>(shorter.try_step(drive, h * (s - 1) / steps, h / steps, now, next));
      now = next;
      const double part = static_cast<double>(s) / steps;
      for (std::size_t i = 0; i < now.size(); ++i) {
        EXPECT_NEAR(whole.at(i, part).temperature, now[i], 1e-3) << "seed " << seed;
        const double chord = start[i] + part * (end[i] - start[i]);
        EXPECT_LE(std::abs(now[i] - chord), whole.bend(i) + 1e-3) << "seed " << seed;
        EXPECT_LE(std::abs(whole.at(i, part).temperature - chord), whole.bend(i) + 1e-9) << "seed " << seed;
      }
    }
    // The pieces of a course join, and lie on it.
    std::vector<Cubic> pieces;
    for (std::size_t i = 0; i < now.size(); ++i) {
      read_course(whole, i, 1000, h, 1e-3, pieces);
      EXPECT_EQ(pieces.front().t0, 1000);
      EXPECT_EQ(pieces.back().t1, 1000 + h);
      for (std::size_t k = 0; k < pieces.size(); ++k) {
        if (k > 0) {
          EXPECT_EQ(pieces[k].t0, pieces[k - 1].t1);
          EXPECT_EQ(pieces[k].y0, pieces[k - 1].y1);
        }
        for (const double u : {0.2, 0.4, 0.6, 0.8}) {
          const double time = pieces[k].t0 + u * (pieces[k].t1 - pieces[k].t0);
          EXPECT_NEAR(pieces[k].at(time), whole.at(i, (time - 1000) / h).temperature, 1e-3)
              << "seed " << seed;
        }
      }
    }
  }
}

TEST(Solver, AccountOfEnergyClosesOverStiffSteps) {
  for (std::uint32_t seed = 1; seed <= 20; ++seed) {
    const RandomCase made = random_case(seed, 6 + seed % 7, 2, 200);
    const std::vector<double> start = initial_state(made.station).temperatures;
    const auto drive = [&](double, Drive& out) { out = made.drives[0]; };
    NetworkSolver solver(made.network, 1e-3);
    std::vector<double> end;
    double h = 4000;
    while (solver.try_step(drive, 0, h, start, end) > 1) h /= 2;
    double stored = 0;
    for (std::size_t i = 0; i < end.size(); ++i) stored += made.network.capacities[i] * (end[i] - start[i]);
    double capacity = 0;
    for (const double c : made.network.capacities) capacity += c;
    EXPECT_NEAR(solver.energy_in() - solver.energy_out(), stored, 1e-3 * capacity + 1e-4 * solver.energy_in())
        << "seed " << seed << " step " << h;
  }
}

}  // namespace
}  // namespace cairn
