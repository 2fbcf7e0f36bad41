// Cubic Hermite pieces, halved until they fit.

#include "constraints/heat/course.h"

#include <algorithm>
#include <cmath>

namespace cairn {

double Cubic::at(double t) const {
  const double h = t1 - t0;
  const double u = (t - t0) / h;
  const double u2 = u * u;
  const double u3 = u2 * u;
  return (2 * u3 - 3 * u2 + 1) * y0 + (u3 - 2 * u2 + u) * h * d0 + (3 * u2 - 2 * u3) * y1 +
         (u3 - u2) * h * d1;
}

double Cubic::slope_at(double t) const {
  const double h = t1 - t0;
  const double u = (t - t0) / h;
  return 6 * u * (1 - u) * (y1 - y0) / h + (3 * u * u - 4 * u + 1) * d0 + (3 * u * u - 2 * u) * d1;
}

FewTimes Cubic::extremes() const {
  const double h = t1 - t0;
  const double a = 3 * (2 * y0 - 2 * y1 + h * (d0 + d1));
  const double b = 2 * (-3 * y0 + 3 * y1 - h * (2 * d0 + d1));
  const double c = h * d0;
  FewTimes times;
  const auto add = [&](double u) {
    if (u > 1e-9 && u < 1 - 1e-9) times.values[times.count++] = t0 + u * h;
  };
  if (std::abs(a) < 1e-300) {
    if (b != 0) add(-c / b);
    return times;
  }
  const double inside = b * b - 4 * a * c;
  if (inside <= 0) return times;
  const double q = -0.5 * (b + std::copysign(std::sqrt(inside), b));
  add(q / a);
  if (q != 0) add(c / q);
  if (times.count == 2 && times.values[1] < times.values[0]) std::swap(times.values[0], times.values[1]);
  return times;
}

std::optional<double> Cubic::first_passing(double level, bool upwards) const {
  double low = t0;
  double before = y0 - level;
  const auto look = [&](double high) -> std::optional<double> {
    const double after = at(high) - level;
    const bool passes = upwards ? before < 0 && after >= 0 : before > 0 && after <= 0;
    if (!passes) {
      low = high;
      before = after;
      return std::nullopt;
    }
    for (int k = 0; k < 60 && high - low > 1e-6; ++k) {
      const double middle = 0.5 * (low + high);
      const double value = at(middle) - level;
      ((upwards ? value < 0 : value > 0) ? low : high) = middle;
    }
    return high;
  };
  for (const double extreme : extremes()) {
    if (const auto found = look(extreme)) return found;
  }
  return look(t1);
}

namespace {

template <class Value>
struct Reader {
  Stepper<Value>& solver;
  std::size_t node, side;
  double t, h, tolerance;
  std::vector<Cubic>& pieces;

  void read(double part0, const Reading& from, double part1, const Reading& to, int depth) {
    const Cubic cubic{t + part0 * h,    part1 == 1 ? t + h : t + part1 * h,
                      from.temperature, to.temperature,
                      from.rate,        to.rate};
    const double middle = 0.5 * (part0 + part1);
    const Reading there = solver.at(node, middle, side);
    const double time = t + middle * h;
    const double length = cubic.t1 - cubic.t0;
    constexpr int deepest = 40;
    // The slope in the middle is held to the tolerance too: the value alone may agree by chance.
    const bool fits = std::abs(cubic.at(time) - there.temperature) <= tolerance &&
                      std::abs(cubic.slope_at(time) - there.rate) * length / 8 <= tolerance;
    if (fits || depth == deepest || !std::isfinite(there.temperature)) {
      pieces.push_back(cubic);
      return;
    }
    read(part0, from, middle, there, depth + 1);
    read(middle, there, part1, to, depth + 1);
  }
};

}  // namespace

double Cubic::bulge(double sign) const {
  // An eighth of the greatest second derivative, which is a straight line.
  const double h = t1 - t0;
  const double slope = (y1 - y0) / h;
  const double first = 6 * slope - 4 * d0 - 2 * d1;
  const double last = 2 * d0 + 4 * d1 - 6 * slope;
  return 0.125 * h * std::max({0.0, -sign * first, -sign * last});
}

void straighten(const std::vector<Cubic>& course, double tolerance, std::vector<Cubic>& pieces) {
  pieces.clear();
  for (const Cubic& cubic : course) {
    const double most = std::max(cubic.bulge(1), cubic.bulge(-1));
    const double parts = std::clamp(std::ceil(std::sqrt(most / tolerance)), 1.0, 100.0);
    double from = cubic.t0;
    double before = cubic.y0;
    double slope_before = cubic.d0;
    for (double part = 1; part <= parts; ++part) {
      const double to = part == parts ? cubic.t1 : cubic.t0 + (cubic.t1 - cubic.t0) * part / parts;
      const double value = part == parts ? cubic.y1 : cubic.at(to);
      const double slope = part == parts ? cubic.d1 : cubic.slope_at(to);
      pieces.push_back({from, to, before, value, slope_before, slope});
      from = to;
      before = value;
      slope_before = slope;
    }
  }
}

template <class Value>
void read_course(Stepper<Value>& solver, std::size_t node, double t, double h, double tolerance,
                 std::vector<Cubic>& pieces, std::size_t side) {
  pieces.clear();
  Reader<Value>{solver, node, side, t, h, tolerance, pieces}.read(0, solver.at(node, 0, side), 1,
                                                                  solver.at(node, 1, side), 0);
}

template void read_course(Stepper<double>&, std::size_t, double, double, double, std::vector<Cubic>&,
                          std::size_t);
template void read_course(Stepper<Pair>&, std::size_t, double, double, double, std::vector<Cubic>&,
                          std::size_t);

}  // namespace cairn
