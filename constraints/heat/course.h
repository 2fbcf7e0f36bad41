// The course of one temperature through a step, as cubics that can be asked for extremes and for crossings.

#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <vector>

#include "constraints/heat/solver.h"

namespace cairn {

// Times in rising order; a cubic has at most two extremes.
struct FewTimes {
  std::array<double, 2> values{};
  std::size_t count = 0;
  [[nodiscard]] const double* begin() const { return values.data(); }
  [[nodiscard]] const double* end() const { return values.data() + count; }
};

// Times, K and K/s at both ends.
struct Cubic {
  double t0, t1, y0, y1, d0, d1;

  [[nodiscard]] double at(double t) const;
  [[nodiscard]] double slope_at(double t) const;
  // Interior extremes.
  [[nodiscard]] FewTimes extremes() const;
  // First time at which the value passes `level` in the direction given; none otherwise.
  [[nodiscard]] std::optional<double> first_passing(double level, bool upwards) const;
  // It leaves its chord by no more than this, upwards (`sign` 1) or downwards (-1).
  [[nodiscard]] double bulge(double sign) const;
};

// The course of a node through the solver's last step, which began at `t` and was `h` long: as many cubics as
// it takes to come within `tolerance`, K, everywhere. Replaces what is in `pieces`. `side`: of two bounds.
template <class Value>
void read_course(Stepper<Value>& solver, std::size_t node, double t, double h, double tolerance,
                 std::vector<Cubic>& pieces, std::size_t side = 0);

// The course in pieces that stray from their chords by little more than `tolerance`, K. Replaces what is in
// `pieces`.
void straighten(const std::vector<Cubic>& course, double tolerance, std::vector<Cubic>& pieces);

}  // namespace cairn
