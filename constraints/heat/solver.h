// Steps a thermal network through time, mode by mode.
//
// Exact in conduction and in heat that changes linearly; what radiation bends is a remainder, taken as a
// quadratic in time through the step's begin, middle and end, and found in three passes, each an order better
// than the one before: collocation for exponential integrators (Hochbruck and Ostermann, "Exponential
// integrators", Acta Numerica 19 (2010) 209-286, from memory), of order 3 at any time within the step. The
// linearisation is taken anew when temperatures have moved by 4 %. A step is therefore as long as its drive
// is smooth, however stiff the network.

#pragma once

#include <array>
#include <cstddef>
#include <deque>
#include <vector>

#include "constraints/heat/modes.h"
#include "constraints/heat/network.h"

namespace cairn {

class NetworkSolver {
 public:
  // The network is held by reference; a spread makes it one of the bounds of an uncertain one.
  NetworkSolver(const Network& network, double tolerance, NetworkSpread spread = {});

  // Gives a conductive link to a sink another value, from the next step on.
  void set_contact(std::size_t link, double conductance);

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
  // A node strays no further than this, K, from the straight line between its temperatures at both ends.
  [[nodiscard]] double bend(std::size_t node) const { return bend_[node]; }
  // W: estimate of how far the step's heat balance of a node is off, at any time within it.
  [[nodiscard]] double defect(std::size_t node) const { return defect_[node]; }
  // Adds to `displaced`, modes of a displacement, what a constant heat in the nodes does to them in the step.
  void displace(std::vector<double>& displaced, const std::vector<double>& watts);
  [[nodiscard]] const Modes& modes() const { return modes_; }
  // Changes whenever the modes do.
  [[nodiscard]] std::size_t linearisations() const { return linearisations_; }
  [[nodiscard]] double energy_in() const;  // J into the nodes
  [[nodiscard]] double energy_out();       // J that leave through the sinks

 private:
  struct Exchange {  // a radiative link between nodes
    std::size_t node, other, link;
    double strength;  // W/K^4
    double spread;    // W/K^4
    double conductance = 0;
  };
  struct Radiator {  // a radiative link to a sink
    std::size_t node, sink, link;
    double strength;
    double spread;
    double conductance = 0;
  };
  struct Contact {  // a conductive link to a sink
    std::size_t node, sink, link;
    double conductance;
    double spread;
  };
  struct Tie {  // a conductive link between nodes; kept only where the network has a spread
    std::size_t node, other;
    double conductance;
    double spread;
  };
  // What the spread adds, at a time of the step: differences that drive the links, and net heat of the nodes.
  struct Surcharge {
    std::vector<double> differences;  // K or K^4, link by link: exchanges, radiators, contacts, ties
    std::vector<double> net;          // W, by node, the links' surcharge included
    std::vector<double> links;        // W, by node: the links' surcharge
  };
  // How the modes answer, over a time, to what is constant, linear, quadratic and cubic in it; by mode.
  struct Answers {
    std::vector<double> decay, phi1, phi2, phi3, phi4;
  };
  // A time within the step.
  struct Point {
    std::vector<double> modes;
    std::vector<double> slopes;  // of the modes, 1/s
    // Of all nodes at once, where most of them are asked for.
    bool has_nodes = false;
    std::vector<double> temperatures;
    std::vector<double> rates;
  };

  double step(double h, const std::vector<double>& temperatures, std::vector<double>& result);
  void find_remainder(std::size_t time, const std::vector<double>& temperatures);
  void find_heat(std::size_t time, const std::vector<double>& temperatures, std::vector<double>& watts);
  void add_surcharge(const Drive& drive, const std::vector<double>& temperatures, Surcharge& surcharge,
                     std::vector<double>& watts);
  void lift_kinks(std::vector<double>& watts);
  void find_later_remainders();
  void answer_remainder();
  void find_bends();
  void begin_at(const std::vector<double>& temperatures);
  void linearise();
  void weigh(double h);
  void add_surroundings(const Drive& drive, std::vector<double>& watts) const;
  void find_curvature(const std::vector<double>& temperatures, std::vector<double>& watts);
  void find_curvature_rate(const std::vector<double>& temperatures, const std::vector<double>& rates,
                           std::vector<double>& watts);
  double missed_by_quadratic();
  [[nodiscard]] double beyond_linear(const Drive& drive, const std::vector<double>& temperatures) const;
  const Answers& halved(std::size_t times);
  const Point& point(double part);

  using Values = std::vector<double>;  // by node or by mode, padded

  const Network* network_;
  double tolerance_;
  std::size_t size_;
  std::size_t padded_;
  std::vector<Exchange> exchanges_;
  std::vector<Radiator> radiators_;
  std::vector<Contact> contacts_;
  std::vector<Tie> ties_;
  NetworkSpread spread_;
  std::vector<char> radiates_;  // by node
  Values sensitivity_;          // of the spread's surcharge to temperature, share of the links' conductance

  Modes modes_;
  Values linear_at_;       // K, where the network is linearised
  Values sink_coupling_;   // W out through the sinks for each mode's unit
  Values conductance_of_;  // W/K of all links of each node
  bool linearised_ = false;
  std::size_t linearisations_ = 0;

  double h_ = 0;
  std::array<Drive, 3> drives_;
  Values begin_, middle_, end_;        // K
  Values before_middle_, before_end_;  // as the pass before had them
  Values begin_modes_, middle_modes_, end_modes_;
  std::array<Values, 3> curvatures_;     // at the step's begin, middle and end, W
  std::array<Values, 3> remainders_;     // at the step's begin, middle and end; by mode
  std::array<Values, 3> forcing_;        // constant, linear and quadratic in the part of the step; by mode
  std::array<Surcharge, 4> surcharges_;  // at begin, middle and end; and for looking
  static constexpr int passes = 3;
  static constexpr int most_passes = 12;  // with a spread, whose surcharge may be as stiff as the network
  static constexpr std::size_t most_halvings = 12;
  std::array<Answers, most_halvings + 1> answers_;  // over the step, half of it, a quarter of it, ...
  std::size_t answer_count_ = 0;
  Values bend_, defect_;
  std::vector<double> parts_;  // of the step, that have been asked for
  std::deque<Point> points_;   // of those parts, and spare ones; a deque, so that they stay where they are
  Values watts_, later_watts_, fourth_, work_, lifted_;
};

}  // namespace cairn
