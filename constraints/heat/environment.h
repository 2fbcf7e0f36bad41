// What surrounds the network: sunlight on faces, the ground's temperature, the sources' decay.
//
// Sampled once, at knots no further apart than the Sun lets pass unnoticed, and linear between them. Sunrise
// and sunset over the mask, and the Sun's passing the plane of a face, are knots too: sunlight jumps there,
// and a solver that sees only the ends of its steps would take the jump for a ramp. So a step must not
// straddle a knot.

#pragma once

#include <array>
#include <cstddef>
#include <vector>

#include "constraints/heat/lanes.h"
#include "constraints/power/supply.h"
#include "constraints/sky/sky.h"
#include "constraints/station/station.h"

namespace cairn {

class Environment {
 public:
  // With `bounds` the lower and upper values are prepared too: of sources, areas and sinks by their own
  // bounds; of the Sun by where it may stand while the station's clock is off by as much as it may be.
  // `exact`: nothing is uncertain, so that the bounds are the nominal values without even what sampling
  // misses.
  Environment(const Station& station, const Sky& sky, Instant begin, Instant end, bool bounds = false,
              bool exact = false);

  // Rising, from begin to end.
  [[nodiscard]] const std::vector<Instant>& knots() const { return knots_; }

  // Chooses the span between knots that begins at or before `time`; times do not fall back.
  void enter(Instant time);

  // Within the chosen span, its ends included: adds sunlight and source heat, W, to the nodes; sets the
  // sinks' temperatures, K; returns the sources' electrical power, W.
  double apply(double seconds, std::vector<double>& heat, std::vector<double>& sinks,
               Bound bound = Bound::Nominal) const;

  // The same of both bounds at once.
  Pair apply(double seconds, std::vector<Pair>& heat, std::vector<Pair>& sinks) const;

  // W of a solar array at an efficiency of 1, at both ends of the span that begins at the knot of that index;
  // straight lines between. And within the chosen span.
  struct Light {
    double first = 0;
    double last = 0;
  };
  [[nodiscard]] Light light(std::size_t knot, std::size_t array, Bound bound) const;
  [[nodiscard]] double light_at(double seconds, std::size_t array) const;

 private:
  // At one end of a span: W by node, then K^4 by sink, then W electrical, then W by array.
  using Sample = std::vector<double>;
  struct Ends {
    Sample first;
    Sample last;
  };
  struct Span {
    double begin = 0;  // s since the beginning
    double end = 0;
    std::array<Ends, 3> ends;  // by Bound
  };
  void add_crossings(const Sky& sky, Instant begin, Instant end);
  [[nodiscard]] std::vector<double> signs(const Sky& sky, Instant time) const;
  [[nodiscard]] Sample sample(const Sky& sky, Instant time, const std::vector<double>& signs,
                              Bound bound) const;
  void add_span(const Sky& sky, Instant from, Instant to, Bound bound);

  const Station* station_;
  bool needs_sun_ = false;
  bool exact_ = false;
  Duration clock_;  // how far off the station's clock may be
  std::vector<Instant> knots_;
  std::vector<Span> spans_;
  std::size_t span_ = 0;
};

}  // namespace cairn
