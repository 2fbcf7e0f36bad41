// One of the two systems that bound the heat network: all temperatures as high, or as low, as anything inside
// the stated bounds can make them.

#pragma once

#include <cstddef>
#include <vector>

#include "constraints/heat/course.h"
#include "constraints/heat/may_be.h"
#include "constraints/heat/network.h"
#include "constraints/heat/solver.h"
#include "constraints/power/bound_draws.h"

namespace cairn {

// One of the two systems: its numbers, and where it stands.
struct BoundSystem {
  BoundSystem(const Station& station, const Timeline& timeline, Bound bound_,
              const std::vector<MayBe>& heaters, double tolerance)
      : bound(bound_),
        direction(bound_ == Bound::High ? 1 : -1),
        draws(timeline, bound_),
        solver{with_numbers(station.thermal, station.clock.rate_error, heaters), tolerance,
               spread} {  // in this order
    const std::size_t nodes = network.capacities.size();
    draw_heat.resize(nodes);
    next.resize(nodes);
    courses.resize(nodes);
    defect.resize(BlockMatrix::padded(nodes));
    displaced.resize(BlockMatrix::padded(nodes));
    off.resize(BlockMatrix::padded(nodes));
  }
  BoundSystem(const BoundSystem&) = delete;
  BoundSystem& operator=(const BoundSystem&) = delete;

  // The middle of each bound is the network's number, the half-width its spread.
  const Network& with_numbers(const ThermalNetwork& thermal, double rate_error,
                              const std::vector<MayBe>& heaters);

  double try_step(double t, double h, const auto& drive) {
    for (std::vector<Cubic>& course : courses) course.clear();
    return solver.try_step(drive, t, h, temperatures, next);
  }

  Bound bound;
  double direction;
  Network network;
  NetworkSpread spread;
  std::vector<std::size_t> holds;  // by heater: its link
  BoundDraws draws;
  NetworkSolver solver;
  std::size_t next_begin = 0;
  std::size_t next_end = 0;
  std::vector<double> draw_heat;
  double bus_load = 0;
  std::vector<double> temperatures;
  std::vector<double> next;
  std::vector<std::vector<Cubic>> courses;
  // What the errors of the heat balance may have displaced the temperatures by: modes, and K by node.
  std::size_t linearisation = 0;
  std::vector<double> defect;
  std::vector<double> displaced;
  std::vector<double> off;
};

}  // namespace cairn
