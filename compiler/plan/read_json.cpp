// One pass over the text; depth is counted before the stack could notice.

#include "compiler/plan/read_json.h"

#include <fmt/format.h>

#include <charconv>
#include <cmath>
#include <cstdint>

namespace cairn {

namespace {

constexpr bool is_digit(char c) { return c >= '0' && c <= '9'; }

void append_utf8(std::uint32_t point, std::string& out) {
  const auto put = [&out](std::uint32_t octet) {
    out += static_cast<char>(static_cast<unsigned char>(octet));
  };
  if (point < 0x80) {
    put(point);
  } else if (point < 0x800) {
    put(0xC0U | (point >> 6U));
    put(0x80U | (point & 0x3FU));
  } else if (point < 0x10000) {
    put(0xE0U | (point >> 12U));
    put(0x80U | ((point >> 6U) & 0x3FU));
    put(0x80U | (point & 0x3FU));
  } else {
    put(0xF0U | (point >> 18U));
    put(0x80U | ((point >> 12U) & 0x3FU));
    put(0x80U | ((point >> 6U) & 0x3FU));
    put(0x80U | (point & 0x3FU));
  }
}

class Parser {
 public:
  Parser(std::string_view text, int depth) : text_(text), depth_left_(depth) {}

  std::expected<Json, std::string> whole() {
    Json result;
    space();
    if (!value(result)) return std::unexpected(error_);
    space();
    if (at_ != text_.size()) return std::unexpected(fmt::format("more text after the value at byte {}", at_));
    return result;
  }

 private:
  bool fail(std::string sentence) {
    if (error_.empty()) error_ = fmt::format("{} at byte {}", sentence, at_);
    return false;
  }
  [[nodiscard]] char here() const { return at_ < text_.size() ? text_[at_] : '\0'; }
  void space() {
    while (here() == ' ' || here() == '\t' || here() == '\n' || here() == '\r') ++at_;
  }
  bool take(char c) {
    if (at_ >= text_.size() || text_[at_] != c) return false;
    ++at_;
    return true;
  }
  bool word(std::string_view word) {
    if (text_.substr(at_, word.size()) != word) return fail("not JSON");
    at_ += word.size();
    return true;
  }

  bool value(Json& out) {
    switch (here()) {
      case '{':
        return object(out);
      case '[':
        return array(out);
      case '"': {
        std::string text;
        if (!string(text)) return false;
        out = Json(std::move(text));
        return true;
      }
      case 't':
        out = Json(true);
        return word("true");
      case 'f':
        out = Json(false);
        return word("false");
      case 'n':
        out = Json(nullptr);
        return word("null");
      default:
        return number(out);
    }
  }

  bool deeper() {
    if (depth_left_ == 0) return fail("nested too deeply");
    --depth_left_;
    ++at_;
    space();
    return true;
  }

  bool object(Json& out) {
    if (!deeper()) return false;
    Json::Object members;
    if (!take('}')) {
      for (;;) {
        std::string key;
        if (here() != '"' || !string(key)) return fail("a key is missing");
        space();
        if (!take(':')) return fail("`:` is missing");
        space();
        Json member;
        if (!value(member)) return false;
        if (!members.emplace(key, std::move(member)).second) {
          return fail(fmt::format("`{}` is given twice in one object", key));
        }
        space();
        if (take('}')) break;
        if (!take(',')) return fail("`,` or `}` is missing");
        space();
      }
    }
    ++depth_left_;
    out = Json(std::move(members));
    return true;
  }

  bool array(Json& out) {
    if (!deeper()) return false;
    Json::Array items;
    if (!take(']')) {
      for (;;) {
        Json item;
        if (!value(item)) return false;
        items.push_back(std::move(item));
        space();
        if (take(']')) break;
        if (!take(',')) return fail("`,` or `]` is missing");
        space();
      }
    }
    ++depth_left_;
    out = Json(std::move(items));
    return true;
  }

