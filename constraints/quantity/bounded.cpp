// Quantities as the trade reads them.

#include "constraints/quantity/bounded.h"

#include <array>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <numbers>

#include "constraints/quantity/instant.h"
#include "constraints/quantity/unit.h"

namespace cairn {

namespace {

// So many significant digits, without an exponent as long as people read the number more easily so.
std::string number(double value, int digits) {
  std::array<char, 64> text{};
  std::snprintf(text.data(), text.size(), "%.*g", digits, value == 0 ? 0.0 : value);
  const double rounded = std::strtod(text.data(), nullptr);
  const double size = std::abs(rounded);
  if (size >= std::pow(10.0, digits) && size < 1e15) std::snprintf(text.data(), text.size(), "%.0f", rounded);
  return text.data();
}

// A temperature computed in kelvin has no digits beyond these; near 0 degC the rest would be noise.
double in_degrees_celsius(double kelvin) { return std::round((kelvin - 273.15) * 1e6) * 1e-6; }

}  // namespace

std::string show(double value_in_si, Dimension dimension, int digits) {
  if (dimension == dimensions::duration) {
    // A duration is shown in the parts people say; below a second, or beyond range, as plain seconds.
    const double rounded = std::round(value_in_si * 1e3) * 1e-3;
    if (std::abs(rounded) >= 1) {
      if (const auto duration = duration_from_seconds(rounded)) return to_text(*duration);
    }
    return number(value_in_si, digits) + " s";
  }
  if (dimension == dimensions::temperature) return number(in_degrees_celsius(value_in_si), digits) + " degC";
  if (dimension == dimensions::temperature_difference) return number(value_in_si, digits) + " K";
  if (dimension == dimensions::angle) return number(value_in_si * 180 / std::numbers::pi, digits) + " deg";
  if (dimension == dimensions::angular_rate)
    return number(value_in_si * 180 / std::numbers::pi, digits) + " deg/s";
  if (dimension == dimensions::ratio) return number(value_in_si * 100, digits) + " %";
  if (dimension == dimensions::count) return number(value_in_si, digits);
  for (const Unit& unit : all_units()) {
    if (unit.dimension == dimension && unit.factor == 1 && unit.offset == 0) {
      return number(value_in_si, digits) + " " + std::string(unit.symbol);
    }
  }
  return number(value_in_si, digits) + " " + name_of(dimension);
}

}  // namespace cairn
