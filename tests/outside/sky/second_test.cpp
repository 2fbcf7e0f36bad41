// The whole of 2031 once more: a site on Mars and the Moon over an antenna against astronomy-engine 2.1.19
// (mars_2031.csv, dish_2031.csv, made by generate.mjs); the site on the Moon and the antenna against
// PyEphem 4.1.4 and the libration of Meeus (second_2031.csv, second_dish_2031.csv, made by
// generate_second.py); the Sun over the site on Mars against the series of Allison and McEwen.
//
// The largest differences stand in docs/checks-outside.md, and each test holds that page to what it finds.

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <numbers>
#include <sstream>
#include <string>
#include <vector>

#include "constraints/sky/antenna.h"
#include "tests/place.h"

namespace cairn {
namespace {

constexpr double degree = std::numbers::pi / 180;

struct Row {
  Instant time;
  std::vector<double> values;
};

std::vector<Row> rows(const std::string& name) {
  std::ifstream file(std::string(cairn::test::source_folder()) + "/tests/outside/sky/" + name);
  std::vector<Row> result;
  std::string line;
  std::getline(file, line);  // the heading
  while (std::getline(file, line)) {
    std::replace(line.begin(), line.end(), ',', ' ');
    std::istringstream fields(line);
    std::string time;
    Row row;
    fields >> time;
    for (double value = 0; fields >> value;) row.values.push_back(value);
    const auto instant = parse_utc(time, published_leap_seconds());
    if (!instant) {
      ADD_FAILURE() << "unreadable line: " << line;
      continue;
    }
    row.time = *instant;
    result.push_back(row);
  }
  return result;
}

double arc_between(double azimuth, double other, double elevation) {
  return std::abs(std::remainder(azimuth - other, 360.0)) * std::cos(elevation * degree);
}

// The number in the table row of the page that begins with `name`; negative when there is none.
double stated(const std::string& name) {
  std::ifstream file(std::string(cairn::test::source_folder()) + "/docs/checks-outside.md");
  for (std::string line; std::getline(file, line);) {
    if (line.starts_with("| " + name + " |")) return std::stod(line.substr(line.find('|', 2) + 1));
  }
  return -1;
}

void expect(const std::string& name, double found, double allowed, double last_digit) {
  EXPECT_LE(found, allowed) << name;
  EXPECT_NEAR(stated(name), found, last_digit) << "docs/checks-outside.md: " << name;
}

// Elevations and azimuths of Sun and Earth, degrees; distance of the Earth, km.
void compare(const std::string& what, const Sky& sky, const std::vector<Row>& table, double allowed,
             double allowed_distance) {
  double most[5] = {};
  for (const Row& row : table) {
    ASSERT_EQ(row.values.size(), 5U);
    const SkyPoint sun = sky.sun(row.time);
    const SkyPoint earth = sky.earth(row.time);
    const double found[5] = {std::abs(sun.elevation / degree - row.values[0]),
                             arc_between(sun.azimuth / degree, row.values[1], row.values[0]),
                             std::abs(earth.elevation / degree - row.values[2]),
                             arc_between(earth.azimuth / degree, row.values[3], row.values[2]),
                             std::abs(earth.distance / 1000 - row.values[4])};
    for (int i = 0; i < 5; ++i) most[i] = std::max(most[i], found[i]);
  }
  expect(what + ": Sun, elevation", most[0], allowed, 1e-3);
  expect(what + ": Sun, azimuth", most[1], allowed, 1e-3);
  expect(what + ": Earth, elevation", most[2], allowed, 1e-3);
  expect(what + ": Earth, azimuth", most[3], allowed, 1e-3);
  expect(what + ": Earth, distance", most[4], allowed_distance, 0.001 * allowed_distance);
}

TEST(SecondSky, TheMoonByPyEphemAndMeeus) {
  const std::vector<Row> table = rows("second_2031.csv");
  ASSERT_EQ(table.size(), 731U);
  Site site;
  site.latitude = -20 * degree;
  site.longitude = 30 * degree;
  compare("PyEphem, Moon", *model_sky(site), table, 0.03, 40);
}

// Allison and McEwen, "A post-Pathfinder evaluation of areocentric solar coordinates with improved timing
// recipes for Mars seasonal/diurnal climate studies", Planetary and Space Science 48 (2000) 215-235, with the
// constants of NASA GISS's "Mars24 Algorithm and Worked Examples" (2018 and later), from memory. `days` are
// those of TT since J2000.
struct SunOverMars {
  double longitude_of_sun;  // areocentric, degrees
  double declination;       // planetocentric, degrees
  double west;              // longitude below the Sun, degrees
};

SunOverMars sun_over_mars(double days) {
  const auto sine = [](double degrees) { return std::sin(degrees * degree); };
  const double anomaly = 19.3871 + 0.52402073 * days;
  const double mean_sun = 270.3871 + 0.524038496 * days;
  constexpr double perturbations[7][3] = {{0.0071, 2.2353, 49.409},  {0.0057, 2.7543, 168.173},
                                          {0.0039, 1.1177, 191.837}, {0.0037, 15.7866, 21.736},
                                          {0.0021, 2.1354, 15.704},  {0.0020, 2.4694, 95.528},
                                          {0.0018, 32.8493, 49.095}};
  double centre = (10.691 + 3.0e-7 * days) * sine(anomaly) + 0.623 * sine(2 * anomaly) +
                  0.050 * sine(3 * anomaly) + 0.005 * sine(4 * anomaly) + 0.0005 * sine(5 * anomaly);
  for (const auto& [amount, period, phase] : perturbations) {
    centre += amount * std::cos((0.985626 * days / period + phase) * degree);
  }
  const double of_sun = mean_sun + centre;
  const double equation =
      2.861 * sine(2 * of_sun) - 0.071 * sine(4 * of_sun) + 0.002 * sine(6 * of_sun) - centre;
  const double sols = (days - 4.5) / 1.0274912517 + 44796.0 - 0.0009626;
  const double day = sols - std::floor(sols);
  return {of_sun, std::asin(0.42565 * sine(of_sun)) / degree, day * 360 + equation + 180};
}

// The worked example of 2000-01-06T00:00:00Z there: Ls 277.18758, declination -24.98 (planetocentric),
// subsolar longitude 174.72600 W.
TEST(SecondSky, TheSeriesGivesItsWorkedExample) {
  const SunOverMars sun = sun_over_mars(4.5 + 64.184 / 86400);
  EXPECT_NEAR(std::remainder(sun.longitude_of_sun - 277.18758, 360), 0, 2e-4);
  EXPECT_NEAR(std::remainder(sun.west - 174.72600, 360), 0, 2e-3);
}

// Its authors claim 0.008 degrees for the season and some seconds for the time of day.
TEST(SecondSky, MarsByAllisonAndMcEwen) {
  Site site;
  site.body = Body::Mars;
  site.latitude = 10 * degree;
  site.longitude = 50 * degree;
  const auto sky = model_sky(site);
  const Instant begin = *parse_utc("2031-01-01T00:00:00Z", published_leap_seconds());
  const Instant epoch = *parse_utc("2000-01-01T11:58:55.816Z", published_leap_seconds());  // 12:00 TT
  double most = 0;
  for (int hours = 0; hours < 365 * 24; hours += 5) {
    const Instant time = begin + seconds_to_duration(3600 * hours);
    const SunOverMars sun = sun_over_mars((time - epoch).seconds() / 86400);
    const double hour_angle = (50 + sun.west) * degree;
    const double declination = sun.declination * degree;
    const double height = std::asin(std::sin(site.latitude) * std::sin(declination) +
                                    std::cos(site.latitude) * std::cos(declination) * std::cos(hour_angle));
    most = std::max(most, std::abs(height - sky->sun(time).elevation) / degree);
  }
  expect("Mars by Allison and McEwen: Sun, elevation", most, 0.03, 1e-3);
}

TEST(SecondSky, MarsByAstronomyEngine) {
  const std::vector<Row> table = rows("mars_2031.csv");
  ASSERT_EQ(table.size(), 351U);
  Site site;
  site.body = Body::Mars;
  site.latitude = 10 * degree;
  site.longitude = 50 * degree;
  compare("Mars", *model_sky(site), table, 0.01, 10'000);
  // Sampled and interpolated it is the same.
  const auto direct = model_sky(site);
  const Instant begin = table[100].time;
  const auto sampled = sampled_sky(site, begin, begin + seconds_to_duration(86'400));
  for (int k = 0; k < 500; ++k) {
    const Instant time = begin + seconds_to_duration(171 * k);
    EXPECT_NEAR(sampled->sun(time).elevation, direct->sun(time).elevation, 1e-5 * degree);
    EXPECT_NEAR(sampled->earth(time).elevation, direct->earth(time).elevation, 1e-5 * degree);
  }
}

void compare_dish(const std::string& what, const std::string& file) {
  const std::vector<Row> table = rows(file);
  ASSERT_EQ(table.size(), 1252U);
  const AntennaPlace dish{40 * degree, -4 * degree, 700, {}, false};
  double elevation = 0;
  double azimuth = 0;
  for (const Row& row : table) {
    ASSERT_EQ(row.values.size(), 2U);
    const SkyPoint seen = seen_from(dish, Body::Moon, row.time, published_leap_seconds());
    elevation = std::max(elevation, std::abs(seen.elevation / degree - row.values[0]));
    azimuth = std::max(azimuth, arc_between(seen.azimuth / degree, row.values[1], row.values[0]));
  }
  expect(what + ": antenna, elevation", elevation, 0.01, 1e-4);
  expect(what + ": antenna, azimuth", azimuth, 0.01, 1e-4);
}

TEST(SecondSky, TheMoonOverAnAntennaByAstronomyEngine) { compare_dish("astronomy-engine", "dish_2031.csv"); }
TEST(SecondSky, TheMoonOverAnAntennaByPyEphem) { compare_dish("PyEphem", "second_dish_2031.csv"); }

}  // namespace
}  // namespace cairn
