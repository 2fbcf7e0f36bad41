// Steps a thermal network through time, mode by mode.
//
// Exact in conduction and in heat that changes linearly; what radiation bends is a remainder, taken as a
// quadratic in time through three stages (ETD3RK of Cox and Matthews, "Exponential time differencing for
// stiff systems", Journal of Computational Physics 176 (2002) 430-455). The linearisation is taken anew when
// temperatures have moved by 2 %. A step is therefore as long as its drive is smooth, however stiff the
// network.

#pragma once

#include <array>
#include <cstddef>
#include <vector>

#include "constraints/heat/modes.h"
#include "constraints/heat/network.h"

namespace cairn {

class NetworkSolver {
 public:
  NetworkSolver(const Network& network, double tolerance);

  // One step of length `h` from `temperatures` at `seconds`; writes the result and returns the error estimate
  // relative to the tolerance (accept when at most 1). `drive(seconds, Drive&)` is asked at both ends and
  // halfway, and must be smooth in between.
  template <class DriveFunction>
  double try_step(const DriveFunction& drive, double seconds, double h,
                  const std::vector<double>& temperatures, std::vector<double>& result) {
    drive(seconds, drives_[0]);
    drive(seconds + h / 2, drives_[1]);
    drive(seconds + h, drives_[2]);
    return step(h, temperatures, result);
  }

  // The rest speaks of the step tried last.

  struct Reading {
    double temperature = 0;  // K
    double rate = 0;         // K/s
  };
  // Of a node when `part` of the step, 0 to 1, is over.
  Reading at(std::size_t node, double part);
  // A node is never further than this, K, from the middle between its temperatures at both ends.
  [[nodiscard]] double reach(std::size_t node) const { return reach_[node]; }
  [[nodiscard]] double energy_in() const;  // J into the nodes
  double energy_out();                     // J that leave through the sinks

 private:
  struct Exchange {  // a radiative link between nodes
    std::size_t node, other, link;
    double strength;  // W/K^4
    double conductance = 0;
  };
  struct Radiator {  // a radiative link to a sink
    std::size_t node, sink, link;
    double strength;
    double conductance = 0;
  };
  struct Contact {  // a conductive link to a sink
    std::size_t node, sink;
    double conductance;
  };
  // The modes at a time within the step.
  struct Point {
    double part = 0;
    std::vector<double> modes;
    std::vector<double> slopes;  // 1/s
  };

  double step(double h, const std::vector<double>& temperatures, std::vector<double>& result);
  void begin_at(const std::vector<double>& temperatures);
  void linearise();
  void weigh(double h);
  void add_surroundings(const Drive& drive, std::vector<double>& watts) const;
  void add_curvature(const std::vector<double>& temperatures, std::vector<double>& watts);
  [[nodiscard]] double beyond_linear(const Drive& drive, const std::vector<double>& temperatures) const;
  const Point& point(double part);

  using Values = std::vector<double>;  // by node or by mode, padded

  const Network* network_;
  double tolerance_;
  std::size_t size_;
  std::vector<Exchange> exchanges_;
  std::vector<Radiator> radiators_;
  std::vector<Contact> contacts_;
  std::vector<char> radiates_;  // by node

  Modes modes_;
  Values linear_at_;      // K, where the network is linearised
  Values sink_coupling_;  // W out through the sinks for each mode's unit
  bool linearised_ = false;

  double h_ = 0;
  std::array<Drive, 3> drives_;
  Values begin_, end_;  // K
  Values begin_modes_, end_modes_;
  std::array<Values, 3> forcing_;  // constant, linear and quadratic in the part of the step; by mode
  Values decay_, phi1_, phi2_, phi3_, phi4_, half_decay_, half_phi1_;
  Values reach_;
  std::vector<Point> points_;
  std::size_t point_count_ = 0;
  Values stage_, stage_modes_, watts_, fourth_, work_;
  std::array<Values, 3> stages_;  // drive of the modes at the step's begin, middle and end
};

}  // namespace cairn
