// What drives a network besides the linear flows between its nodes: heat, surroundings, what radiation bends,
// and for bounds what the spread of its numbers allows on top.

#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "constraints/heat/lanes.h"
#include "constraints/heat/network.h"

namespace cairn {

// `Value` is double for the network as it is, Pair for its lower and upper bound.
template <class Value>
class Flows {
 public:
  using Values = std::vector<Value>;
  static constexpr bool bounds = sides_of<Value> == 2;

  Flows(const Network& network, const NetworkSpread& spread, std::size_t padded);

  // Gives a conductive link to a sink another value; whether it had one.
  bool set_contact(std::size_t link, Value conductance);

  // Conductances of all links for one side, from the slopes of radiation at its temperatures.
  void linearise(const Values& temperatures, std::size_t side);
  [[nodiscard]] const std::vector<double>& conductances() const { return conductances_; }  // by link
  [[nodiscard]] const Values& conductance_of() const { return conductance_of_; }           // by node
  [[nodiscard]] const Values& to_sinks() const { return to_sinks_; }                       // by node
  [[nodiscard]] bool is_linear() const { return !bounds && exchanges_.empty() && radiators_.empty(); }
  // By how much of its conductance a node's surcharge changes with its temperature.
  [[nodiscard]] const std::vector<double>& sensitivity() const { return sensitivity_; }

  // What the flows were at a time of the step.
  struct Record {
    Values differences;  // K or K^4, link by link: exchanges, radiators, contacts, ties
    Values net;          // W, by node
  };
  [[nodiscard]] Record record() const;

  // W by node that drive the modes.
  void find(const DriveOf<Value>& drive, const Values& temperatures, Record& record, Values& watts);
  // By how much that changes where temperatures and what drives the network do.
  void find_change(const Record& record, const Values& temperatures, const Values& changes,
                   const Values& heat_changes, const DriveOf<Value>& drive, const Values& sink_changes,
                   Values& watts);
  // Where a flow turns round within the step its surcharge has a kink, which a quadratic through begin,
  // middle and end would cut off below: its value in the middle is taken no lower than the chord's.
  void lift_kinks(const Record& begin, Record& middle, const Record& end, Values& watts);

  // The same for a polynomial through any number of times, in the order of time: adds to `watts` by how much
  // a surcharge may exceed it, by node.
  void add_kinks(std::span<const Record> records, Values& watts) const;

  // W that leave through the sinks, less what the conductances say of temperatures counted from 0 K.
  [[nodiscard]] Value beyond_linear(const DriveOf<Value>& drive, const Values& temperatures) const;

 private:
  struct Exchange {  // a radiative link between nodes
    std::size_t node, other, link;
    double strength;  // W/K^4
    double spread;    // W/K^4
    Value conductance{};
  };
  struct Radiator {  // a radiative link to a sink
    std::size_t node, sink, link;
    double strength;
    double spread;
    Value conductance{};
  };
  struct Contact {  // a conductive link to a sink
    std::size_t node, sink, link;
    Value conductance;
    double spread;
  };
  struct Tie {  // a conductive link between nodes; kept for bounds only
    std::size_t node, other;
    double conductance;
    double spread;
  };

  const Network* network_;
  std::size_t size_;
  std::vector<Exchange> exchanges_;
  std::vector<Radiator> radiators_;
  std::vector<Contact> contacts_;
  std::vector<Tie> ties_;
  std::vector<double> capacity_spread_;
  std::vector<double> sensitivity_;
  std::vector<double> conductances_;
  Values conductance_of_, to_sinks_;
  Values fourth_, net_, extra_;
};

}  // namespace cairn
