// Reading quantities, with the faulty part of the text told exactly.

#include "compiler/model/quantity_text.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <utility>

#include "constraints/quantity/unit.h"

namespace cairn {

namespace {

constexpr std::string_view plus_minus = "\xC2\xB1";  // U+00B1 in UTF-8

struct Term {
  double number = 0;
  const Unit* unit = nullptr;
  std::string_view digits;
  std::size_t begin = 0;
  std::size_t end = 0;
};

bool is_digit(char c) { return c >= '0' && c <= '9'; }

class Cursor {
 public:
  explicit Cursor(std::string_view text) : text_(text) {}

  void skip_blanks() {
    while (at_ < text_.size() && (text_[at_] == ' ' || text_[at_] == '\t')) ++at_;
  }
  bool take(std::string_view word) {
    if (!text_.substr(at_).starts_with(word)) return false;
    at_ += word.size();
    return true;
  }
  [[nodiscard]] bool at_end() const { return at_ >= text_.size(); }
  [[nodiscard]] std::size_t at() const { return at_; }

  // Sign, digits, fraction, exponent. A fraction needs digits on both sides, so that ".." is never part of
  // it.
  std::string_view number() {
    std::size_t i = at_;
    const auto digits = [&] {
      const std::size_t before = i;
      while (i < text_.size() && is_digit(text_[i])) ++i;
      return i > before;
    };
    if (i < text_.size() && (text_[i] == '-' || text_[i] == '+')) ++i;
    if (!digits()) return {};
    if (i + 1 < text_.size() && text_[i] == '.' && is_digit(text_[i + 1])) {
      ++i;
      digits();
    }
    if (i < text_.size() && (text_[i] == 'e' || text_[i] == 'E')) {
      const std::size_t before = i;
      ++i;
      if (i < text_.size() && (text_[i] == '-' || text_[i] == '+')) ++i;
      if (!digits()) i = before;
    }
    const std::string_view found = text_.substr(at_, i - at_);
    at_ = i;
    return found;
  }

  // Up to the next blank or bound sign.
  std::string_view word() {
    std::size_t i = at_;
    while (i < text_.size() && text_[i] != ' ' && text_[i] != '\t') {
      const std::string_view rest = text_.substr(i);
      if (rest.starts_with(plus_minus) || rest.starts_with("+/-") || rest.starts_with("..")) break;
      ++i;
    }
    const std::string_view found = text_.substr(at_, i - at_);
    at_ = i;
    return found;
  }

 private:
  std::string_view text_;
  std::size_t at_ = 0;
};

QuantityProblem malformed(std::size_t begin, std::size_t end, std::string message) {
  return {QuantityFault::Malformed, begin, std::max(begin, end), std::move(message), {}, {}};
}

std::expected<Term, QuantityProblem> read_term(Cursor& cursor) {
  cursor.skip_blanks();
  Term term;
  term.begin = cursor.at();
  term.digits = cursor.number();
  if (term.digits.empty()) {
    cursor.word();
    return std::unexpected(malformed(term.begin, cursor.at(), "a number must stand here"));
  }
  const std::optional<double> number = parse_number(term.digits);
  if (!number) return std::unexpected(malformed(term.begin, cursor.at(), "the number is too large to hold"));
  term.number = *number;
  cursor.skip_blanks();
  const std::size_t unit_begin = cursor.at();
  const std::string_view symbol = cursor.word();
  term.end = cursor.at();
  if (symbol.empty()) {
    return std::unexpected(malformed(term.begin, term.begin + term.digits.size(), "the number has no unit"));
  }
  term.unit = find_unit(symbol);
  if (term.unit == nullptr) {
    return std::unexpected(
        QuantityProblem{QuantityFault::UnknownUnit, unit_begin, term.end, std::string(symbol), {}, {}});
  }
  return term;
}

Dimension dimension_of(const Term& term, bool point) {
  if (point && term.unit->dimension == dimensions::temperature_difference) return dimensions::temperature;
  return term.unit->dimension;
}

double in_si(const Term& term) { return term.number * term.unit->factor + term.unit->offset; }

QuantityProblem mismatch(const Term& term, Dimension found, Dimension expected) {
  return {QuantityFault::WrongDimension, term.begin, term.end, {}, found, expected};
}

// The half-width that stands after ±, in SI.
std::expected<double, QuantityProblem> half_width(const Term& bound, double value, Dimension dimension) {
  if (bound.number < 0)
    return std::unexpected(malformed(bound.begin, bound.end, "a bound cannot be negative"));
  const Dimension found = bound.unit->dimension;
  if (dimension == dimensions::temperature) {
    if (found == dimensions::temperature_difference) return bound.number * bound.unit->factor;
    return std::unexpected(mismatch(bound, found, dimensions::temperature_difference));
  }
  if (found == dimension) return bound.number * bound.unit->factor;
  if (found == dimensions::ratio) return std::abs(value) * bound.number * bound.unit->factor;
  return std::unexpected(mismatch(bound, found, dimension));
}

}  // namespace

std::optional<double> parse_number(std::string_view text) {
  Cursor cursor(text);
  if (cursor.number() != text || text.empty()) return std::nullopt;
  if (text.front() == '+') text.remove_prefix(1);
  double value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  // A number below the smallest double is zero for every purpose here; above the largest it cannot be held.
  if (error == std::errc::result_out_of_range) {
    const std::size_t exponent = text.find_first_of("eE");
    const bool tiny = exponent != std::string_view::npos && text.substr(exponent + 1).starts_with('-');
    return tiny ? std::optional(0.0) : std::nullopt;
  }
  if (error != std::errc{} || end != text.data() + text.size() || !std::isfinite(value)) return std::nullopt;
  return value;
}

std::expected<QuantityText, QuantityProblem> parse_quantity(std::string_view text, bool point) {
  Cursor cursor(text);
  const auto first = read_term(cursor);
  if (!first) return std::unexpected(first.error());
  QuantityText out;
  out.number = first->digits;
  out.unit = first->unit->symbol;
  out.dimension = dimension_of(*first, point);
  const double value = in_si(*first);
  out.value = Bounded::exactly(value);
  cursor.skip_blanks();
  const std::size_t sign_begin = cursor.at();
  if (cursor.take(plus_minus) || cursor.take("+/-")) {
    out.form = BoundForm::PlusMinus;
  } else if (cursor.take("..")) {
    out.form = BoundForm::Range;
  }
  if (out.form != BoundForm::None) {
    const auto second = read_term(cursor);
    if (!second) return std::unexpected(second.error());
    if (out.form == BoundForm::PlusMinus) {
      const auto half = half_width(*second, value, out.dimension);
      if (!half) return std::unexpected(half.error());
      out.value = {value, value - *half, value + *half};
    } else {
      const Dimension dimension = dimension_of(*second, point);
      if (dimension != out.dimension) return std::unexpected(mismatch(*second, dimension, out.dimension));
      const double high = in_si(*second);
      if (high < value) {
        return std::unexpected(malformed(sign_begin, second->end, "the range ends below its beginning"));
      }
      out.value = {value + (high - value) / 2, value, high};
    }
  }
  cursor.skip_blanks();
  if (!cursor.at_end()) {
    return std::unexpected(malformed(cursor.at(), text.size(), "nothing may follow the quantity"));
  }
  const bool held =
      std::isfinite(out.value.low) && std::isfinite(out.value.nominal) && std::isfinite(out.value.high);
  if (!held) return std::unexpected(malformed(0, text.size(), "the number is too large to hold"));
  return out;
}

}  // namespace cairn
