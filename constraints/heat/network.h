// A thermal network as numbers, and one step of its solver.
//
// C_i dT_i/dt = Q_i(t) + sum_j G_ij (T_j - T_i) + sum_j sigma R_ij (T_j^4 - T_i^4), sinks at given temperatures.
// Solved by RODAS3, an L-stable Rosenbrock method of order 3 with an embedded solution of order 2 (Sandu et al.,
// "Benchmarking stiff ODE solvers for atmospheric chemistry problems II: Rosenbrock solvers", Atmospheric
// Environment 31 (1997) 3459-3472; coefficients from memory of it, held by the order tests).

#pragma once

#include <cstddef>
#include <functional>
#include <vector>

namespace cairn {

struct NetworkLink {
  std::size_t node = 0;
  std::size_t other = 0;  // a node, or a sink when `to_sink`
  bool to_sink = false;
  bool radiative = false;
  double value = 0;  // W/K, or m2
};

struct Network {
  std::vector<double> capacities;  // J/K
  std::vector<NetworkLink> links;
};

// What drives the network at a time (s since its begin): W into each node, K of each sink. Smooth within a step.
struct Drive {
  std::vector<double> heat;
  std::vector<double> sinks;
};
using DriveAt = std::function<void(double seconds, Drive& drive)>;

// K/s of every node.
void temperature_rates(const Network& network, const Drive& drive, const std::vector<double>& temperatures,
                       std::vector<double>& rates);

// W that leave through the sinks.
double sink_flow(const Network& network, const Drive& drive, const std::vector<double>& temperatures);

class NetworkSolver {
 public:
  NetworkSolver(const Network& network, double tolerance);

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
