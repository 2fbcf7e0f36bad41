// The numbers of a singly implicit Runge-Kutta method: collocation in five points, of order 5 at any time
// within the step, damping what is stiff.
//
// The points are the zeros of Laguerre's polynomial L5, scaled so that the fourth is the step's end; the
// fifth lies beyond it. The matrix of the method then has one eigenvalue alone, real, so that one matrix C +
// gamma h G serves all five, and what is infinitely stiff is gone by the end (Burrage, "A special family of
// Runge-Kutta methods for solving stiff differential equations", BIT 18 (1978) 22-41; Hairer and Wanner,
// "Solving Ordinary Differential Equations II", section IV.8; both from memory; the tests hold the numbers
// against the conditions they must meet). Were the last point the step's end, errors would be smaller, but
// what is stiff would grow.

#pragma once

#include <array>
#include <cstddef>

namespace cairn {

struct Collocation {
  static constexpr std::size_t stages = 5;
  static constexpr std::size_t points = stages + 1;  // the step's begin, then the stages
  static constexpr std::size_t end = 4;              // the point that is the step's end
  using ByStage = std::array<double, stages>;
  using ByPoint = std::array<double, points>;

  double gamma = 0;
  ByPoint parts{};                          // of the step: 0, ..., 1, one beyond
  std::array<ByStage, stages> integrals{};  // from the begin to a stage, of what is given at the stages
  // In Laguerre's polynomials the matrix of integrals is gamma times one on the diagonal and -1 below it.
  std::array<ByStage, stages> to_stages{};     // value at the stage of each polynomial
  std::array<ByStage, stages> from_stages{};   // the inverse
  std::array<ByPoint, points> coefficients{};  // of each power of the part, from the values at the points
  // Bernstein's, from the values at the points: the polynomial stays within their convex hull.
  std::array<ByPoint, points> controls{};
  // From values at the points up to the end: their polynomial's value at the point beyond, and its integral
  // over the step.
  std::array<double, points - 1> beyond{};
  std::array<double, points - 1> whole{};

  // Of the value, and of the slope by part, from the values at the points.
  [[nodiscard]] ByPoint value_at(double part) const;
  [[nodiscard]] ByPoint slope_at(double part) const;
};

const Collocation& collocation();

}  // namespace cairn
