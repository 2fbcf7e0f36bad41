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
              double tolerance)
      : low(timeline, Bound::Low, station.thermal.nodes.size()),
        high(timeline, Bound::High, station.thermal.nodes.size()),
        solver{with_numbers(station.thermal, station.clock.rate_error, heaters), tolerance,
               spread} {  // in this order
    const std::size_t nodes = network.capacities.size();
    temperatures.resize(nodes);
    next.resize(nodes);
    for (Values* values : {&displaced, &off, &off_in_step, &work}) values->resize(solver.padded());
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

  // Takes into account by how much the heat balance of the step tried last may be off. Returns the most that
  // a temperature is.
  double displace();

  Network network;
  NetworkSpread spread;
  std::vector<std::size_t> holds;  // by heater: its link
  BoundSide low;
  BoundSide high;
  BoundSolver solver;
  Values temperatures;
  Values next;
  // What the errors of the heat balance may have displaced the temperatures by: modes, and K by node, at the
  // step's end and at most within it.
  Values displaced;
  Values off;
  Values off_in_step;
  Values work;
  std::size_t linearisation = 0;
};

}  // namespace cairn
