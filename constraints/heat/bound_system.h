// The two systems that bound the heat network, stepped as one: all temperatures as high, and as low, as
// anything inside the stated bounds can make them.

#pragma once

#include <cstddef>
#include <vector>

#include "constraints/heat/course.h"
#include "constraints/heat/may_be.h"
#include "constraints/heat/network.h"
#include "constraints/heat/solver.h"
#include "constraints/power/bound_draws.h"

namespace cairn {

// What belongs to one of the two: what draws, and the courses of nodes through the step, read when asked for.
struct BoundSide {
  BoundSide(const Timeline& timeline, Bound bound_, std::size_t nodes)
      : bound(bound_),
        index(bound_ == Bound::High ? 1 : 0),
        direction(bound_ == Bound::High ? 1 : -1),
        draws(timeline, bound_),
        draw_heat(nodes),
        courses(nodes) {}

  Bound bound;
  std::size_t index;
  double direction;
  BoundDraws draws;
  std::size_t next_begin = 0;
  std::size_t next_end = 0;
  std::vector<double> draw_heat;
  double bus_load = 0;
  std::vector<std::vector<Cubic>> courses;
};

// Their numbers, and where they stand: each value of the lower and of the upper one.
struct BoundSystem {
  using Values = std::vector<Pair>;

  BoundSystem(const Station& station, const Timeline& timeline, const std::vector<MayBe>& heaters,
              double tolerance, std::size_t modal_up_to)
      : low(timeline, Bound::Low, station.thermal.nodes.size()),
        high(timeline, Bound::High, station.thermal.nodes.size()),
        solver{with_numbers(station.thermal, station.clock.rate_error, heaters), tolerance, spread,
               modal_up_to} {  // in this order
    const std::size_t nodes = network.capacities.size();
    temperatures.resize(nodes);
    next.resize(nodes);
    displacement.off.resize(nodes);
    off_in_step.resize(nodes);
  }
  BoundSystem(const BoundSystem&) = delete;
  BoundSystem& operator=(const BoundSystem&) = delete;

  // The middle of each bound is the network's number, the half-width its spread.
  const Network& with_numbers(const ThermalNetwork& thermal, double rate_error,
                              const std::vector<MayBe>& heaters);

  double try_step(double t, double h, const auto& drive) {
    for (BoundSide* side : {&low, &high}) {
      for (std::vector<Cubic>& course : side->courses) course.clear();
    }
    return solver.try_step(drive, t, h, temperatures, next);
  }

  // By how much temperatures may be off at the end of the step tried last: `displacement_then`, which counts
  // once the step is accepted, and the worse of both ends.
  void foresee_displacement();
  // Returns the most that a temperature is off by.
  double accept_displacement();

  Network network;
  NetworkSpread spread;
  std::vector<std::size_t> holds;  // by heater: its link
  BoundSide low;
  BoundSide high;
  BoundSolver solver;
  Values temperatures;
  Values next;
  // What the errors of the heat balance may have displaced the temperatures by, now and at the end of the
  // step tried last, and K by node at most within it.
  Displacement<Pair> displacement;
  Displacement<Pair> displacement_then;
  Values off_in_step;
};

}  // namespace cairn
