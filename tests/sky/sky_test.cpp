// Sun and Earth at a lunar site against independent astronomy libraries.
//
// Reference values: site latitude -20 deg, longitude +30 deg, sphere of 1737.4 km, flat horizon, geometric
// directions, 37 leap seconds; computed with pyerfa 2.0.0.1 and, independently of ERFA, with astronomy-engine
// 2.1.19 (its delta T set to 69.184 s), which agree with each other within 0.0002 deg in elevation.

#include "constraints/sky/sky.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

namespace cairn {
namespace {

constexpr double degree = std::numbers::pi / 180;

Instant utc(std::string_view text) { return parse_utc(text, published_leap_seconds()).value_or(Instant{}); }

Site site() {
  Site result;
  result.latitude = -20 * degree;
  result.longitude = 30 * degree;
  return result;
}

struct Row {
  const char* time;
  double sun_elevation, sun_azimuth, earth_elevation, earth_azimuth, earth_km;
};

TEST(Sky, DirectionsAgreeWithIndependentLibraries) {
  const auto sky = model_sky(site());
  for (const Row& row : {Row{"2031-01-15T00:00:00Z", -17.1103, 264.8795, 45.4575, 301.7280, 383928.7},
                         Row{"2031-01-15T12:00:00Z", -22.7871, 262.5795, 45.7042, 301.2389, 381584.0},
                         Row{"2031-06-21T12:00:00Z", -38.6387, 108.1460, 50.3923, 306.3488, 405108.5}}) {
    const Instant time = utc(row.time);
    EXPECT_NEAR(sky->sun(time).elevation / degree, row.sun_elevation, 0.01) << row.time;
    EXPECT_NEAR(sky->sun(time).azimuth / degree, row.sun_azimuth, 0.01) << row.time;
    EXPECT_NEAR(sky->earth(time).elevation / degree, row.earth_elevation, 0.01) << row.time;
    EXPECT_NEAR(sky->earth(time).azimuth / degree, row.earth_azimuth, 0.01) << row.time;
    EXPECT_NEAR(sky->earth(time).distance / 1000, row.earth_km, 15) << row.time;
  }
}

TEST(Sky, SunriseAndSunsetOverALunation) {
  const auto sky = sampled_sky(site(), utc("2031-01-10T00:00:00Z"), utc("2031-02-15T00:00:00Z"));
  const auto found =
      crossings(*sky, SkyQuantity::SunElevation, 0, utc("2031-01-10T00:00:00Z"), utc("2031-02-15T00:00:00Z"));
  ASSERT_EQ(found.size(), 3U);
  const struct {
    const char* time;
    bool rises;
  } expected[] = {
      {"2031-01-13T11:59:33Z", false}, {"2031-01-28T08:37:18Z", true}, {"2031-02-12T02:12:56Z", false}};
  for (std::size_t i = 0; i < 3; ++i) {
    EXPECT_EQ(found[i].rises, expected[i].rises);
    EXPECT_LT(std::abs((found[i].time - utc(expected[i].time)).seconds()), 60) << expected[i].time;
  }
}

// Irradiance at the Moon for 1361 W/m2 at one astronomical unit, computed with pyerfa 2.0.0.1.
TEST(Sky, IrradianceThroughTheYear) {
  const auto sky = model_sky(site());
  EXPECT_NEAR(sky->solar_flux(utc("2031-01-15T00:00:00Z")), 1404.42, 0.3);
  EXPECT_NEAR(sky->solar_flux(utc("2031-06-21T12:00:00Z")), 1324.52, 0.3);
}

TEST(Sky, SampledEqualsDirect) {
  const Instant begin = utc("2031-05-01T00:00:00Z");
  const Instant end = utc("2031-06-01T00:00:00Z");
  const auto direct = model_sky(site());
  const auto sampled = sampled_sky(site(), begin, end);
  for (Instant time = begin; time < end; time = time + seconds_to_duration(4973)) {
    EXPECT_NEAR(sampled->sun(time).elevation, direct->sun(time).elevation, 1e-5 * degree);
    EXPECT_NEAR(sampled->earth(time).elevation, direct->earth(time).elevation, 1e-5 * degree);
    const double turn = sampled->sun(time).azimuth - direct->sun(time).azimuth;
    EXPECT_NEAR(std::remainder(turn, 2 * std::numbers::pi), 0, 1e-5 * degree);
  }
}

// Whatever the value sought: crossings rise in time, take turns up and down, and the quantity changes side at
// each within its millisecond; with no crossing, the value lies outside the range of the interval.
TEST(Sky, CrossingsChangeSideAndTakeTurns) {
  const Instant begin = utc("2031-03-01T00:00:00Z");
  const Instant end = utc("2031-05-01T00:00:00Z");
  const auto sky = sampled_sky(site(), begin, end);
  const Range range = range_of(*sky, SkyQuantity::SunElevation, begin, end);
  for (int elevation = -80; elevation <= 80; elevation += 8) {
    const double value = elevation * degree;
    const auto found = crossings(*sky, SkyQuantity::SunElevation, value, begin, end);
    EXPECT_EQ(found.empty(), value < range.low || value > range.high) << elevation;
    for (std::size_t i = 0; i < found.size(); ++i) {
      const Duration tick{1'000'000};
      EXPECT_EQ(sky->sun(found[i].time - tick).elevation < value, found[i].rises) << elevation;
      EXPECT_EQ(sky->sun(found[i].time + tick).elevation > value, found[i].rises) << elevation;
      if (i == 0) continue;
      EXPECT_LT(found[i - 1].time, found[i].time);
      EXPECT_NE(found[i - 1].rises, found[i].rises);
    }
  }
}

// A Sun that swings once in two hours, so that near its turning points it crosses a value twice within
// minutes.
class SwingingSky final : public Sky {
 public:
  [[nodiscard]] SkyPoint sun(Instant time) const override {
    const double hours = static_cast<double>(time.tai_nanoseconds) / 3.6e12;
    return {0.3 * std::sin(std::numbers::pi * hours), 1, astronomical_unit};
  }
  [[nodiscard]] SkyPoint earth(Instant) const override { return {0.5, 0, 384.4e6}; }
  [[nodiscard]] double solar_flux(Instant) const override { return solar_irradiance_1au; }
};

TEST(Sky, PairsOfCrossingsNearATurningPointAreFound) {
  const SwingingSky sky;
  for (int minutes = 0; minutes < 30; minutes += 7) {  // wherever the samples fall
    const Instant begin = Instant{} + seconds_to_duration(60 * minutes);
    const Instant end = begin + seconds_to_duration(8 * 3600);
    for (const double value : {0.2999, 0.295, 0.27, 0.1, -0.2, -0.2999}) {
      const auto found = crossings(sky, SkyQuantity::SunElevation, value, begin, end);
      ASSERT_EQ(found.size(), 8U) << value << " from minute " << minutes;
      for (std::size_t i = 0; i < found.size(); ++i) {
        EXPECT_NEAR(sky.sun(found[i].time).elevation, value, 1e-6);
        if (i > 0) {
          EXPECT_NE(found[i - 1].rises, found[i].rises);
          EXPECT_LT(found[i - 1].time, found[i].time);
        }
      }
    }
    EXPECT_TRUE(crossings(sky, SkyQuantity::SunElevation, 0.3001, begin, end).empty());
  }
}

// Light time between centres at 384 400 km is 1.282220 s; at the site it is less by at most the Moon's
// radius.
TEST(Sky, LightTimeLiesWithinTheYearsExtremes) {
  const auto sky = model_sky(site());
  for (int day = 0; day < 360; day += 3) {
    const double seconds =
        one_way_light_time(*sky, utc("2031-01-01T00:00:00Z") + seconds_to_duration(86'400LL * day));
    EXPECT_GT(seconds, 1.190825 - 1737.4 / 299792.458);
    EXPECT_LT(seconds, 1.356018);
  }
}

TEST(Sky, HorizonMaskIsLinearAndWraps) {
  Site masked = site();
  masked.horizon = {{0, 1 * degree}, {90 * degree, 3 * degree}, {270 * degree, 1 * degree}};
  EXPECT_NEAR(horizon_elevation(masked, 45 * degree), 2 * degree, 1e-12);
  EXPECT_NEAR(horizon_elevation(masked, 180 * degree), 2 * degree, 1e-12);
  EXPECT_NEAR(horizon_elevation(masked, 315 * degree), 1 * degree, 1e-12);
}

}  // namespace
}  // namespace cairn
