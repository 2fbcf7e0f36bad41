// Arithmetic on values: exact where time and counts allow it, in SI floating point elsewhere.
//
// Every operation that can go wrong says so once and gives an error value; an error value passes through in
// silence. Readings of temperature follow the rule for points: point - point is a difference.

#include <cmath>

#include "compiler/meaning/program.h"
#include "compiler/text/catalogue.h"

namespace cairn {

Value Value::of(Duration value) {
  Value result;
  result.kind = ValueKind::Duration;
  result.duration = value;
  return result;
}

Value Value::of(Instant value) {
  Value result;
  result.kind = ValueKind::Instant;
  result.instant = value;
  return result;
}

Value Value::of_count(std::int64_t value) {
  Value result;
  result.kind = ValueKind::Count;
  result.count = value;
  return result;
}

Value Value::of_text(std::string value) {
  Value result;
  result.kind = ValueKind::Text;
  result.text = std::move(value);
  return result;
}

Value Value::of_boolean(bool value) {
  Value result;
  result.kind = ValueKind::Boolean;
  result.boolean = value;
  return result;
}

Value Value::of_quantity(double si, Dimension dimension) {
  Value result;
  if (!std::isfinite(si)) return result;
  if (dimension == dimensions::duration) {
    const auto duration = duration_from_seconds(si);
    return duration ? of(*duration) : result;
  }
  result.kind = ValueKind::Quantity;
  result.number = si;
  result.dimension = dimension;
  return result;
}

std::string type_name(const Value& value) {
  switch (value.kind) {
    case ValueKind::Duration:
      return "Duration";
    case ValueKind::Instant:
      return "Instant";
    case ValueKind::Quantity:
      return name_of(value.dimension);
    case ValueKind::Count:
      return "Count";
    case ValueKind::Boolean:
      return "Boolean";
    case ValueKind::Text:
      return "Text";
    case ValueKind::Error:
    case ValueKind::Pending:
      break;
  }
  return "nothing";
}

std::string show_value(const Value& value, const LeapSecondTable& leap_seconds) {
  switch (value.kind) {
    case ValueKind::Duration:
      return to_text(value.duration);
    case ValueKind::Instant:
      return format_utc_exact(value.instant, leap_seconds);
    case ValueKind::Quantity:
      return show(value.number, value.dimension);
    case ValueKind::Count:
      return std::to_string(value.count);
    case ValueKind::Boolean:
      return value.boolean ? "true" : "false";
    case ValueKind::Text:
      return value.text;
    case ValueKind::Error:
    case ValueKind::Pending:
      break;
  }
  return {};
}

std::string unescape(std::string_view text) {
  std::string result;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] == '\\' && i + 1 < text.size()) {
      ++i;
      result += text[i] == 'n' ? '\n' : text[i];
    } else {
      result += text[i];
    }
  }
  return result;
}

