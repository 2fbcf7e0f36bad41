// Instants and durations: exact time.
//
// An instant is a whole number of nanoseconds of atomic time (TAI) since 1958-01-01T00:00:00 TAI, the epoch
// of CCSDS 301.0-B; it reaches from 1958 past the year 2200. UTC is only a way to write it: reading and
// writing UTC needs the table of leap seconds (leap_seconds.h). No floating point is stored.

#pragma once

#include <compare>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace cairn {

struct Duration {
  std::int64_t nanoseconds = 0;

  friend constexpr auto operator<=>(Duration, Duration) = default;
  [[nodiscard]] constexpr double seconds() const { return static_cast<double>(nanoseconds) * 1e-9; }
};

struct Instant {
  std::int64_t tai_nanoseconds = 0;

  friend constexpr auto operator<=>(Instant, Instant) = default;
};

inline constexpr std::int64_t nanoseconds_per_second = 1'000'000'000;

constexpr Duration seconds_to_duration(std::int64_t seconds) { return {seconds * nanoseconds_per_second}; }

// Unchecked arithmetic, for values that a checked pass has already admitted (a load's span is bounded).
constexpr Instant operator+(Instant a, Duration b) { return {a.tai_nanoseconds + b.nanoseconds}; }
constexpr Instant operator-(Instant a, Duration b) { return {a.tai_nanoseconds - b.nanoseconds}; }
constexpr Duration operator-(Instant a, Instant b) { return {a.tai_nanoseconds - b.tai_nanoseconds}; }
constexpr Duration operator+(Duration a, Duration b) { return {a.nanoseconds + b.nanoseconds}; }
constexpr Duration operator-(Duration a, Duration b) { return {a.nanoseconds - b.nanoseconds}; }
constexpr Duration operator*(Duration a, std::int64_t n) { return {a.nanoseconds * n}; }

// Checked arithmetic, for anything that comes from a user: nullopt on overflow.
std::optional<Instant> checked_add(Instant a, Duration b);
std::optional<Duration> checked_add(Duration a, Duration b);
std::optional<Duration> checked_multiply(Duration a, std::int64_t n);

// A duration from SI seconds in floating point, rounded to the nearest nanosecond; nullopt if out of range.
std::optional<Duration> duration_from_seconds(double seconds);

// A decimal number ("1.5", "-0.25", "1e3") times a whole unit of nanoseconds, exact: nullopt when the text is
// no number, the result is out of range, or is not a whole number of nanoseconds.
std::optional<Duration> exact_duration(std::string_view decimal, std::int64_t unit_nanoseconds);

// The shortest usual way to write a duration: "90 s" -> "1 min 30 s", "2 h", "-3 d 4 h", "0 s", "1.5 s".
std::string to_text(Duration duration);

}  // namespace cairn
