// Exact arithmetic of time.

#include "constraints/quantity/instant.h"

#include <cmath>
#include <limits>

namespace cairn {

std::optional<Instant> checked_add(Instant a, Duration b) {
  Instant sum;
  if (__builtin_add_overflow(a.tai_nanoseconds, b.nanoseconds, &sum.tai_nanoseconds)) return std::nullopt;
  return sum;
}

std::optional<Duration> checked_add(Duration a, Duration b) {
  Duration sum;
  if (__builtin_add_overflow(a.nanoseconds, b.nanoseconds, &sum.nanoseconds)) return std::nullopt;
  return sum;
}

std::optional<Duration> checked_multiply(Duration a, std::int64_t n) {
  Duration result;
  if (__builtin_mul_overflow(a.nanoseconds, n, &result.nanoseconds)) return std::nullopt;
  return result;
}

std::optional<Duration> duration_from_seconds(double seconds) {
  const double nanoseconds = std::round(seconds * 1e9);
  if (!(std::abs(nanoseconds) < 9.2e18)) return std::nullopt;  // also catches what is no number
  return Duration{static_cast<std::int64_t>(nanoseconds)};
}

std::optional<Duration> exact_duration(std::string_view text, std::int64_t unit_nanoseconds) {
  std::size_t i = 0;
  bool negative = false;
  if (i < text.size() && (text[i] == '-' || text[i] == '+')) negative = text[i++] == '-';
  const auto is_digit = [&](std::size_t at) {
    return at < text.size() && text[at] >= '0' && text[at] <= '9';
  };
  __extension__ typedef __int128 Wide;
  Wide digits = 0;
  int scale = 0;  // value = digits * 10^scale
  bool any = false;
  bool fraction = false;
  for (; is_digit(i) || (!fraction && i < text.size() && text[i] == '.'); ++i) {
    if (text[i] == '.') {
      fraction = true;
      if (!any || !is_digit(i + 1)) return std::nullopt;
      continue;
    }
    any = true;
    // Trailing zeros of a fraction carry nothing; leaving them out keeps long but plain numbers exact.
    if (digits > Wide{1'000'000'000'000'000'000}) {
      if (text[i] != '0') return std::nullopt;
      if (!fraction) ++scale;
      continue;
    }
    digits = digits * 10 + (text[i] - '0');
    if (fraction) --scale;
  }
  if (!any) return std::nullopt;
  if (i < text.size() && (text[i] == 'e' || text[i] == 'E')) {
    ++i;
    bool down = false;
    if (i < text.size() && (text[i] == '-' || text[i] == '+')) down = text[i++] == '-';
    if (!is_digit(i)) return std::nullopt;
    int exponent = 0;
    for (; is_digit(i); ++i) {
      if (exponent > 1000) return digits == 0 ? std::optional(Duration{}) : std::nullopt;
      exponent = exponent * 10 + (text[i] - '0');
    }
    scale += down ? -exponent : exponent;
  }
  if (i != text.size()) return std::nullopt;
  if (digits == 0) return Duration{};
  constexpr Wide most = Wide{std::numeric_limits<std::int64_t>::max()};
  Wide value = digits * unit_nanoseconds;  // below 1.1e19 * 3.2e16 < 2^127
  for (; scale > 0; --scale) {
    if (value > most) return std::nullopt;
    value *= 10;
  }
  for (; scale < 0; ++scale) {
    if (value % 10 != 0) return std::nullopt;
    value /= 10;
  }
  if (value > most) return std::nullopt;
  const auto nanoseconds = static_cast<std::int64_t>(value);
  return Duration{negative ? -nanoseconds : nanoseconds};
}

std::string to_text(Duration duration) {
  if (duration.nanoseconds == 0) return "0 s";
  std::string out = duration.nanoseconds < 0 ? "-" : "";
  std::uint64_t rest = duration.nanoseconds < 0 ? ~static_cast<std::uint64_t>(duration.nanoseconds) + 1
                                                : static_cast<std::uint64_t>(duration.nanoseconds);
  constexpr std::uint64_t second = 1'000'000'000;
  const auto part = [&](std::uint64_t size, const char* unit) {
    const std::uint64_t count = rest / size;
    rest %= size;
    if (count == 0) return;
    if (!out.empty() && out != "-") out += ' ';
    out += std::to_string(count) + unit;
  };
  part(86'400 * second, " d");
  part(3'600 * second, " h");
  part(60 * second, " min");
  if (rest > 0) {
    if (!out.empty() && out != "-") out += ' ';
    out += std::to_string(rest / second);
    std::string fraction = std::to_string(rest % second);
    if (fraction != "0") {
      fraction.insert(0, 9 - fraction.size(), '0');
      while (fraction.back() == '0') fraction.pop_back();
      out += "." + fraction;
    }
    out += " s";
  }
  return out;
}

}  // namespace cairn
