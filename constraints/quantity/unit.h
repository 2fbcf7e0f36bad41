// Units of measure: the closed list that the language and the station files share.
//
// SI units the trade uses with their usual prefixes. A unit's factor to SI is exact (numerator over
// denominator), so that a decimal number of minutes becomes a whole number of nanoseconds without rounding.

#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string_view>

#include "constraints/quantity/dimension.h"

namespace cairn {

struct Unit {
  std::string_view symbol;  // as written: "kW", "degC", "bit/s", "%"
  Dimension dimension;
  double factor;  // value in SI = value * factor + offset (deg: pi/180; a: 365.25 d)
  double offset;  // 273.15 for degC, else 0
};

// Every unit, in a fixed order. Angle is held in radians, data in bits, ratio as a plain number.
std::span<const Unit> all_units();

// The unit of exactly this symbol.
const Unit* find_unit(std::string_view symbol);

// Nanoseconds in one of this unit when it is a unit of time, exact ("ms s min h d a"; a = 365.25 d).
std::optional<std::int64_t> nanoseconds_in(std::string_view symbol);

}  // namespace cairn
