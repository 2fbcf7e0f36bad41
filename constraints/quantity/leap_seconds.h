// Leap seconds: between atomic time and UTC.
//
// The table is the one the IERS publishes (Bulletin C). Cairn carries a copy, so that the same load gives the
// same bytes on every machine; a newer table can be given as text in the published leap-seconds.list form.
// For instants after the table's own expiry the last offset is used on, and `is_after_expiry` says so, so
// that the compiler can tell the user that the answer assumes no further leap second.

#pragma once

#include <cstdint>
#include <expected>
#include <string>
#include <string_view>
#include <vector>

#include "constraints/quantity/instant.h"

namespace cairn {

struct LeapSecondEntry {
  std::int64_t utc_day = 0;  // days since 1958-01-01 (UTC calendar) on which this offset begins at 0h UTC
  int tai_minus_utc = 0;     // seconds
};

struct LeapSecondTable {
  std::vector<LeapSecondEntry> entries;  // rising by day; the first is 1972-01-01
  std::int64_t expiry_utc_day = 0;       // first day that the table does not vouch for
};

// The copy that Cairn carries: complete up to the leap second of 2016-12-31, expires 2026-06-28.
const LeapSecondTable& published_leap_seconds();

// Reads the text of a leap-seconds.list file (IERS / NIST form, NTP seconds). The error is one sentence.
std::expected<LeapSecondTable, std::string> parse_leap_seconds(std::string_view text);

bool is_after_expiry(Instant instant, const LeapSecondTable& table);

// Why a text is no instant. Each has a sentence of its own in the compiler's catalogue.
enum class UtcError : std::uint8_t {
  Malformed,      // not YYYY-MM-DDThh:mm:ss[.d...]Z nor YYYY-DDDThh:mm:ss[.d...]Z
  NoSuchDate,     // 2031-02-30, 2031-366
  NoSuchTime,     // 24:00:00, 12:60:00
  NoLeapSecond,   // 23:59:60 on a day that has none
  BeforeTable,    // before 1972-01-01, where UTC has no whole-second rule
  AfterRange,     // beyond what an instant can hold
  TooManyDigits,  // more than nine fractional digits
};

// Reads ASCII time code A (calendar) or B (ordinal) of CCSDS 301.0-B; the Z is required.
std::expected<Instant, UtcError> parse_utc(std::string_view text, const LeapSecondTable& table);

// Writes time code A; `fraction_digits` 0 to 9, truncated towards the past. "2031-05-14T06:00:00Z"
std::string format_utc(Instant instant, const LeapSecondTable& table, int fraction_digits = 0);
// The same with as many fraction digits as are needed to be exact, none when whole.
std::string format_utc_exact(Instant instant, const LeapSecondTable& table);

// UTC as day and time within the day, for time codes: `nanoseconds_of_day` reaches 86 400 999 999 999 in a
// leap second (CCSDS 301.0-B annex A).
struct UtcDayTime {
  std::int64_t day = 0;  // since 1958-01-01
  std::int64_t nanoseconds_of_day = 0;
};
UtcDayTime to_utc_day_time(Instant instant, const LeapSecondTable& table);
std::expected<Instant, UtcError> from_utc_day_time(UtcDayTime time, const LeapSecondTable& table);

}  // namespace cairn
