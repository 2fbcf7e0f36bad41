// A quantity with its uncertainty: nominal value and the interval that is guaranteed to hold the true one.

#pragma once

#include <string>
#include <string_view>

#include "constraints/quantity/dimension.h"

namespace cairn {

// In SI units of the dimension that its place in the model states. low <= nominal <= high.
struct Bounded {
  double nominal = 0;
  double low = 0;
  double high = 0;

  static constexpr Bounded exactly(double value) { return {value, value, value}; }
  [[nodiscard]] constexpr bool is_exact() const { return low == high; }
  friend constexpr bool operator==(const Bounded&, const Bounded&) = default;
};

constexpr Bounded operator+(Bounded a, Bounded b) {
  return {a.nominal + b.nominal, a.low + b.low, a.high + b.high};
}

// Shows an SI value in the unit the trade reads it in: 4.5 W as "4.5 W", 293.15 K of a temperature point as
// "20 degC", radians as degrees, seconds as a duration. At most `digits` significant digits.
std::string show(double value_in_si, Dimension dimension, int digits = 6);

}  // namespace cairn
