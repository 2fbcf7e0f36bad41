// The law between an argument's value and its raw bits.
//
// Laws other than the linear one are read backwards by halving the range of raw counts: they rise or fall all
// the way, so that the count whose value lies nearest is found exactly, with no inverse formula of its own.

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "constraints/quantity/unit.h"
#include "constraints/station/station.h"

namespace cairn {

namespace {

// All ones in `width` bits.
std::uint64_t mask_of(int width) { return width >= 64 ? ~std::uint64_t{0} : (std::uint64_t{1} << width) - 1; }

// The value of a raw count. Beyond the points of a table the last line goes on, so that the law keeps its
// direction; whoever encodes does not go there.
double value_of(const ArgumentEncoding& encoding, std::int64_t count) {
  const auto x = static_cast<double>(count);
  if (encoding.calibration == Calibration::Polynomial) {
    double value = 0;
    for (std::size_t i = encoding.coefficients.size(); i-- > 0;) value = value * x + encoding.coefficients[i];
    return value;
  }
  const std::vector<CalibrationPoint>& points = encoding.points;
  const auto after =
      std::upper_bound(points.begin() + 1, points.end() - 1, count,
                       [](std::int64_t raw, const CalibrationPoint& point) { return raw < point.raw; });
  const CalibrationPoint& from = *(after - 1);
  const CalibrationPoint& to = *after;
  if (count == from.raw) return from.value;
  if (count == to.raw) return to.value;
  return from.value + (to.value - from.value) *
                          (static_cast<double>(count - from.raw) / static_cast<double>(to.raw - from.raw));
}

struct Counts {
  std::int64_t low = 0;
  std::int64_t high = 0;
};

// The counts that a law knows a value for.
Counts known_counts(const ArgumentEncoding& encoding) {
  if (encoding.calibration == Calibration::Points)
    return {encoding.points.front().raw, encoding.points.back().raw};
  return {least_count(encoding), greatest_count(encoding)};
}

std::optional<std::int64_t> nearest_listed(const ArgumentEncoding& encoding, double number) {
  const auto nearest = std::min_element(encoding.points.begin(), encoding.points.end(),
                                        [&](const CalibrationPoint& a, const CalibrationPoint& b) {
                                          return std::abs(a.value - number) < std::abs(b.value - number);
                                        });
  const double slack = std::max(encoding.resolution.value_or(0), 1e-9 * std::abs(nearest->value));
  if (!(std::abs(nearest->value - number) <= slack)) return std::nullopt;
  return nearest->raw;
}

std::optional<std::int64_t> nearest_count(const ArgumentEncoding& encoding, double number) {
  auto [low, high] = known_counts(encoding);
  const bool rises = value_of(encoding, low) < value_of(encoding, high);
  const auto reaches = [&](std::int64_t count) {
    return rises ? value_of(encoding, count) >= number : value_of(encoding, count) <= number;
  };
  // Half a count beyond either end is still the end's.
  if (reaches(low)) {
    const double half = std::abs(value_of(encoding, low + 1) - value_of(encoding, low)) / 2;
    return std::abs(number - value_of(encoding, low)) <= half ? std::optional(low) : std::nullopt;
  }
  if (!reaches(high)) {
    const double half = std::abs(value_of(encoding, high) - value_of(encoding, high - 1)) / 2;
    return std::abs(number - value_of(encoding, high)) <= half ? std::optional(high) : std::nullopt;
  }
  while (high - low > 1) {
    const std::int64_t middle = low + (high - low) / 2;
    (reaches(middle) ? high : low) = middle;
  }
  return std::abs(value_of(encoding, low) - number) <= std::abs(value_of(encoding, high) - number) ? low
                                                                                                   : high;
}

double in_unit(const ArgumentDefinition& argument, double difference) {
  const Unit* unit = find_unit(argument.unit);
  return unit == nullptr ? difference : difference / unit->factor;
}

// In the unit of the station file. Twelve digits: all that is sent, none of the rounding between units.
std::string show_in_unit(double value, const ArgumentDefinition& argument) {
  const Unit* unit = find_unit(argument.unit);
  if (unit == nullptr) return show(value, argument.dimension);
  char text[64];
  std::snprintf(text, sizeof text, "%.12g %s", (value - unit->offset) / unit->factor, argument.unit.c_str());
  return text;
}

std::uint64_t as_bits(std::int64_t count, int width) {
  return static_cast<std::uint64_t>(count) & mask_of(width);
}

}  // namespace

std::int64_t least_count(const ArgumentEncoding& encoding) {
  return encoding.is_signed ? -(std::int64_t{1} << (encoding.width - 1)) : 0;
}

std::int64_t greatest_count(const ArgumentEncoding& encoding) {
  const int bits = encoding.is_signed ? encoding.width - 1 : std::min(encoding.width, 63);
  return static_cast<std::int64_t>(mask_of(bits));
}

std::optional<std::int64_t> where_it_turns(const ArgumentEncoding& encoding) {
  const auto [low, high] = known_counts(encoding);
  const double first = value_of(encoding, low + 1) - value_of(encoding, low);
  for (std::int64_t count = low + 1; count <= high; ++count) {
    const double step = value_of(encoding, count) - value_of(encoding, count - 1);
    if (step == 0 || (step > 0) != (first > 0)) return count;
  }
  return std::nullopt;
}

std::optional<std::uint64_t> encode_argument(const ArgumentDefinition& argument, double number) {
  const ArgumentEncoding& encoding = argument.encoding;
  if (argument.type != ArgumentType::Choice && encoding.calibration != Calibration::Linear) {
    if (!std::isfinite(number)) return std::nullopt;
    const auto count = encoding.calibration == Calibration::Values ? nearest_listed(encoding, number)
                                                                   : nearest_count(encoding, number);
    return count ? std::optional(as_bits(*count, encoding.width)) : std::nullopt;
  }
  const double steps =
      argument.type == ArgumentType::Choice ? number : std::round((number - encoding.offset) / encoding.step);
  if (!std::isfinite(steps)) return std::nullopt;
  if (encoding.is_signed) {
    const double limit = std::ldexp(1.0, encoding.width - 1);
    if (steps < -limit || steps >= limit) return std::nullopt;
    return as_bits(static_cast<std::int64_t>(steps), encoding.width);
  }
  if (steps < 0 || steps >= std::ldexp(1.0, encoding.width)) return std::nullopt;
  return static_cast<std::uint64_t>(steps);
}

double decode_argument(const ArgumentDefinition& argument, std::uint64_t raw) {
  const ArgumentEncoding& encoding = argument.encoding;
  raw &= mask_of(encoding.width);
  const bool is_negative = encoding.is_signed && ((raw >> (encoding.width - 1)) & 1U) != 0;
  const auto count = static_cast<std::int64_t>(is_negative ? raw | ~mask_of(encoding.width) : raw);
  if (argument.type != ArgumentType::Choice && encoding.calibration != Calibration::Linear) {
    if (encoding.calibration == Calibration::Polynomial) return value_of(encoding, count);
    // A count that the table has no value for is shown as the nearest one that it has.
    if (encoding.calibration == Calibration::Values) {
      return std::min_element(encoding.points.begin(), encoding.points.end(),
                              [&](const CalibrationPoint& a, const CalibrationPoint& b) {
                                return std::abs(a.raw - count) < std::abs(b.raw - count);
                              })
          ->value;
    }
    return value_of(encoding, std::clamp(count, encoding.points.front().raw, encoding.points.back().raw));
  }
  const double steps = is_negative ? static_cast<double>(count) : static_cast<double>(raw);
  if (argument.type == ArgumentType::Choice) return steps;
  return steps * encoding.step + encoding.offset;
}

double quantisation_error(const ArgumentDefinition& argument, const ArgumentValue& value) {
  if (argument.type == ArgumentType::Choice || argument.type == ArgumentType::Flag) return 0;
  const double sent = decode_argument(argument, value.raw);
  const double error = sent - value.number;
  const double slack =
      1e-9 * std::max({std::abs(sent), std::abs(value.number), std::abs(argument.encoding.step)});
  return std::abs(error) <= slack ? 0 : error;
}

std::string show_difference(const ArgumentDefinition& argument, double difference) {
  char text[64];
  const std::string unit =
      argument.type == ArgumentType::Quantity && !argument.unit.empty() ? " " + argument.unit : "";
  std::snprintf(text, sizeof text, "%.3g%s", in_unit(argument, difference),
                unit == " degC" ? " K" : unit.c_str());
  return text;
}

std::string show_argument(const ArgumentDefinition& argument, const ArgumentValue& value) {
  switch (argument.type) {
    case ArgumentType::Flag:
      return value.number != 0 ? "true" : "false";
    case ArgumentType::Choice:
      for (const Choice& choice : argument.choices) {
        if (choice.raw == value.raw) return choice.name;
      }
      return "raw " + std::to_string(value.raw);
    case ArgumentType::Count: {
      char text[32];
      std::snprintf(text, sizeof text, "%.0f", value.number);
      return text;
    }
    case ArgumentType::Quantity:
      return show_in_unit(value.number, argument);
  }
  return {};
}

}  // namespace cairn
