// The series of the working group's report, term by term.

#include "constraints/sky/lunar_rotation.h"

#include <cmath>
#include <numbers>

namespace cairn {

namespace {

constexpr double degree = std::numbers::pi / 180;

struct Term {
  double epoch;  // deg
  double rate;   // deg/d
  double ascension;
  double declination;
  double meridian;
};

constexpr std::array<Term, 13> terms{{
    {125.045, -0.0529921, -3.8787, 1.5419, 3.5610},
    {250.089, -0.1059842, -0.1204, 0.0239, 0.1208},
    {260.008, 13.0120009, 0.0700, -0.0278, -0.0642},
    {176.625, 13.3407154, -0.0172, 0.0068, 0.0158},
    {357.529, 0.9856003, 0, 0, 0.0252},
    {311.589, 26.4057084, 0.0072, -0.0029, -0.0066},
    {134.963, 13.0649930, 0, 0.0009, -0.0047},
    {276.617, 0.3287146, 0, 0, -0.0046},
    {34.226, 1.7484877, 0, 0, 0.0028},
    {15.134, -0.1589763, -0.0052, 0.0008, 0.0052},
    {119.743, 0.0036096, 0, 0, 0.0040},
    {239.961, 0.1643573, 0, 0, 0.0019},
    {25.053, 12.9590088, 0.0043, -0.0009, -0.0044},
}};

// The pole's right ascension and declination and the prime meridian's angle, degrees.
Matrix3 turned(double ascension, double declination, double meridian) {
  // Rz(W) Rx(90 deg - delta) Rz(90 deg + alpha), written out.
  const double a = ascension * degree;
  const double d = declination * degree;
  const double w = std::fmod(meridian, 360.0) * degree;
  const Vector3 pole{std::cos(d) * std::cos(a), std::cos(d) * std::sin(a), std::sin(d)};
  const Vector3 node{-std::sin(a), std::cos(a), 0};
  const Vector3 third{pole[1] * node[2] - pole[2] * node[1], pole[2] * node[0] - pole[0] * node[2],
                      pole[0] * node[1] - pole[1] * node[0]};
  Matrix3 result{};
  for (std::size_t i = 0; i < 3; ++i) {
    result[0][i] = std::cos(w) * node[i] + std::sin(w) * third[i];
    result[1][i] = -std::sin(w) * node[i] + std::cos(w) * third[i];
    result[2][i] = pole[i];
  }
  return result;
}

}  // namespace

Matrix3 lunar_rotation(double days) {
  const double centuries = days / 36525.0;
  double ascension = 269.9949 + 0.0031 * centuries;
  double declination = 66.5392 + 0.0130 * centuries;
  double meridian = 38.3213 + 13.17635815 * days - 1.4e-12 * days * days;
  for (const Term& term : terms) {
    const double angle = std::fmod(term.epoch + term.rate * days, 360.0) * degree;
    ascension += term.ascension * std::sin(angle);
    declination += term.declination * std::cos(angle);
    meridian += term.meridian * std::sin(angle);
  }
  return turned(ascension, declination, meridian);
}

Matrix3 martian_rotation(double days) {
  const double centuries = days / 36525.0;
  return turned(317.68143 - 0.1061 * centuries, 52.88650 - 0.0609 * centuries, 176.630 + 350.89198226 * days);
}

}  // namespace cairn
