// Time held against the published table of leap seconds and worked values.

#include <gtest/gtest.h>

#include <fstream>
#include <random>
#include <sstream>

#include "constraints/quantity/leap_seconds.h"

namespace cairn {
namespace {

const LeapSecondTable& table() { return published_leap_seconds(); }

Instant utc(std::string_view text) {
  const auto parsed = parse_utc(text, table());
  EXPECT_TRUE(parsed.has_value()) << text;
  return parsed.value_or(Instant{});
}

// CCSDS 301.0-B-4 epoch 1958-01-01 TAI; seconds from the IERS table, checked with ERFA 2.0.0 (published check
// values of the project's reference).
TEST(Time, WorkedValuesOfAtomicSeconds) {
  EXPECT_EQ(utc("1972-01-01T00:00:00Z").tai_nanoseconds, 441'763'210 * nanoseconds_per_second);
  EXPECT_EQ(utc("1988-01-18T17:20:43.123456Z").tai_nanoseconds, 948'216'067'123'456'000);
  EXPECT_EQ(utc("1988-018T17:20:43.123456Z").tai_nanoseconds, 948'216'067'123'456'000);
  EXPECT_EQ(utc("2000-01-01T12:00:00Z").tai_nanoseconds, 1'325'419'232 * nanoseconds_per_second);
  EXPECT_EQ(utc("2016-12-31T23:59:60.5Z").tai_nanoseconds, 1'861'920'036'500'000'000);
  EXPECT_EQ(utc("2017-01-01T00:00:00Z").tai_nanoseconds, 1'861'920'037 * nanoseconds_per_second);
  EXPECT_EQ(utc("2031-01-15T12:00:00Z").tai_nanoseconds, 2'304'936'037 * nanoseconds_per_second);
}

TEST(Time, ArithmeticIsExactAcrossALeapSecond) {
  Instant time = utc("2016-12-31T23:59:59Z");
  time = time + seconds_to_duration(1);
  EXPECT_EQ(format_utc(time, table()), "2016-12-31T23:59:60Z");
  time = time + seconds_to_duration(1);
  EXPECT_EQ(format_utc(time, table()), "2017-01-01T00:00:00Z");
  EXPECT_EQ((utc("2017-01-01T00:00:00Z") - utc("2016-12-31T00:00:00Z")).nanoseconds,
            86'401 * nanoseconds_per_second);
}

TEST(Time, RefusesWhatNeverExisted) {
  const auto error = [](std::string_view text) { return parse_utc(text, table()).error(); };
  EXPECT_EQ(error("2031-02-30T00:00:00Z"), UtcError::NoSuchDate);
  EXPECT_EQ(error("2031-366T00:00:00Z"), UtcError::NoSuchDate);
  EXPECT_EQ(error("2031-05-14T24:00:00Z"), UtcError::NoSuchTime);
  EXPECT_EQ(error("2031-05-14T23:59:60Z"), UtcError::NoLeapSecond);
  EXPECT_EQ(error("2016-12-31T22:59:60Z"), UtcError::NoLeapSecond);
  EXPECT_EQ(error("1971-12-31T00:00:00Z"), UtcError::BeforeTable);
  EXPECT_EQ(error("2031-05-14 06:00:00Z"), UtcError::Malformed);
  EXPECT_EQ(error("2031-05-14T06:00:00"), UtcError::Malformed);
  EXPECT_EQ(error("2031-05-14T06:00:00.0123456789Z"), UtcError::TooManyDigits);
}

TEST(Time, AfterTheTablesExpiryTheLastOffsetGoesOn) {
  EXPECT_TRUE(is_after_expiry(utc("2031-05-14T06:00:00Z"), table()));
  EXPECT_TRUE(is_after_expiry(utc("2026-06-28T00:00:00Z"), table()));
  EXPECT_FALSE(is_after_expiry(utc("2026-06-27T23:59:59Z"), table()));
}

// The table that tzdata ships is the published one (IERS); the carried copy must say the same.
TEST(Time, CarriedTableAgreesWithTheSystemsCopy) {
  std::ifstream file("/usr/share/zoneinfo/leap-seconds.list");
  if (!file) GTEST_SKIP() << "this system ships no leap-seconds.list";
  std::stringstream text;
  text << file.rdbuf();
  const auto system = parse_leap_seconds(text.str());
  ASSERT_TRUE(system.has_value()) << system.error();
  ASSERT_GE(system->entries.size(), table().entries.size());
  for (std::size_t i = 0; i < table().entries.size(); ++i) {
    EXPECT_EQ(system->entries[i].utc_day, table().entries[i].utc_day);
    EXPECT_EQ(system->entries[i].tai_minus_utc, table().entries[i].tai_minus_utc);
  }
}

TEST(Time, WritingAndReadingIsTheIdentity) {
  std::mt19937_64 random(7);
  std::uniform_int_distribution<std::int64_t> pick(utc("1972-01-01T00:00:00Z").tai_nanoseconds,
                                                   utc("2200-01-01T00:00:00Z").tai_nanoseconds);
  for (int i = 0; i < 20'000; ++i) {
    const Instant time{pick(random)};
    EXPECT_EQ(utc(format_utc_exact(time, table())), time);
    const auto back = from_utc_day_time(to_utc_day_time(time, table()), table());
    ASSERT_TRUE(back.has_value());
    EXPECT_EQ(*back, time);
  }
}

TEST(Duration, DecimalsAreExactOrRefused) {
  constexpr std::int64_t hour = 3600 * nanoseconds_per_second;
  EXPECT_EQ(exact_duration("1.5", hour)->nanoseconds, 5400 * nanoseconds_per_second);
  EXPECT_EQ(exact_duration("-0.25", hour)->nanoseconds, -900 * nanoseconds_per_second);
  EXPECT_EQ(exact_duration("1e3", nanoseconds_per_second)->nanoseconds, 1000 * nanoseconds_per_second);
  EXPECT_FALSE(exact_duration("0.1", 1));
  EXPECT_FALSE(exact_duration("1e40", hour));
  EXPECT_FALSE(exact_duration("1.", hour));
  EXPECT_FALSE(exact_duration("", hour));
  EXPECT_EQ(to_text({90 * nanoseconds_per_second}), "1 min 30 s");
  EXPECT_EQ(to_text({-1'500'000'000}), "-1.5 s");
}

}  // namespace
}  // namespace cairn
