// The thermal check: every node inside its limits at every instant, extremes between events included.
//
// C_i dT_i/dt = Q_i + sum_j G_ij (T_j - T_i) + sum_j sigma R_ij (T_j^4 - T_i^4), thermostat heaters, sunlight
// from the Sun's place at the site, ground and space sinks, source heat, converter loss and dump load. An
// adaptive exponential method with error control (solver.h); switchings, limit crossings and extremes are
// located as events, not at sampling points.
//
// Reads:   the timeline's draws, the station's network, the sky
// Reports: heat/survival and heat/operating, one finding per node and limit

#pragma once

#include <memory>
#include <vector>

#include "constraints/heat/most_modal.h"
#include "constraints/power/power.h"
#include "constraints/sky/sky.h"
#include "constraints/timeline/timeline.h"
#include "constraints/verdict.h"

namespace cairn {

inline constexpr double stefan_boltzmann = 5.670374419e-8;  // W m-2 K-4, CODATA 2018

class Environment;

// What surrounds one station over one span. It hangs on no command: whoever checks many loads of the span can
// keep it.
struct Surroundings {
  const Station* station = nullptr;
  const Sky* sky = nullptr;
  Instant begin;
  Instant end;
  std::shared_ptr<const Environment> nominal;
  std::shared_ptr<const Environment> bounded;

  [[nodiscard]] bool are_of(const Station& other, const Sky& other_sky, const Timeline& timeline) const {
    return station == &other && sky == &other_sky && begin == timeline.begin && end == timeline.end;
  }
};
Surroundings surroundings_of(const Station& station, const Sky& sky, Instant begin, Instant end);

struct HeatOptions {
  double tolerance = 5e-3;    // K, error per step as estimated from the order below; true errors are smaller
  Duration keep_every = {0};  // how densely traces are kept; 0: every step, and within 0.1 K in between
  // Of the traces only those points are kept that straight lines between their neighbours miss by more than
  // this, K; 0: all. With it the memory a long load takes is that of what can be seen.
  double trace_tolerance = 0;
  bool traces = true;                          // and bands; false: findings, heaters and the end alone
  bool envelope = true;                        // whether the guaranteed bounds are computed too
  std::size_t modal_up_to = most_modal_nodes;  // larger networks are stepped by sparse algebra
  const Surroundings* surroundings = nullptr;  // used where they are of this station, sky and span
};

struct TemperaturePoint {
  Instant time;
  double temperature = 0;  // K
};

// What the node is guaranteed to stay between; straight lines between points hold too.
struct BandPoint {
  Instant time;
  double low = 0;  // K
  double high = 0;
};

struct HeatEnvelope {
  std::vector<std::vector<BandPoint>> bands;  // by NodeId, rising by time; empty when not computed
  std::vector<HeaterInterval> may_be_on;      // rising by begin
  std::vector<HeaterInterval> surely_on;
  std::vector<double> end_low;  // K, by NodeId
  std::vector<double> end_high;
  std::vector<bool> end_may_be_on;  // by HeaterId
  std::vector<bool> end_may_be_off;
  double numerical = 0;  // K: the most that the integration's own error widens a band
  std::size_t steps = 0;
};

struct HeatResult {
  std::vector<std::vector<TemperaturePoint>> traces;  // by NodeId, rising by time; extremes always included
  std::vector<HeaterInterval> heaters;                // rising by begin
  std::vector<double> end_temperatures;               // by NodeId
  std::vector<bool> end_heaters_on;                   // by HeaterId
  std::vector<Finding> findings;
  HeatEnvelope envelope;
  // Energy account over the timeline, J: what went in, what left through sinks, what the nodes stored; the
  // three close (in - out - stored = 0) as far as the solver is exact.
  double energy_in = 0;
  double energy_out = 0;
  double energy_stored = 0;
  std::size_t steps = 0;
};

HeatResult check_heat(const Station& station, const StartState& start, const Timeline& timeline,
                      const Sky& sky, const HeatOptions& options);

}  // namespace cairn