  bool number(Json& out) {
    const std::size_t begin = at_;
    take('-');
    if (!take('0')) {
      if (!is_digit(here())) return fail("not JSON");
      while (is_digit(here())) ++at_;
    }
    if (take('.')) {
      if (!is_digit(here())) return fail("a digit is missing");
      while (is_digit(here())) ++at_;
    }
    if (here() == 'e' || here() == 'E') {
      ++at_;
      if (here() == '+' || here() == '-') ++at_;
      if (!is_digit(here())) return fail("a digit is missing");
      while (is_digit(here())) ++at_;
    }
    double number = 0;
    const auto [end, problem] = std::from_chars(text_.data() + begin, text_.data() + at_, number);
    if (problem != std::errc{} || end != text_.data() + at_ || !std::isfinite(number)) {
      return fail("a number that no double can hold");
    }
    out = Json(number);
    return true;
  }

  bool hex(std::uint32_t& unit) {
    if (at_ + 4 > text_.size()) return fail("an escape is cut off");
    const auto [end, problem] = std::from_chars(text_.data() + at_, text_.data() + at_ + 4, unit, 16);
    if (problem != std::errc{} || end != text_.data() + at_ + 4) return fail("a bad escape");
    at_ += 4;
    return true;
  }

  bool escape(std::string& out) {
    const char c = here();
    ++at_;
    constexpr std::string_view names = "\"\\/bfnrt";
    constexpr std::string_view values = "\"\\/\b\f\n\r\t";
    if (c == 'u') {
      std::uint32_t point = 0;
      if (!hex(point)) return false;
      if (point >= 0xD800 && point < 0xDC00) {
        std::uint32_t low = 0;
        if (!take('\\') || !take('u') || !hex(low) || low < 0xDC00 || low > 0xDFFF)
          return fail("half a character");
        point = 0x10000 + ((point - 0xD800) << 10U) + (low - 0xDC00);
      } else if (point >= 0xDC00 && point < 0xE000) {
        return fail("half a character");
      }
      append_utf8(point, out);
      return true;
    }
    const std::size_t known = names.find(c);
    if (known == std::string_view::npos || c == '\0') return fail("a bad escape");
    out += values[known];
    return true;
  }

  // One UTF-8 character (RFC 3629: no overlong form, no surrogate, nothing above U+10FFFF).
  bool character(std::string& out) {
    const auto octet = [this](std::size_t i) {
      return at_ + i < text_.size() ? static_cast<unsigned char>(text_[at_ + i]) : 0U;
    };
    const unsigned first = octet(0);
    std::size_t length = 1;
    std::uint32_t point = first;
    if (first >= 0x80) {
      length = first >= 0xF0 ? 4 : first >= 0xE0 ? 3 : 2;
      if (first < 0xC2 || first > 0xF4) return fail("text that is no UTF-8");
      point = first & (0x7FU >> length);
      for (std::size_t i = 1; i < length; ++i) {
        if ((octet(i) & 0xC0U) != 0x80U) return fail("text that is no UTF-8");
        point = (point << 6U) | (octet(i) & 0x3FU);
      }
      const bool overlong = (length == 3 && point < 0x800) || (length == 4 && point < 0x10000);
      if (overlong || point > 0x10FFFF || (point >= 0xD800 && point < 0xE000))
        return fail("text that is no UTF-8");
    } else if (first < 0x20) {
      return fail("a control character in a text");
    }
    out += text_.substr(at_, length);
    at_ += length;
    return true;
  }

  bool string(std::string& out) {
    ++at_;
    for (;;) {
      if (at_ >= text_.size()) return fail("a text that does not end");
      if (take('"')) return true;
      if (take('\\')) {
        if (!escape(out)) return false;
      } else if (!character(out)) {
        return false;
      }
    }
  }

  std::string_view text_;
  std::size_t at_ = 0;
  int depth_left_;
  std::string error_;
};

}  // namespace

std::expected<Json, std::string> read_json(std::string_view text, const JsonLimits& limits) {
  if (text.size() > limits.bytes)
    return std::unexpected(fmt::format("it is larger than {} bytes", limits.bytes));
  return Parser(text, limits.depth).whole();
}

}  // namespace cairn
