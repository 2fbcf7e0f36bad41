// RFC 8785: ECMAScript numbers, minimal escapes, keys in UTF-16 order, no white space.

#include "compiler/plan/canonical_json.h"

#include <array>
#include <charconv>
#include <cmath>
#include <cstdio>
#include <cstdlib>

namespace cairn {

namespace {

// UTF-16 code units of a UTF-8 text; broken octets count as themselves.
std::vector<std::uint32_t> to_utf16(std::string_view text) {
  std::vector<std::uint32_t> out;
  for (std::size_t i = 0; i < text.size();) {
    const auto lead = static_cast<unsigned char>(text[i]);
    const std::size_t length = lead >= 0xF0 ? 4 : lead >= 0xE0 ? 3 : lead >= 0xC0 ? 2 : 1;
    if (length == 1 || i + length > text.size()) {
      out.push_back(lead);
      ++i;
      continue;
    }
    std::uint32_t point = lead & (0xFFU >> (length + 1));
    for (std::size_t k = 1; k < length; ++k) {
      point = point << 6U | (static_cast<unsigned char>(text[i + k]) & 0x3FU);
    }
    if (point >= 0x10000) {
      out.push_back(0xD800U + ((point - 0x10000U) >> 10U));
      out.push_back(0xDC00U + ((point - 0x10000U) & 0x3FFU));
    } else {
      out.push_back(point);
    }
    i += length;
  }
  return out;
}

void write_text(std::string_view text, std::string& out) {
  out += '"';
  for (const char c : text) {
    constexpr std::string_view plain = "\"\\\b\f\n\r\t";
    constexpr std::string_view letter = "\"\\bfnrt";
    const std::size_t known = plain.find(c);
    if (known != std::string_view::npos) {
      out += '\\';
      out += letter[known];
    } else if (static_cast<unsigned char>(c) < 0x20) {
      std::array<char, 8> escape{};
      std::snprintf(escape.data(), escape.size(), "\\u%04x", static_cast<unsigned>(c));
      out += escape.data();
    } else {
      out += c;
    }
  }
  out += '"';
}

}  // namespace

bool Utf16Order::operator()(std::string_view a, std::string_view b) const {
  return to_utf16(a) < to_utf16(b);
}

std::string ecmascript_number(double value) {
  if (!std::isfinite(value)) return "null";
  if (value == 0) return "0";
  // Shortest digits that read back as the same number, then laid out by ECMA-262 Number::toString.
  std::array<char, 40> text{};
  const auto end =
      std::to_chars(text.data(), text.data() + text.size(), std::abs(value), std::chars_format::scientific)
          .ptr;
  const std::string_view scientific(text.data(), static_cast<std::size_t>(end - text.data()));
  const std::size_t e = scientific.find('e');
  std::string digits;
  for (const char c : scientific.substr(0, e)) {
    if (c != '.') digits += c;
  }
  int exponent = 0;
  std::string_view tail = scientific.substr(e + 1);
  if (tail.front() == '+') tail.remove_prefix(1);
  std::from_chars(tail.data(), tail.data() + tail.size(), exponent);
  const int point = exponent + 1;  // digits before the decimal point
  const auto count = static_cast<int>(digits.size());
  std::string out = value < 0 ? "-" : "";
  if (count <= point && point <= 21) {
    out += digits + std::string(static_cast<std::size_t>(point - count), '0');
  } else if (0 < point && point <= 21) {
    const auto split = static_cast<std::size_t>(point);
    out += digits.substr(0, split) + "." + digits.substr(split);
  } else if (-6 < point && point <= 0) {
    out += "0." + std::string(static_cast<std::size_t>(-point), '0') + digits;
  } else {
    out += digits.substr(0, 1);
    if (count > 1) out += "." + digits.substr(1);
    out += exponent < 0 ? "e-" : "e+";
    out += std::to_string(std::abs(exponent));
  }
  return out;
}

std::string Json::canonical() const {
  std::string out;
  write(out);
  return out;
}

void Json::write(std::string& out) const {
  if (std::holds_alternative<std::nullptr_t>(value_)) {
    out += "null";
  } else if (const bool* flag = std::get_if<bool>(&value_)) {
    out += *flag ? "true" : "false";
  } else if (const double* number = std::get_if<double>(&value_)) {
    out += ecmascript_number(*number);
  } else if (const std::string* text = std::get_if<std::string>(&value_)) {
    write_text(*text, out);
  } else if (const Array* array = std::get_if<Array>(&value_)) {
    out += '[';
    for (std::size_t i = 0; i < array->size(); ++i) {
      if (i > 0) out += ',';
      (*array)[i].write(out);
    }
    out += ']';
  } else {
    out += '{';
    bool first = true;
    for (const auto& [key, value] : std::get<Object>(value_)) {
      if (!first) out += ',';
      first = false;
      write_text(key, out);
      out += ':';
      value.write(out);
    }
    out += '}';
  }
}

double rounded(double value, int decimals) {
  // Powers of ten are exact up to 1e22, those below one are not: divide by the exact one on either side.
  double scale = 1;
  for (int i = 0; i < std::abs(decimals); ++i) scale *= 10;
  const double result = decimals < 0 ? std::round(value / scale) * scale : std::round(value * scale) / scale;
  if (!std::isfinite(result)) return value;
  return result == 0 ? 0 : result;
}

double significant(double value, int digits) {
  if (value == 0 || !std::isfinite(value)) return value;
  // Through decimal text, which is correctly rounded at any size.
  std::array<char, 48> text{};
  const auto end =
      std::to_chars(text.data(), text.data() + text.size(), value, std::chars_format::scientific, digits - 1)
          .ptr;
  double result = value;
  std::from_chars(text.data(), end, result);
  return result;
}

}  // namespace cairn