namespace {

std::string verb(ExpressionKind operation) {
  switch (operation) {
    case ExpressionKind::Add:
      return "add";
    case ExpressionKind::Subtract:
      return "subtract";
    case ExpressionKind::Multiply:
      return "multiply";
    default:
      return "divide";
  }
}

std::string noun(ExpressionKind operation) {
  switch (operation) {
    case ExpressionKind::Add:
      return "addition";
    case ExpressionKind::Subtract:
      return "subtraction";
    case ExpressionKind::Multiply:
      return "multiplication";
    default:
      return "division";
  }
}

bool is_number(const Value& value) {
  return value.kind == ValueKind::Quantity || value.kind == ValueKind::Count ||
         value.kind == ValueKind::Duration;
}

double si(const Value& value) {
  if (value.kind == ValueKind::Count) return static_cast<double>(value.count);
  if (value.kind == ValueKind::Duration) return value.duration.seconds();
  return value.number;
}

Dimension dimension_of(const Value& value) {
  if (value.kind == ValueKind::Duration) return dimensions::duration;
  if (value.kind == ValueKind::Count) return dimensions::ratio;
  return value.dimension;
}

// A result that may have overflowed: nullopt of the outer optional means the operands do not fit together.
struct Outcome {
  bool fits = true;
  std::optional<Value> value;  // nullopt: overflow
};

Outcome done(Value value) { return {true, std::move(value)}; }
Outcome overflow() { return {true, std::nullopt}; }
Outcome mismatch() { return {false, std::nullopt}; }

template <class Exact>
Outcome held(const std::optional<Exact>& exact) {
  return exact ? done(Value::of(*exact)) : overflow();
}

Outcome held(const Value& value) { return value.kind == ValueKind::Error ? overflow() : done(value); }

Duration minus(Duration value) { return {-value.nanoseconds}; }

Outcome sum(const Value& a, const Value& b, bool subtract) {
  const bool fits_negation = b.kind != ValueKind::Duration || b.duration.nanoseconds != INT64_MIN;
  if (!fits_negation) return overflow();
  const Duration right = subtract ? minus(b.duration) : b.duration;
  if (a.kind == ValueKind::Instant && b.kind == ValueKind::Duration)
    return held(checked_add(a.instant, right));
  if (a.kind == ValueKind::Instant && b.kind == ValueKind::Instant) {
    if (!subtract) return mismatch();
    std::int64_t difference = 0;
    if (__builtin_sub_overflow(a.instant.tai_nanoseconds, b.instant.tai_nanoseconds, &difference))
      return overflow();
    return done(Value::of(Duration{difference}));
  }
  if (a.kind == ValueKind::Duration && b.kind == ValueKind::Instant) {
    return subtract ? mismatch() : held(checked_add(b.instant, a.duration));
  }
  if (a.kind == ValueKind::Duration && b.kind == ValueKind::Duration)
    return held(checked_add(a.duration, right));
  if (a.kind == ValueKind::Count && b.kind == ValueKind::Count) {
    std::int64_t result = 0;
    const bool too_large = subtract ? __builtin_sub_overflow(a.count, b.count, &result)
                                    : __builtin_add_overflow(a.count, b.count, &result);
    return too_large ? overflow() : done(Value::of_count(result));
  }
  if (!is_number(a) || !is_number(b)) return mismatch();
  const Dimension left = dimension_of(a);
  const Dimension other = dimension_of(b);
  const double result = subtract ? si(a) - si(b) : si(a) + si(b);
  const bool left_point = left == dimensions::temperature;
  const bool right_point = other == dimensions::temperature;
  if (left_point && right_point) {
    return subtract ? held(Value::of_quantity(result, dimensions::temperature_difference)) : mismatch();
  }
  if (left_point && other == dimensions::temperature_difference) {
    return held(Value::of_quantity(result, dimensions::temperature));
  }
  if (right_point && left == dimensions::temperature_difference && !subtract) {
    return held(Value::of_quantity(result, dimensions::temperature));
  }
  if (left != other) return mismatch();
  return held(Value::of_quantity(result, left));
}

Outcome times(const Value& a, const Value& b) {
  if (!is_number(a) || !is_number(b)) return mismatch();
  if (a.kind == ValueKind::Count && b.kind == ValueKind::Count) {
    std::int64_t result = 0;
    if (__builtin_mul_overflow(a.count, b.count, &result)) return overflow();
    return done(Value::of_count(result));
  }
  if (a.kind == ValueKind::Duration && b.kind == ValueKind::Count)
    return held(checked_multiply(a.duration, b.count));
  if (a.kind == ValueKind::Count && b.kind == ValueKind::Duration)
    return held(checked_multiply(b.duration, a.count));
  const auto dimension = product(dimension_of(a), dimension_of(b));
  return dimension ? held(Value::of_quantity(si(a) * si(b), *dimension)) : mismatch();
}

Outcome over(const Value& a, const Value& b) {
  if (!is_number(a) || !is_number(b)) return mismatch();
  if (a.kind == ValueKind::Count && b.kind == ValueKind::Count) {
    if (a.count == INT64_MIN && b.count == -1) return overflow();
    if (a.count % b.count == 0) return done(Value::of_count(a.count / b.count));
  }
  if (a.kind == ValueKind::Duration && b.kind == ValueKind::Count) {
    if (a.duration.nanoseconds == INT64_MIN && b.count == -1) return overflow();
    return done(Value::of(Duration{a.duration.nanoseconds / b.count}));
  }
  const auto dimension = quotient(dimension_of(a), dimension_of(b));
  return dimension ? held(Value::of_quantity(si(a) / si(b), *dimension)) : mismatch();
}

}  // namespace

