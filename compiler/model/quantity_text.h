// The text of a quantity: a number with its unit, and how sure it is.
//
//   4.5 W      4.5 W ± 0.2 W      4.5 W +/- 5 %      4.3 W .. 4.9 W
//
// Pure text to values; what dimension a place in the model wants is the reader's business.

#pragma once

#include <cstddef>
#include <cstdint>
#include <expected>
#include <optional>
#include <string>
#include <string_view>

#include "constraints/quantity/bounded.h"
#include "constraints/quantity/dimension.h"

namespace cairn {

enum class BoundForm : std::uint8_t { None, PlusMinus, Range };

struct QuantityText {
  Bounded value;  // SI
  Dimension dimension;
  BoundForm form = BoundForm::None;
  std::string_view number;  // of the first or only value, as written
  std::string_view unit;
};

enum class QuantityFault : std::uint8_t { Malformed, UnknownUnit, WrongDimension };

struct QuantityProblem {
  QuantityFault fault = QuantityFault::Malformed;
  std::size_t begin = 0;  // the part of the text that is wrong
  std::size_t end = 0;
  std::string message;  // for Malformed and UnknownUnit
  Dimension found;      // for WrongDimension: both sides
  Dimension expected;
};

// `point` says that readings are wanted: then "3 K" is a temperature, not a difference.
std::expected<QuantityText, QuantityProblem> parse_quantity(std::string_view text, bool point = false);

// A whole or decimal number as the format writes it ("-3", "0.25", "1e3"); nullopt for anything else.
std::optional<double> parse_number(std::string_view text);

}  // namespace cairn
