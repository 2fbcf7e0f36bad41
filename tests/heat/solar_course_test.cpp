// Solar arrays: a still Sun by hand; the Moon's sky instant by instant as a second way; and bounds against
// samples.

#include "constraints/heat/solar_course.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>

#include "tests/heat/uncertain.h"

namespace cairn {
namespace {

constexpr double degree = std::numbers::pi / 180;

SolarArray panel(NodeId node) {
  SolarArray array;
  array.name = "panel";
  array.area = {0.5, 0.49, 0.51};
  array.efficiency = {{250, {0.32, 0.31, 0.33}}, {350, {0.26, 0.25, 0.27}}};
  array.normal_elevation = 60 * degree;
  array.normal_azimuth = 90 * degree;
  array.node = node;
  array.ageing_per_year = {0.02, 0.01, 0.03};
  return array;
}

Timeline span(double seconds) {
  Timeline timeline;
  timeline.end = at_second(seconds);
  return timeline;
}

// The Sun stands at 30 degrees in the east, one astronomical unit away; the cells at 300 K; two years of
// ageing.
TEST(SolarCourse, AStillSunByHand) {
  Station station;
  const NodeId node =
      station.thermal.nodes.add({"panel", Bounded::exactly(1e9), {300, 295, 305}, {}, no_origin});
  station.power.arrays.push_back(panel(node));
  station.power.arrays[0].reference = at_second(-2 * seconds_per_year);
  const EvenSky sky(-30 * degree / 1e-12, 1e-12);
  const Timeline timeline = span(1000);
  const HeatResult heat = check_heat(station, initial_state(station), timeline, sky, {});
  const SolarCourse course = solar_course(station, sky, timeline, heat);
  ASSERT_FALSE(course.empty());
  EXPECT_EQ(course.front().begin, timeline.begin);
  EXPECT_EQ(course.back().end, timeline.end);
  const double light = 1361.0 * std::cos(30 * degree);
  const auto index = [](Bound bound) { return static_cast<std::size_t>(bound); };
  EXPECT_NEAR(course[0].first[index(Bound::Nominal)], light * 0.5 * 0.29 * 0.98 * 0.98, 1e-3);
  EXPECT_NEAR(course[0].first[index(Bound::Low)], light * 0.49 * 0.277 * 0.97 * 0.97, 0.02);
  EXPECT_NEAR(course[0].first[index(Bound::High)], light * 0.51 * 0.303 * 0.99 * 0.99, 0.02);

  // The power check counts it: no load, all of it is to spare.
  PowerInput input;
  input.station = &station;
  input.timeline = &timeline;
  input.heaters = &heat.heaters;
  input.may_be_on = &heat.envelope.may_be_on;
  input.solar = course;
  const PowerResult power = check_power(input);
  EXPECT_NEAR(power.finding.value, light * 0.5 * 0.29 * 0.98 * 0.98, 1e-3);
  EXPECT_NEAR(power.finding.guaranteed_value, light * 0.49 * 0.277 * 0.97 * 0.97, 0.02);
}

Instant utc(const char* text) { return *parse_utc(text, published_leap_seconds()); }

// Forty days on the Moon over a mask: at random instants the law is evaluated again, from the models
// themselves.
TEST(SolarCourse, FollowsTheSunOverTheMask) {
  Station station;
  station.site.latitude = -20 * degree;
  station.site.longitude = 30 * degree;
  station.site.horizon = {{60 * degree, 4 * degree}, {120 * degree, 1 * degree}, {270 * degree, 6 * degree}};
  station.clock.rate_error = 2e-6;
  station.power.arrays.push_back(panel({}));
  SolarArray& array = station.power.arrays[0];
  array.efficiency = {{0, {0.3, 0.29, 0.31}}};
  array.reference = utc("2030-01-01T00:00:00Z");
  Timeline timeline;
  timeline.begin = utc("2031-01-10T00:00:00Z");
  timeline.end = utc("2031-02-19T00:00:00Z");
  station.clock.last_correlation = timeline.begin;
  const auto sky = sampled_sky(station.site, timeline.begin, timeline.end);
  const auto model = model_sky(station.site);
  const SolarCourse course = solar_course(station, *sky, timeline, {});
  std::mt19937 random(4);
  SourceReader nominal(station, course);
  std::size_t lit = 0;
  std::size_t dark = 0;
  std::vector<double> times;
  for (int k = 0; k < 4000; ++k) {
    times.push_back(
        std::uniform_real_distribution<double>(0, (timeline.end - timeline.begin).seconds())(random));
  }
  std::sort(times.begin(), times.end());
  for (const double seconds : times) {
    const Instant time = timeline.begin + *duration_from_seconds(seconds);
    const auto watts = [&](Instant shown, double area, double efficiency, double ageing) {
      const SkyPoint sun = model->sun(shown);
      const double cosine = std::sin(sun.elevation) * std::sin(array.normal_elevation) +
                            std::cos(sun.elevation) * std::cos(array.normal_elevation) *
                                std::cos(sun.azimuth - array.normal_azimuth);
      if (sun.elevation < horizon_elevation(station.site, sun.azimuth) || cosine < 0) return 0.0;
      const double flux = 1361.0 * std::pow(astronomical_unit / sun.distance, 2);
      const double years = (shown - array.reference).seconds() / (365.25 * 86400);
      return flux * area * cosine * efficiency * std::pow(1 - ageing, years);
    };
    nominal.enter(time);
    const double expected = watts(time, 0.5, 0.3, 0.02);
    EXPECT_NEAR(nominal.at(time, Bound::Nominal), expected, 0.003) << seconds;
    (expected > 0 ? lit : dark) += 1;
    // Whatever the clock is off by, and whatever the panel is within its bounds.
    const Duration off = clock_uncertainty(station.clock, time);
    for (const Instant shown : {time - off, time, time + off}) {
      ASSERT_LE(nominal.at(time, Bound::Low), watts(shown, 0.49, 0.29, 0.03) + 1e-6) << seconds;
      ASSERT_GE(nominal.at(time, Bound::High), watts(shown, 0.51, 0.31, 0.01) - 1e-6) << seconds;
    }
  }
  EXPECT_GT(lit, 1000U);
  EXPECT_GT(dark, 1000U);
}

// The cells' temperature is uncertain: every sample's power lies within the bounds.
TEST(SolarCourse, NoSampleLeavesItsBounds) {
  const EvenSky sky(12'000, 2e-5);
  for (std::uint32_t seed = 81; seed <= 83; ++seed) {
    UncertainOptions options;
    options.nodes = 3;
    UncertainCase made = uncertain_case(seed, options);
    made.station.power.arrays.push_back(panel(made.station.thermal.nodes.id_at(0)));
    made.station.power.arrays[0].efficiency = {
        {255, {0.32, 0.31, 0.33}}, {275, {0.27, 0.26, 0.28}}, {290, {0.26, 0.25, 0.27}}};
    const HeatResult bounds = check_heat(made.station, made.start, made.timeline, sky, {});
    const SolarCourse course = solar_course(made.station, sky, made.timeline, bounds);
    Chance chance(seed);
    for (int n = 0; n < 100; ++n) {
      UncertainCase sample = sample_of(made, chance);
      SolarArray& array = sample.station.power.arrays[0];
      array.area = Bounded::exactly(chance.pick(array.area));
      array.ageing_per_year = Bounded::exactly(chance.pick(array.ageing_per_year));
      for (EfficiencyPoint& point : array.efficiency)
        point.efficiency = Bounded::exactly(chance.pick(point.efficiency));
      const HeatResult heat = check_heat(sample.station, sample.start, sample.timeline, sky,
                                         {.tolerance = 1e-3, .envelope = false});
      for (const SolarSpan& one : solar_course(sample.station, sky, sample.timeline, heat)) {
        SourceReader reader(made.station, course);
        reader.enter(one.begin);
        const double given = one.first[1];
        // The isotope source is the same reader's.
        const double steady = source_power(made.station.power, one.begin, Bound::Low);
        ASSERT_GE(given, reader.at(one.begin, Bound::Low) - steady - 1e-6) << "seed " << seed;
        const double strong = source_power(made.station.power, one.begin, Bound::High);
        ASSERT_LE(given, reader.at(one.begin, Bound::High) - strong + 1e-6) << "seed " << seed;
      }
    }
  }
}

}  // namespace
}  // namespace cairn
