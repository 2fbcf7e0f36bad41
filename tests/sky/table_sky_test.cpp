// The other sky: a table. Made from the models it gives their directions back; by hand it goes along great
// circles.

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "constraints/sky/sky.h"

namespace cairn {
namespace {

constexpr double degree = std::numbers::pi / 180;

Instant utc(const char* text) { return *parse_utc(text, published_leap_seconds()); }

TEST(TableSky, IsTheModelsWhereItIsMadeFromThem) {
  Site site;
  site.latitude = -20 * degree;
  site.longitude = 30 * degree;
  const auto model = model_sky(site);
  const Instant begin = utc("2031-01-10T00:00:00Z");
  const Instant end = utc("2031-02-10T00:00:00Z");
  for (Instant time = begin; time <= end; time = time + seconds_to_duration(3600)) {
    const SkyPoint sun = model->sun(time);
    const SkyPoint earth = model->earth(time);
    site.sky.push_back(
        {time, sun.elevation, sun.azimuth, sun.distance, earth.elevation, earth.azimuth, earth.distance});
  }
  const auto table = site_sky(site, begin, end);
  EXPECT_TRUE(sky_covers(site, begin, end));
  EXPECT_FALSE(sky_covers(site, begin, end + seconds_to_duration(1)));
  for (int k = 0; k < 5000; ++k) {
    const Instant time = begin + seconds_to_duration(521 * k);
    EXPECT_NEAR(table->sun(time).elevation, model->sun(time).elevation, 0.001 * degree);
    EXPECT_NEAR(std::remainder(table->sun(time).azimuth - model->sun(time).azimuth, 2 * std::numbers::pi) *
                    std::cos(model->sun(time).elevation),
                0, 0.001 * degree);
    EXPECT_NEAR(table->earth(time).elevation, model->earth(time).elevation, 0.001 * degree);
    EXPECT_NEAR(table->earth(time).distance, model->earth(time).distance, 2000);
    EXPECT_NEAR(table->solar_flux(time), model->solar_flux(time), 0.01);
  }
  // Sunsets are those of the models.
  const auto by_model = crossings(*model, SkyQuantity::SunElevation, 0, begin, end);
  const auto by_table = crossings(*table, SkyQuantity::SunElevation, 0, begin, end);
  ASSERT_EQ(by_model.size(), by_table.size());
  for (std::size_t i = 0; i < by_model.size(); ++i) {
    EXPECT_NEAR((by_model[i].time - by_table[i].time).seconds(), 0, 10);
  }
}

TEST(TableSky, GoesAlongGreatCircles) {
  const Instant begin{};
  const Instant end = begin + seconds_to_duration(100);
  const auto sky = table_sky({{begin, 80 * degree, 90 * degree, 1e11, 0, 350 * degree, 4e8},
                              {end, 80 * degree, 270 * degree, 2e11, 0, 10 * degree, 5e8}});
  const Instant middle = begin + seconds_to_duration(50);
  EXPECT_NEAR(sky->sun(middle).elevation, 90 * degree, 1e-9) << "over the zenith, not around it";
  EXPECT_NEAR(sky->sun(middle).distance, 1.5e11, 1);
  EXPECT_NEAR(sky->sun(begin + seconds_to_duration(25)).elevation, 85 * degree, 1e-9);
  EXPECT_NEAR(std::remainder(sky->earth(middle).azimuth, 2 * std::numbers::pi), 0, 1e-9) << "through north";
  EXPECT_NEAR(greatest_light_time(*sky, begin, end), 5e8 / 299792458.0, 0.03);
  EXPECT_NEAR(sky->sun(end + seconds_to_duration(9)).distance, 2e11, 1);
}

TEST(TableSky, LightTimeIsTheGreatestOfTheSpan) {
  Site site;
  site.body = Body::Mars;
  const auto sky = model_sky(site);
  // Farthest in the middle of the span.
  const Instant begin = utc("2030-03-01T00:00:00Z");
  const Instant end = utc("2030-10-01T00:00:00Z");
  double most = 0;
  for (Instant time = begin; time < end; time = time + seconds_to_duration(1800)) {
    most = std::max(most, one_way_light_time(*sky, time));
  }
  EXPECT_GT(most, one_way_light_time(*sky, begin) + 1);
  EXPECT_GT(most, one_way_light_time(*sky, end) + 1);
  EXPECT_GE(greatest_light_time(*sky, begin, end), most);
  EXPECT_LT(greatest_light_time(*sky, begin, end), most + 0.05);
}

}  // namespace
}  // namespace cairn
