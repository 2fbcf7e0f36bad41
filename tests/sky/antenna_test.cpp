// The Moon over an antenna on the Earth, against values of other people's libraries (check-values of the
// project: astronomy-engine 2.1.19, PyEphem 4.1.4, astropy 5.2.1), and passes against a plain walk.

#include "constraints/sky/antenna.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <random>

namespace cairn {
namespace {

constexpr double degree = std::numbers::pi / 180;

Instant utc(const char* text) { return *parse_utc(text, published_leap_seconds()); }

// 40 degrees north, 4 degrees west, 700 m.
AntennaPlace dish(double mask) { return {40 * degree, -4 * degree, 700, {{0, mask * degree}}, false}; }

Site tarn_ridge() {
  Site site;
  site.latitude = -20 * degree;
  site.longitude = 30 * degree;
  return site;
}

// The Moon's centre above 10 degrees, no refraction. Both libraries agree to 0.1 s; five seconds are asked
// for.
TEST(Antenna, RisesAndSetsAsPublished) {
  const std::vector<Pass> found = passes(dish(10), tarn_ridge(), utc("2031-01-14T06:00:00Z"),
                                         utc("2031-01-16T06:00:00Z"), published_leap_seconds());
  ASSERT_EQ(found.size(), 3U);
  EXPECT_EQ(found[0].begin, utc("2031-01-14T06:00:00Z")) << "under way";
  const auto off = [](Instant time, const char* published) { return (time - utc(published)).seconds(); };
  EXPECT_NEAR(off(found[0].end, "2031-01-14T09:16:03.3Z"), 0, 5);
  EXPECT_NEAR(off(found[1].begin, "2031-01-15T00:13:58.5Z"), 0, 5);
  EXPECT_NEAR(off(found[1].end, "2031-01-15T09:44:10.6Z"), 0, 5);
  EXPECT_NEAR(off(found[2].begin, "2031-01-16T01:20:58.0Z"), 0, 5);
  EXPECT_EQ(found[2].end, utc("2031-01-16T06:00:00Z")) << "still under way";
  if (std::getenv("CAIRN_TELL") != nullptr) {
    std::printf("off by %.2f %.2f %.2f %.2f s\n", off(found[0].end, "2031-01-14T09:16:03.3Z"),
                off(found[1].begin, "2031-01-15T00:13:58.5Z"), off(found[1].end, "2031-01-15T09:44:10.6Z"),
                off(found[2].begin, "2031-01-16T01:20:58.0Z"));
  }
}

TEST(Antenna, ElevationsAndAzimuthsAsPublished) {
  const struct {
    const char* time;
    double elevation;
    double azimuth;
  } rows[] = {{"2031-01-14T18:00:00Z", -51.614, 31.966},
              {"2031-01-15T00:00:00Z", 7.545, 105.788},
              {"2031-01-15T20:00:00Z", -46.292, 58.157},
              {"2031-01-16T20:00:00Z", -56.857, 47.549}};
  for (const auto& row : rows) {
    const SkyPoint seen = seen_from(dish(10), Body::Moon, utc(row.time), published_leap_seconds());
    EXPECT_NEAR(seen.elevation / degree, row.elevation, 0.005) << row.time;
    EXPECT_NEAR(seen.azimuth / degree, row.azimuth, 0.01) << row.time;
  }
}

// Meeus, Astronomical Algorithms, 2nd edition, example 16.a (from memory): a true altitude of 33.246' is
// lifted by 24.618'. And near the horizon by about half a degree.
TEST(Antenna, RefractionAsInTheBook) {
  EXPECT_NEAR(refraction(33.246 / 60 * degree) / degree * 60, 24.618, 0.01);
  EXPECT_NEAR(refraction(10 * degree) / degree * 60, 5.4, 0.1);
  EXPECT_NEAR(refraction(90 * degree) / degree * 60, 0, 0.01);
  EXPECT_EQ(refraction(-5 * degree), 0);
}

TEST(Antenna, RefractionLengthensAPass) {
  AntennaPlace lifted = dish(10);
  lifted.refraction = true;
  const Instant begin = utc("2031-01-14T18:00:00Z");
  const Instant end = utc("2031-01-15T18:00:00Z");
  const auto plain = passes(dish(10), tarn_ridge(), begin, end, published_leap_seconds());
  const auto longer = passes(lifted, tarn_ridge(), begin, end, published_leap_seconds());
  ASSERT_EQ(plain.size(), 1U);
  ASSERT_EQ(longer.size(), 1U);
  EXPECT_NEAR((plain[0].begin - longer[0].begin).seconds(), 30, 5);
  EXPECT_NEAR((longer[0].end - plain[0].end).seconds(), 30, 5);
}

// The Earth's horizon at the station counts as well: behind the limb there is no pass.
TEST(Antenna, TheStationMustSeeTheEarth) {
  Site far_side = tarn_ridge();
  far_side.longitude = 150 * degree;
  EXPECT_TRUE(passes(dish(10), far_side, utc("2031-01-10T00:00:00Z"), utc("2031-01-13T00:00:00Z"),
                     published_leap_seconds())
                  .empty());
}

// A second way: every twenty seconds the mask is asked. Masks close to the culmination make passes of
// minutes.
TEST(Antenna, PassesAgreeWithAPlainWalk) {
  std::mt19937 random(17);
  std::size_t count = 0;
  double shortest = 1e9;
  for (int round = 0; round < 12; ++round) {
    AntennaPlace antenna = dish(10);
    antenna.latitude = std::uniform_real_distribution<double>(-80, 80)(random) * degree;
    antenna.longitude = std::uniform_real_distribution<double>(-180, 180)(random) * degree;
    const Instant begin =
        utc("2031-03-01T00:00:00Z") + seconds_to_duration(static_cast<std::int64_t>(random() % 20'000'000));
    const Instant end = begin + seconds_to_duration(86'400);
    double highest = -2;
    for (Instant time = begin; time < end; time = time + seconds_to_duration(300)) {
      highest = std::max(highest, seen_from(antenna, Body::Moon, time, published_leap_seconds()).elevation);
    }
    // Every other round nearly as high as it comes.
    const double mask = round % 2 == 0 ? highest - 0.02 * degree
                                       : std::uniform_real_distribution<double>(-10, 30)(random) * degree;
    antenna.mask = {{0, mask}};
    const auto found = passes(antenna, tarn_ridge(), begin, end, published_leap_seconds());
    count += found.size();
    for (const Pass& pass : found) {
      shortest = std::min(shortest, (pass.end - pass.begin).seconds());
      ASSERT_LT(pass.begin, pass.end);
    }
    for (Instant time = begin; time < end; time = time + seconds_to_duration(20)) {
      bool inside = false;
      bool near = false;
      for (const Pass& pass : found) {
        inside |= pass.begin <= time && time <= pass.end;
        near |=
            std::abs((time - pass.begin).seconds()) < 0.01 || std::abs((time - pass.end).seconds()) < 0.01;
      }
      const double above = seen_from(antenna, Body::Moon, time, published_leap_seconds()).elevation - mask;
      ASSERT_TRUE(near || inside == (above > 0)) << "round " << round << " " << above / degree;
    }
  }
  EXPECT_GT(count, 8U);
  EXPECT_LT(shortest, 3600);
}

}  // namespace
}  // namespace cairn
