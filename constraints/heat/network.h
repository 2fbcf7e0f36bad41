// A thermal network as numbers.
//
// C_i dT_i/dt = Q_i(t) + sum_j G_ij (T_j - T_i) + sum_j sigma R_ij (T_j^4 - T_i^4), sinks at given
// temperatures.

#pragma once

#include <cstddef>
#include <vector>

#include "constraints/station/station.h"

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

// By how much a network's numbers may differ from those given, for the bounds of its temperatures.
//
// The upper bound takes of each link what brings heat to the node in question, of each capacity what lets the
// node warm faster or cool more slowly; the lower bound the contrary. That is a heat on top (or taken away)
// that depends on the temperatures: half-width times |flow| for links, share times |net heat| for capacities.
struct NetworkSpread {
  std::vector<double> links;       // half-width of each link's value
  std::vector<double> capacities;  // ratio, by node: half-width of 1/C times C
};

// A station's network by its nominal numbers.
Network numbers_of(const ThermalNetwork& thermal);

// What drives the network at a time: W into each node, K of each sink.
template <class Value>
struct DriveOf {
  std::vector<Value> heat;
  std::vector<Value> sinks;
};
using Drive = DriveOf<double>;

}  // namespace cairn
