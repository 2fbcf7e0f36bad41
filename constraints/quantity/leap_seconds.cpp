// Leap seconds, the calendar, and UTC as text.

#include "constraints/quantity/leap_seconds.h"

#include <algorithm>
#include <array>
#include <charconv>

namespace cairn {

namespace {

constexpr std::int64_t second = nanoseconds_per_second;
constexpr std::int64_t day_seconds = 86'400;

// Days since 1958-01-01 of a Gregorian date, and back (proleptic; Howard Hinnant's published algorithm).
constexpr std::int64_t days_1958_to_1970 = 4383;

constexpr std::int64_t day_of(std::int64_t year, unsigned month, unsigned day) {
  year -= month <= 2 ? 1 : 0;
  const std::int64_t era = (year >= 0 ? year : year - 399) / 400;
  const auto year_of_era = static_cast<unsigned>(year - era * 400);
  const unsigned day_of_year = (153 * (month > 2 ? month - 3 : month + 9) + 2) / 5 + day - 1;
  const unsigned day_of_era = year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + day_of_year;
  return era * 146'097 + static_cast<std::int64_t>(day_of_era) - 719'468 + days_1958_to_1970;
}

struct Date {
  std::int64_t year = 0;
  unsigned month = 0;
  unsigned day = 0;
};

constexpr Date date_of(std::int64_t days) {
  days += 719'468 - days_1958_to_1970;
  const std::int64_t era = (days >= 0 ? days : days - 146'096) / 146'097;
  const auto day_of_era = static_cast<unsigned>(days - era * 146'097);
  const unsigned year_of_era =
      (day_of_era - day_of_era / 1460 + day_of_era / 36'524 - day_of_era / 146'096) / 365;
  const unsigned day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
  const unsigned shifted = (5 * day_of_year + 2) / 153;
  const unsigned month = shifted < 10 ? shifted + 3 : shifted - 9;
  return {static_cast<std::int64_t>(year_of_era) + era * 400 + (month <= 2 ? 1 : 0), month,
          day_of_year - (153 * shifted + 2) / 5 + 1};
}

constexpr bool is_leap_year(std::int64_t year) {
  return (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
}

constexpr unsigned days_in_month(std::int64_t year, unsigned month) {
  constexpr std::array<unsigned, 12> days{31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  return month == 2 && is_leap_year(year) ? 29 : days[month - 1];
}

int offset_on(const LeapSecondTable& table, std::int64_t day) {
  int offset = table.entries.front().tai_minus_utc;
  for (const LeapSecondEntry& entry : table.entries) {
    if (entry.utc_day <= day) offset = entry.tai_minus_utc;
  }
  return offset;
}

// How long the UTC day is, in seconds: 86401 when a leap second ends it.
std::int64_t length_of_day(const LeapSecondTable& table, std::int64_t day) {
  return day_seconds + offset_on(table, day + 1) - offset_on(table, day);
}

// TAI seconds since the epoch at which a UTC day begins.
std::int64_t day_begin(const LeapSecondTable& table, std::int64_t day) {
  return day * day_seconds + offset_on(table, day);
}

std::optional<unsigned> digits(std::string_view text) {
  unsigned value = 0;
  for (const char c : text) {
    if (c < '0' || c > '9') return std::nullopt;
    value = value * 10 + static_cast<unsigned>(c - '0');
  }
  return text.empty() ? std::nullopt : std::optional(value);
}

std::string padded(std::uint64_t value, std::size_t width) {
  std::string text = std::to_string(value);
  if (text.size() < width) text.insert(0, width - text.size(), '0');
  return text;
}

LeapSecondTable make_published() {
  // IERS Bulletin C as published in leap-seconds.list (update of 2025-07, expiry 28 June 2026).
  constexpr std::array<std::array<int, 2>, 28> rows{
      {{1972, 1}, {1972, 7}, {1973, 1}, {1974, 1}, {1975, 1}, {1976, 1}, {1977, 1},
       {1978, 1}, {1979, 1}, {1980, 1}, {1981, 7}, {1982, 7}, {1983, 7}, {1985, 7},
       {1988, 1}, {1990, 1}, {1991, 1}, {1992, 7}, {1993, 7}, {1994, 7}, {1996, 1},
       {1997, 7}, {1999, 1}, {2006, 1}, {2009, 1}, {2012, 7}, {2015, 7}, {2017, 1}}};
  LeapSecondTable table;
  int offset = 10;
  for (const auto& [year, month] : rows) {
    table.entries.push_back({day_of(year, static_cast<unsigned>(month), 1), offset++});
  }
  table.expiry_utc_day = day_of(2026, 6, 28);
  return table;
}

}  // namespace

const LeapSecondTable& published_leap_seconds() {
  static const LeapSecondTable table = make_published();
  return table;
}

std::expected<LeapSecondTable, std::string> parse_leap_seconds(std::string_view text) {
  constexpr std::int64_t ntp_to_1958_days = 21'184;  // 1900-01-01 to 1958-01-01
  LeapSecondTable table;
  bool has_expiry = false;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    std::string_view line = text.substr(0, end);
    text.remove_prefix(std::min(end + 1, text.size()));
    const bool expiry = line.starts_with("#@");
    if (line.starts_with("#") && !expiry) continue;
    if (expiry) line.remove_prefix(2);
    const auto next = [&line]() -> std::optional<std::int64_t> {
      while (!line.empty() && (line.front() == ' ' || line.front() == '\t' || line.front() == '\r')) {
        line.remove_prefix(1);
      }
      std::int64_t value = 0;
      const auto [at, error] = std::from_chars(line.data(), line.data() + line.size(), value);
      if (error != std::errc{}) return std::nullopt;
      line.remove_prefix(static_cast<std::size_t>(at - line.data()));
      return value;
    };
    const std::optional<std::int64_t> ntp = next();
    if (!ntp) {
      if (line.find_first_not_of(" \t\r") == std::string_view::npos) continue;
      return std::unexpected("a line is neither a comment nor two numbers: " +
                             std::string(line.substr(0, 40)));
    }
    if (*ntp % day_seconds != 0 || *ntp < 0) {
      return std::unexpected("an entry does not begin at midnight: " + std::to_string(*ntp));
    }
    const std::int64_t day = *ntp / day_seconds - ntp_to_1958_days;
    if (expiry) {
      table.expiry_utc_day = day;
      has_expiry = true;
      continue;
    }
    const std::optional<std::int64_t> offset = next();
    if (!offset || *offset < 10 || *offset > 1000) {
      return std::unexpected("an entry has no plausible offset after " + std::to_string(*ntp));
    }
    if (!table.entries.empty() && table.entries.back().utc_day >= day) {
      return std::unexpected("the entries do not rise in time at " + std::to_string(*ntp));
    }
    table.entries.push_back({day, static_cast<int>(*offset)});
  }
  if (table.entries.empty()) return std::unexpected("there is no entry in the table");
  if (table.entries.front().utc_day != day_of(1972, 1, 1)) {
    return std::unexpected("the first entry is not 1972-01-01");
  }
  if (!has_expiry)
    return std::unexpected("the table does not say when it expires (a line beginning with #@)");
  return table;
}

bool is_after_expiry(Instant instant, const LeapSecondTable& table) {
  return to_utc_day_time(instant, table).day >= table.expiry_utc_day;
}

std::expected<Instant, UtcError> parse_utc(std::string_view text, const LeapSecondTable& table) {
  const auto malformed = std::unexpected(UtcError::Malformed);
  if (text.size() < 18 || text.back() != 'Z') return malformed;
  text.remove_suffix(1);
  const std::size_t split = text.find('T');
  if (split != 10 && split != 8) return malformed;
  const std::string_view date = text.substr(0, split);
  const std::string_view time = text.substr(split + 1);
  const auto year = digits(date.substr(0, 4));
  if (!year || date[4] != '-') return malformed;
  std::int64_t day = 0;
  if (split == 10) {
    const auto month = digits(date.substr(5, 2));
    const auto day_of_month = digits(date.substr(8, 2));
    if (!month || !day_of_month || date[7] != '-') return malformed;
    if (*month < 1 || *month > 12 || *day_of_month < 1 || *day_of_month > days_in_month(*year, *month)) {
      return std::unexpected(UtcError::NoSuchDate);
    }
    day = day_of(*year, *month, *day_of_month);
  } else {
    const auto day_of_year = digits(date.substr(5, 3));
    if (!day_of_year) return malformed;
    if (*day_of_year < 1 || *day_of_year > (is_leap_year(*year) ? 366U : 365U)) {
      return std::unexpected(UtcError::NoSuchDate);
    }
    day = day_of(*year, 1, 1) + *day_of_year - 1;
  }
  if (time.size() < 8 || time[2] != ':' || time[5] != ':') return malformed;
  const auto hour = digits(time.substr(0, 2));
  const auto minute = digits(time.substr(3, 2));
  const auto whole = digits(time.substr(6, 2));
  if (!hour || !minute || !whole) return malformed;
  std::int64_t fraction = 0;
  if (time.size() > 8) {
    const std::string_view decimals = time.substr(9);
    if (time[8] != '.' || decimals.empty()) return malformed;
    if (decimals.find_first_not_of("0123456789") != std::string_view::npos) return malformed;
    if (decimals.size() > 9) return std::unexpected(UtcError::TooManyDigits);
    std::string nine(decimals);
    nine.resize(9, '0');
    fraction = static_cast<std::int64_t>(*digits(nine));
  }
  if (day < table.entries.front().utc_day) return std::unexpected(UtcError::BeforeTable);
  if (*hour > 23 || *minute > 59 || *whole > 60) return std::unexpected(UtcError::NoSuchTime);
  const std::int64_t of_day = *hour * std::int64_t{3600} + *minute * std::int64_t{60} + *whole;
  if (*whole == 60 && (*hour != 23 || *minute != 59 || of_day >= length_of_day(table, day))) {
    return std::unexpected(UtcError::NoLeapSecond);
  }
  return from_utc_day_time({day, of_day * second + fraction}, table);
}

std::expected<Instant, UtcError> from_utc_day_time(UtcDayTime time, const LeapSecondTable& table) {
  if (time.day < table.entries.front().utc_day) return std::unexpected(UtcError::BeforeTable);
  if (time.day > 105'000) return std::unexpected(UtcError::AfterRange);  // in the year 2245
  if (time.nanoseconds_of_day < 0 || time.nanoseconds_of_day >= length_of_day(table, time.day) * second) {
    return std::unexpected(UtcError::NoSuchTime);
  }
  return Instant{day_begin(table, time.day) * second + time.nanoseconds_of_day};
}

UtcDayTime to_utc_day_time(Instant instant, const LeapSecondTable& table) {
  // The last day that has begun by now; the offset is far below a day, so at most one step back is needed.
  const std::int64_t nanoseconds_of_one_day = day_seconds * second;
  std::int64_t day = instant.tai_nanoseconds / nanoseconds_of_one_day;
  if (instant.tai_nanoseconds % nanoseconds_of_one_day < 0) --day;
  while (day_begin(table, day) >
         instant.tai_nanoseconds / second - (instant.tai_nanoseconds % second < 0 ? 1 : 0)) {
    --day;
  }
  return {day, instant.tai_nanoseconds - day_begin(table, day) * second};
}

std::string format_utc(Instant instant, const LeapSecondTable& table, int fraction_digits) {
  const UtcDayTime time = to_utc_day_time(instant, table);
  const Date date = date_of(time.day);
  const auto whole = static_cast<std::uint64_t>(time.nanoseconds_of_day / second);
  const auto nanoseconds = static_cast<std::uint64_t>(time.nanoseconds_of_day % second);
  const std::uint64_t in_minutes = std::min<std::uint64_t>(whole, 86'399);  // a leap second is 23:59:60
  std::string out = padded(static_cast<std::uint64_t>(date.year), 4) + "-" + padded(date.month, 2) + "-" +
                    padded(date.day, 2) + "T" + padded(in_minutes / 3600, 2) + ":" +
                    padded(in_minutes / 60 % 60, 2) + ":" + padded(in_minutes % 60 + (whole - in_minutes), 2);
  if (fraction_digits > 0) {
    out += "." + padded(nanoseconds, 9).substr(0, static_cast<std::size_t>(std::min(fraction_digits, 9)));
  }
  return out + "Z";
}

std::string format_utc_exact(Instant instant, const LeapSecondTable& table) {
  auto nanoseconds = to_utc_day_time(instant, table).nanoseconds_of_day % second;
  int needed = nanoseconds == 0 ? 0 : 9;
  for (; needed > 0 && nanoseconds % 10 == 0; nanoseconds /= 10) --needed;
  return format_utc(instant, table, needed);
}

}  // namespace cairn