namespace {

std::string range_hint(const Value& a, const Value& b) {
  const auto is = [&](ValueKind kind) { return a.kind == kind || b.kind == kind; };
  if (is(ValueKind::Instant)) return "instants reach from 1972 to 2245";
  if (is(ValueKind::Duration)) return "durations reach to 292 years either way";
  if (a.kind == ValueKind::Count && b.kind == ValueKind::Count) {
    return "counts reach to 9223372036854775807 either way; write a point for a ratio: `1.0`";
  }
  return "numbers reach to 1.7e308 either way";
}

std::string mismatch_hint(ExpressionKind operation, const Value& a, const Value& b) {
  const bool sum = operation == ExpressionKind::Add || operation == ExpressionKind::Subtract;
  const std::string names = type_name(a) + " and " + type_name(b);
  if (a.kind == ValueKind::Text || b.kind == ValueKind::Text || a.kind == ValueKind::Boolean ||
      b.kind == ValueKind::Boolean) {
    return "only numbers, quantities and times are reckoned with";
  }
  if (a.kind == ValueKind::Instant && b.kind == ValueKind::Instant && operation == ExpressionKind::Add) {
    return "two instants have a distance, `later - earlier`, but no sum";
  }
  const bool time = a.kind == ValueKind::Instant || b.kind == ValueKind::Instant;
  const Value& other = a.kind == ValueKind::Instant ? b : a;
  if (time && sum &&
      (other.kind == ValueKind::Count ||
       (other.kind == ValueKind::Quantity && other.dimension == dimensions::ratio))) {
    return "an instant is moved by a duration: write a unit, such as `10 min`";
  }
  if (time && sum) return "an instant is moved by a duration, such as `10 min`";
  if (time) return "an instant is moved by a duration, `mark + 10 min`; it is not multiplied or divided";
  if (sum && (a.kind == ValueKind::Count || b.kind == ValueKind::Count)) {
    return "give the plain number the unit of the other, or multiply instead";
  }
  if (sum) return "only like is added to like: give both as " + type_name(a) + " or both as " + type_name(b);
  return "no unit here measures the result of " + names;
}

}  // namespace

Value negate(const Value& a, Span place, Diagnostics& diagnostics) {
  if (!a.is_usable()) return a;
  if (a.kind == ValueKind::Duration && a.duration.nanoseconds != INT64_MIN)
    return Value::of(minus(a.duration));
  if (a.kind == ValueKind::Count && a.count != INT64_MIN) return Value::of_count(-a.count);
  if (a.kind == ValueKind::Quantity && a.dimension != dimensions::temperature) {
    return Value::of_quantity(-a.number, a.dimension);
  }
  diagnostics
      .report(diagnostics::WrongType, place, "what `-` stands before", "a number, a duration or a quantity",
              type_name(a))
      .hint(a.dimension == dimensions::temperature && a.kind == ValueKind::Quantity
                ? "a reading below zero is written as a number: `-5 degC`"
                : "leave the `-` out, or subtract: `later - earlier`");
  return Value::error();
}

Value arithmetic(ExpressionKind operation, const Value& a, const Value& b, const Expression& place, Span left,
                 Span right, Diagnostics& diagnostics) {
  if (a.kind == ValueKind::Error || b.kind == ValueKind::Error) return Value::error();
  if (a.kind == ValueKind::Pending) return a;
  if (b.kind == ValueKind::Pending) return b;
  if (operation == ExpressionKind::Divide && is_number(b) && si(b) == 0) {
    diagnostics.report(diagnostics::DivideByZero, place.span, "")
        .context(right, "this is zero")
        .hint("give the divisor a value other than zero");
    return Value::error();
  }
  Outcome outcome;
  switch (operation) {
    case ExpressionKind::Add:
      outcome = sum(a, b, false);
      break;
    case ExpressionKind::Subtract:
      outcome = sum(a, b, true);
      break;
    case ExpressionKind::Multiply:
      outcome = times(a, b);
      break;
    default:
      outcome = over(a, b);
      break;
  }
  if (outcome.fits && outcome.value) return *outcome.value;
  if (outcome.fits) {
    diagnostics.report(diagnostics::ValueOverflow, place.span, noun(operation)).hint(range_hint(a, b));
    return Value::error();
  }
  if (a.kind == ValueKind::Quantity && b.kind == ValueKind::Quantity &&
      a.dimension == dimensions::temperature && b.dimension == dimensions::temperature) {
    diagnostics.report(diagnostics::TemperatureSum, place.span, verb(operation))
        .hint("write the difference in K: `20 degC + 5 K`");
    return Value::error();
  }
  diagnostics.report(diagnostics::UnitsMismatch, place.span, verb(operation), type_name(a), type_name(b))
      .context(left, type_name(a))
      .context(right, type_name(b))
      .hint(mismatch_hint(operation, a, b));
  return Value::error();
}

}  // namespace cairn
