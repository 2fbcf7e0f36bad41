// Steps a thermal network through time, mode by mode.
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
#include "constraints/heat/step_method.h"

namespace cairn {

template <class Value>
class ModalStep final : public StepMethod<Value> {
 public:
  using Values = std::vector<Value>;
  static constexpr bool bounds = sides_of<Value> == 2;

  // The network is held by reference; the spread is what bounds allow its numbers.
  ModalStep(const Network& network, double tolerance, const NetworkSpread& spread = {});

  void set_contact(std::size_t link, Value conductance) override;
  double step(double h, const Values& temperatures, Values& result) override;
  Reading at(std::size_t node, double part, std::size_t side) override;
  void displace(const Displacement<Value>& begin, Displacement<Value>& end) override;
  [[nodiscard]] double energy_in() const override;
  [[nodiscard]] double energy_out() override;

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

  using StepMethod<Value>::drives_;
  using StepMethod<Value>::bend_;

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
  std::size_t linearisations_ = 0;  // so far

  double h_ = 0;
  Values begin_, middle_, end_;        // K
  Values before_middle_, before_end_;  // as the pass before had them
  Values begin_modes_, middle_modes_, end_modes_;
  std::array<Values, 3> watts_;       // the remainder at the step's begin, middle and end; by node
  std::array<Values, 3> remainders_;  // by mode
  std::array<Values, 3> forcing_;     // constant, linear and quadratic in the part of the step; by mode
  std::array<typename Flows<Value>::Record, 3> records_;
  static constexpr int most_passes = bounds ? 12 : 4;  // a spread may be as stiff as the network
  Answers whole_, half_, some_;
  // W, by node: estimate of how far the step's heat balance is off, at any time within it; for bounds.
  Values defect_;
  std::vector<double> asked_;  // parts of the step
  std::deque<Point> points_;   // of those parts, and spare ones; a deque, so that they stay where they are
  Values work_, changes_, heat_changes_, sink_changes_;
};

}  // namespace cairn
