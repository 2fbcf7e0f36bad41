// Steps a thermal network through time, mode by mode: the network as it is, or both its bounds in one pass.
//
// Exact in conduction and in heat that changes linearly; what radiation bends is a remainder, taken as a
// quadratic in time through the step's begin, middle and end, and found in passes, each an order better than
// the one before: collocation for exponential integrators (Hochbruck and Ostermann, "Exponential
// integrators", Acta Numerica 19 (2010) 209-286, from memory), of order 3 at any time within the step. The
// linearisation is taken anew when temperatures have moved by 6 % (10 % in large networks). A step is
// therefore as long as its drive is smooth, however stiff the network.

#pragma once

#include <array>
#include <cstddef>
#include <deque>
#include <vector>

#include "constraints/heat/answers.h"
#include "constraints/heat/flows.h"
#include "constraints/heat/lanes.h"
#include "constraints/heat/modes.h"
#include "constraints/heat/network.h"

namespace cairn {

// A node at a time.
struct Reading {
  double temperature = 0;  // K
  double rate = 0;         // K/s
};

// `Value` is double, or Pair for lower and upper bound.
template <class Value>
class Stepper {
 public:
  using Values = std::vector<Value>;
  using Reading = cairn::Reading;
  static constexpr bool bounds = sides_of<Value> == 2;

  // The network is held by reference; the spread is what bounds allow its numbers.
  Stepper(const Network& network, double tolerance, const NetworkSpread& spread = {});

  // Gives a conductive link to a sink another value, from the next step on.
  void set_contact(std::size_t link, Value conductance);
  void set_tolerance(double tolerance) { tolerance_ = tolerance; }

  // One step of length `h` from `temperatures` at `seconds`; writes the result and returns the error estimate
  // relative to the tolerance (accept when at most 1). `drive(seconds, DriveOf<Value>&)` is asked at both
  // ends and halfway, and must be smooth in between.
  template <class DriveFunction>
  double try_step(const DriveFunction& drive, double seconds, double h, const Values& temperatures,
                  Values& result) {
    drive(seconds, drives_[0]);
    drive(seconds + h / 2, drives_[1]);
    drive(seconds + h, drives_[2]);
    return step(h, temperatures, result);
  }

  // The rest speaks of the step tried last.

  // Of a node when `part` of the step, 0 to 1, is over.
  Reading at(std::size_t node, double part, std::size_t side = 0);
  // A node strays no further than this, K, from the straight line between its temperatures at both ends.
  [[nodiscard]] double bend(std::size_t node, std::size_t side = 0) const {
    return of_side(bend_[node], side);
  }
  // W: estimate of how far the step's heat balance of each node is off, at any time within it; for bounds.
  [[nodiscard]] const Values& defect() const { return defect_; }
  // Adds to `displaced`, modes of a displacement, what a constant heat in the nodes does to them in the step.
  void displace(Values& displaced, const Values& watts);
  [[nodiscard]] const Modes<Value>& modes() const { return modes_; }
  // Changes whenever the modes do.
  [[nodiscard]] std::size_t linearisations() const { return linearisations_; }
  [[nodiscard]] double energy_in() const;  // J into the nodes, of the first side
  [[nodiscard]] double energy_out();       // J that leave through the sinks

  [[nodiscard]] std::size_t padded() const { return padded_; }

 private:
  // A time within the step.
  struct Point {
    Values modes;
    Values slopes;  // of the modes, 1/s
    // Of all nodes at once, where most of them are asked for.
    bool has_nodes = false;
    Values temperatures;
    Values rates;
  };

  double step(double h, const Values& temperatures, Values& result);
  void begin_at(const Values& temperatures);
  void linearise(std::size_t side);
  [[nodiscard]] bool is_steady() const;
  void find_later_remainders();
  void answer_remainder();
  void find_bends();
  double missed_by_quadratic();
  const Point& point(double part);

  double tolerance_;
  std::size_t size_;
  std::size_t padded_;
  double linear_within_;  // of the absolute temperature, before the network is linearised anew
  const std::vector<double>* capacities_;
  const Network* network_;
  Flows<Value> flows_;
  std::vector<std::size_t> radiating_;  // nodes

  Modes<Value> modes_;
  Values linear_at_;      // K, where the network is linearised
  Values sink_coupling_;  // W out through the sinks for each mode's unit
  bool linearised_ = false;
  std::size_t linearisations_ = 0;

  double h_ = 0;
  std::array<DriveOf<Value>, 3> drives_;
  Values begin_, middle_, end_;        // K
  Values before_middle_, before_end_;  // as the pass before had them
  Values begin_modes_, middle_modes_, end_modes_;
  std::array<Values, 3> watts_;       // the remainder at the step's begin, middle and end; by node
  std::array<Values, 3> remainders_;  // by mode
  std::array<Values, 3> forcing_;     // constant, linear and quadratic in the part of the step; by mode
  std::array<typename Flows<Value>::Record, 3> records_;
  static constexpr int most_passes = bounds ? 12 : 4;  // a spread may be as stiff as the network
  Answers whole_, half_, some_;
  Values bend_, defect_;
  std::vector<double> parts_;  // of the step, that have been asked for
  std::deque<Point> points_;   // of those parts, and spare ones; a deque, so that they stay where they are
  Values work_, changes_, heat_changes_, sink_changes_;
};

using NetworkSolver = Stepper<double>;
using BoundSolver = Stepper<Pair>;

}  // namespace cairn
