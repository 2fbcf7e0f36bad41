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
      const Reading reading = solver.at(0, part);
      EXPECT_NEAR(reading.temperature, lump.at(part * h), close) << part << " of " << h;
      const double rate =
          (lump.heat + lump.heat_slope * part * h - lump.conductance * (lump.at(part * h) - lump.sink)) /
          lump.capacity;
      EXPECT_NEAR(reading.rate, rate, 1e-11 * (1 + h)) << part << " of " << h;
    }
  }
}

// Sparse algebra for however few nodes.
NetworkSolver by_sparse_algebra(const Network& network, double tolerance) {
  return {network, tolerance, {}, 0};
}
NetworkSolver solver_of(const Network& network, double tolerance, bool sparse) {
  return sparse ? by_sparse_algebra(network, tolerance) : NetworkSolver(network, tolerance);
}

// A polynomial is not exact, but as exact as it says, at every part of the step; and gets better with shorter
// ones as its order promises.
TEST(Solver, SparseAlgebraIsAsExactAsItSaysAtEveryPartOfTheStep) {
  const WarmedLump lump;
  const Network network = lump.network();
  constexpr double tolerance = 1e-3;
  double before = 0;
  std::size_t accepted = 0;
  for (const double h : {2'000.0, 400.0, 200.0, 100.0, 50.0, 25.0, 1.0}) {
    NetworkSolver solver = by_sparse_algebra(network, tolerance);
    std::vector<double> result;
    const auto drive = [&](double seconds, Drive& out) { lump.drive(seconds, out); };
    const double error = solver.try_step(drive, 0, h, {lump.start}, result);
    double worst = 0;
    for (int k = 0; k <= 200; ++k) {
      const double part = k / 200.0;
      const Reading reading = solver.at(0, part);
      worst = std::max(worst, std::abs(reading.temperature - lump.at(part * h)));
      const double chord = lump.start + part * (result[0] - lump.start);
      EXPECT_LE(std::abs(reading.temperature - chord), solver.bend(0) + 1e-9);
    }
    EXPECT_EQ(solver.at(0, 0).temperature, lump.start);
    EXPECT_EQ(solver.at(0, 1).temperature, result[0]);
    if (error <= 1) {
      ++accepted;
      EXPECT_LE(worst, tolerance) << h;
    }
    // Order 5 means that one step's error is of order 6: half the step, a 64th of the error, or nearly so.
    if (h < 200 && h > 20) {
      EXPECT_LT(worst, before / 32) << h;
    }
    before = worst;
  }
  EXPECT_GE(accepted, 3U);
}

// A linear network in one step of any length ends where all its heat has gone, without ringing.
TEST(Solver, SparseAlgebraDampsWhatIsStiff) {
  const Network network{{1e-3, 1e4}, {{0, 1, false, false, 5}, {1, 0, true, false, 2}}};
  NetworkSolver solver = by_sparse_algebra(network, 1e-3);
  std::vector<double> result;
  const auto drive = [](double, Drive& out) { out = {{0, 20}, {280}}; };
  static_cast<void>(solver.try_step(drive, 0, 1e12, {500, 200}, result));
  EXPECT_NEAR(result[0], 290, 1e-3);
  EXPECT_NEAR(result[1], 290, 1e-3);
}

// One long step and many short ones tell the same story, as far as the tolerance goes.
TEST(Solver, TheInsideOfAStepIsWhatShorterStepsFind) {
  for (std::uint32_t seed = 1; seed <= 40; ++seed) {
    const bool sparse = seed > 20;
    const RandomCase made = random_case(seed, 6 + seed % 7, 2, 200);
    const std::vector<double> start = initial_state(made.station).temperatures;
    const auto drive = [&](double, Drive& out) { out = made.drives[0]; };
    NetworkSolver whole = solver_of(made.network, 1e-3, sparse);
    std::vector<double> end;
    double h = 200;
    while (whole.try_step(drive, 0, h, start, end) > 1) h /= 2;
    NetworkSolver shorter = solver_of(made.network, 1e-3, sparse);
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
  for (std::uint32_t seed = 1; seed <= 40; ++seed) {
    const bool sparse = seed > 20;
    const RandomCase made = random_case(seed, 6 + seed % 7, 2, 200);
    const std::vector<double> start = initial_state(made.station).temperatures;
    const auto drive = [&](double, Drive& out) { out = made.drives[0]; };
    NetworkSolver solver = solver_of(made.network, 1e-3, sparse);
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
