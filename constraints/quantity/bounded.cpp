// Quantities as the trade reads them.

#include "constraints/quantity/bounded.h"

#include <array>
#include <cmath>
#include <cstdio>
#include <numbers>

#include "constraints/quantity/instant.h"
#include "constraints/quantity/unit.h"

namespace cairn {

namespace {

std::string number(double value, int digits) {
  std::array<char, 64> text{};
  std::snprintf(text.data(), text.size(), "%.*g", digits, value == 0 ? 0.0 : value);
  return text.data();
}

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
  if (dimension == dimensions::temperature) return number(value_in_si - 273.15, digits) + " degC";
  if (dimension == dimensions::temperature_difference) return number(value_in_si, digits) + " K";
  if (dimension == dimensions::angle) return number(value_in_si * 180 / std::numbers::pi, digits) + " deg";
  if (dimension == dimensions::angular_rate) return number(value_in_si * 180 / std::numbers::pi, digits) + " deg/s";
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
