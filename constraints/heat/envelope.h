// The guaranteed envelope: between which temperatures every node stays for every value of what is uncertain.
//
// Sources, loads, links, capacities, areas, sinks, initial temperatures, thermostat thresholds and the times
// of events may each be anything within its bounds, and change at any time. The network is cooperative: more
// heat or a warmer neighbour never cools a node. So two systems bound all others (Mueller 1927; Smith 1995;
// Coogan and Arcak 2015): the upper one takes for each node, as warm as it may be, whatever lets it warm
// fastest, its neighbours as warm as they may be; the lower one the contrary. They meet in the thermostats
// alone (may_be.h).
//
// What the integration itself may be off by is an error of the heat balance, estimated step by step; the
// network's own answer to that error widens the band (`numerical`).

#pragma once

#include <vector>

#include "constraints/heat/heat.h"

namespace cairn {

// Straight lines between the points keep outside the envelope. Findings get their guaranteed margins; those
// that hold for nominal values become unproven where the envelope crosses the limit. `result` is that of the
// nominal check.
void bound_heat(const Station& station, const StartState& start, const Timeline& timeline, const Sky& sky,
                const HeatOptions& options, HeatResult& result);

}  // namespace cairn
