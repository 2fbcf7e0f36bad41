// JSON as a value, written in the canonical form of RFC 8785: one text for one value, on every machine.

#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

namespace cairn {

// RFC 8785 section 3.2.3: keys are sorted by their UTF-16 code units.
struct Utf16Order {
  bool operator()(std::string_view a, std::string_view b) const;
  using is_transparent = void;
};

class Json {
 public:
  using Array = std::vector<Json>;
  using Object = std::map<std::string, Json, Utf16Order>;

  Json() : value_(nullptr) {}
  Json(std::nullptr_t) : value_(nullptr) {}
  Json(bool value) : value_(value) {}
  Json(double value) : value_(value) {}
  Json(int value) : value_(static_cast<double>(value)) {}
  Json(std::uint32_t value) : value_(static_cast<double>(value)) {}
  // Whole numbers beyond 2^53 would not survive as JSON numbers: write them as text instead.
  Json(std::int64_t value) : value_(static_cast<double>(value)) {}
  Json(std::size_t value) : value_(static_cast<double>(value)) {}
  Json(const char* value) : value_(std::string(value)) {}
  Json(std::string_view value) : value_(std::string(value)) {}
  Json(std::string value) : value_(std::move(value)) {}
  Json(Array value) : value_(std::move(value)) {}
  Json(Object value) : value_(std::move(value)) {}

  [[nodiscard]] std::string canonical() const;

  // What it holds; nullptr when it is of another kind.
  [[nodiscard]] const bool* flag() const { return std::get_if<bool>(&value_); }
  [[nodiscard]] const double* number() const { return std::get_if<double>(&value_); }
  [[nodiscard]] const std::string* text() const { return std::get_if<std::string>(&value_); }
  [[nodiscard]] const Array* array() const { return std::get_if<Array>(&value_); }
  [[nodiscard]] const Object* object() const { return std::get_if<Object>(&value_); }
  [[nodiscard]] bool is_null() const { return std::holds_alternative<std::nullptr_t>(value_); }

 private:
  void write(std::string& out) const;
  std::variant<std::nullptr_t, bool, double, std::string, Array, Object> value_;
};

// A finite number as ECMAScript writes it (RFC 8785 section 3.2.2.3); what is not finite has no JSON form and
// is written as null.
std::string ecmascript_number(double value);

// Rounded to so many decimals, minus zero made zero: what goes into a plan must not hang on a last bit.
double rounded(double value, int decimals);
// Rounded to so many significant digits.
double significant(double value, int digits);

}  // namespace cairn
