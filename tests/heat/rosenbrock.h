// The plain way through a thermal network, written apart from the check's: what its tests also hold, and
// agree with.
//
// RODAS3, an L-stable Rosenbrock method of order 3 with an embedded solution of order 2 (Sandu et al.,
// "Benchmarking stiff ODE solvers for atmospheric chemistry problems II: Rosenbrock solvers", Atmospheric
// Environment 31 (1997) 3459-3472; coefficients from memory of it, held by the order tests).

#pragma once

#include <cstddef>
#include <functional>
#include <vector>

#include "constraints/heat/network.h"

namespace cairn {

// The drive at a time, s since the begin; smooth within a step.
using DriveAt = std::function<void(double seconds, Drive& drive)>;

// K/s of every node.
void temperature_rates(const Network& network, const Drive& drive, const std::vector<double>& temperatures,
                       std::vector<double>& rates);

class RosenbrockSolver {
 public:
  RosenbrockSolver(const Network& network, double tolerance);

  // One step of length `h` from `temperatures` at `seconds`; writes the result and returns the error estimate
  // relative to the tolerance (accept when at most 1).
  double try_step(const DriveAt& drive, double seconds, double h, const std::vector<double>& temperatures,
                  std::vector<double>& result);

 private:
  void factor(const std::vector<double>& temperatures, double diagonal);
  void solve(std::vector<double>& right) const;

  const Network* network_;
  double tolerance_;
  std::size_t size_;
  std::vector<double> matrix_;  // row by row, factored
  std::vector<std::size_t> pivots_;
  std::vector<double> k_[4];
  std::vector<double> rates_;
  std::vector<double> stage_;
  std::vector<double> slope_;
  Drive drive_;
  Drive drive_end_;
};

}  // namespace cairn
