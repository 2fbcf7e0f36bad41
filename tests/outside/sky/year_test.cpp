// The whole of 2031 against astronomy-engine 2.1.19, every 12 hours (sky_2031.csv, made by generate.mjs).
//
// An independent library with models of its own: neither its Earth nor its Moon shares a coefficient file
// with ERFA, so a slip in time scales, signs or frames on either side shows as degrees. The largest
// differences found stand in docs/checks-outside.md, and the last test holds that page to them.

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <numbers>
#include <sstream>
#include <string>
#include <vector>

#include "constraints/sky/sky.h"
#include "tests/place.h"

namespace cairn {
namespace {

constexpr double degree = std::numbers::pi / 180;

struct Row {
  Instant time;
  double sun_elevation = 0;  // degrees, as the others below
  double sun_azimuth = 0;
  double earth_elevation = 0;
  double earth_azimuth = 0;
  double earth_km = 0;
};

std::vector<Row> rows() {
  std::ifstream file(std::string(cairn::test::source_folder()) + "/tests/outside/sky/sky_2031.csv");
  std::vector<Row> result;
  std::string line;
  std::getline(file, line);  // the heading
  while (std::getline(file, line)) {
    std::replace(line.begin(), line.end(), ',', ' ');
    std::istringstream fields(line);
    std::string time;
    Row row;
    fields >> time >> row.sun_elevation >> row.sun_azimuth >> row.earth_elevation >> row.earth_azimuth >>
        row.earth_km;
    const auto instant = parse_utc(time, published_leap_seconds());
    if (!fields || !instant) {
      ADD_FAILURE() << "unreadable line: " << line;
      continue;
    }
    row.time = *instant;
    result.push_back(row);
  }
  return result;
}

Site site() {
  Site result;
  result.latitude = -20 * degree;
  result.longitude = 30 * degree;
  return result;
}

// Azimuths differ by at most half a turn; near the zenith they mean little, so the arc they span there
// counts.
double arc_between(double azimuth, double other, double elevation) {
  return std::abs(std::remainder(azimuth - other, 360.0)) * std::cos(elevation * degree);
}

struct Differences {
  double sun_elevation = 0, sun_azimuth = 0, earth_elevation = 0, earth_azimuth = 0, earth_km = 0;
};

Differences largest(const Sky& sky) {
  Differences found;
  for (const Row& row : rows()) {
    const SkyPoint sun = sky.sun(row.time);
    const SkyPoint earth = sky.earth(row.time);
    const auto keep = [](double& most, double value) { most = std::max(most, value); };
    keep(found.sun_elevation, std::abs(sun.elevation / degree - row.sun_elevation));
    keep(found.sun_azimuth, arc_between(sun.azimuth / degree, row.sun_azimuth, row.sun_elevation));
    keep(found.earth_elevation, std::abs(earth.elevation / degree - row.earth_elevation));
    keep(found.earth_azimuth, arc_between(earth.azimuth / degree, row.earth_azimuth, row.earth_elevation));
    keep(found.earth_km, std::abs(earth.distance / 1000 - row.earth_km));
  }
  return found;
}

// The number in the table row of the page that begins with `name`; negative when there is none.
double stated(const std::string& name) {
  std::ifstream file(std::string(cairn::test::source_folder()) + "/docs/checks-outside.md");
  for (std::string line; std::getline(file, line);) {
    if (!line.starts_with("| " + name + " |")) continue;
    return std::stod(line.substr(line.find('|', 2) + 1));
  }
  return -1;
}

TEST(SkyOverAYear, TheTableIsWhole) {
  const std::vector<Row> table = rows();
  ASSERT_EQ(table.size(), 731U);
  double low = 90;
  double high = -90;
  for (const Row& row : table) {
    low = std::min(low, row.sun_elevation);
    high = std::max(high, row.sun_elevation);
  }
  // Both the day and the night of every lunation are in it.
  EXPECT_LT(low, -65);
  EXPECT_GT(high, 65);
}

TEST(SkyOverAYear, DirectEvaluation) {
  const Differences found = largest(*model_sky(site()));
  EXPECT_LT(found.sun_elevation, 0.01);
  EXPECT_LT(found.sun_azimuth, 0.01);
  EXPECT_LT(found.earth_elevation, 0.01);
  EXPECT_LT(found.earth_azimuth, 0.01);
  EXPECT_LT(found.earth_km, 40);
}

TEST(SkyOverAYear, SampledAndInterpolated) {
  const std::vector<Row> table = rows();
  ASSERT_FALSE(table.empty());
  const Differences found = largest(*sampled_sky(site(), table.front().time, table.back().time));
  EXPECT_LT(found.sun_elevation, 0.01);
  EXPECT_LT(found.earth_elevation, 0.01);
}

TEST(SkyOverAYear, ThePageStatesWhatIsFound) {
  const Differences found = largest(*model_sky(site()));
  const struct {
    const char* name;
    double found;
    double last_digit;
  } lines[] = {{"Sun, elevation", found.sun_elevation, 1e-4},
               {"Sun, azimuth", found.sun_azimuth, 1e-4},
               {"Earth, elevation", found.earth_elevation, 1e-4},
               {"Earth, azimuth", found.earth_azimuth, 1e-4},
               {"Earth, distance", found.earth_km, 0.1}};
  for (const auto& line : lines) EXPECT_NEAR(stated(line.name), line.found, line.last_digit) << line.name;
}

}  // namespace
}  // namespace cairn
