// Sun and Earth as seen from the site, and light time.
//
// Published models: ERFA (epv00 for the Earth, moon98 for the Moon; Sun direction from both) and the
// IAU/WGCCRE 2009 rotation series of the Moon (mean-Earth/polar axis frame; Archinal et al. 2011). Directions
// are geometric: no light time, no aberration, centre of the disc; about 41 s at lunar sunrise (see docs).
// A table of the station file is the other implementation; users hold the interface.

#pragma once

#include <memory>
#include <vector>

#include "constraints/quantity/leap_seconds.h"
#include "constraints/station/station.h"

namespace cairn {

struct SkyPoint {
  double elevation = 0;  // rad above the local horizontal plane
  double azimuth = 0;    // rad from north through east, 0 .. 2 pi
  double distance = 0;   // m from the site
};

class Sky {
 public:
  virtual ~Sky() = default;
  [[nodiscard]] virtual SkyPoint sun(Instant time) const = 0;
  [[nodiscard]] virtual SkyPoint earth(Instant time) const = 0;
  // W/m2 at the site's distance from the Sun, on a face towards it, whether or not the Sun is up.
  [[nodiscard]] virtual double solar_flux(Instant time) const = 0;
};

// Direct evaluation of the models. `table` turns TAI into UTC and UT for nothing but documentation: the
// models need only TT = TAI + 32.184 s.
std::unique_ptr<Sky> model_sky(const Site& site);

// The same, sampled over [begin, end] and interpolated (cubic Hermite on direction vectors, step at most one
// hour): within 1e-5 degrees of the direct evaluation and fast enough for solvers. Outside the interval it
// evaluates directly.
std::unique_ptr<Sky> sampled_sky(const Site& site, Instant begin, Instant end);

// Rows of a table, rising by time, two at least: great circles between them, distances along straight lines;
// before the first and after the last as at these.
std::unique_ptr<Sky> table_sky(std::vector<SkyRow> rows);

// What a site has: its table, or else the models, sampled. And whether that reaches over the interval.
std::unique_ptr<Sky> site_sky(const Site& site, Instant begin, Instant end);
bool sky_covers(const Site& site, Instant begin, Instant end);

// Solar irradiance at one astronomical unit, W/m2 (IAU 2015 Resolution B3, nominal).
inline constexpr double solar_irradiance_1au = 1361.0;
inline constexpr double astronomical_unit = 149597870700.0;  // m, IAU 2012 Resolution B2
inline constexpr double speed_of_light = 299792458.0;        // m/s, exact

// Elevation of the local horizon at an azimuth, rad.
double horizon_elevation(const Site& site, double azimuth);
// The same of any mask; empty: 0.
double mask_elevation(const std::vector<MaskPoint>& mask, double azimuth);

// Seconds one way between the Earth's centre and the site.
double one_way_light_time(const Sky& sky, Instant time);
// No less than it ever is in the interval.
double greatest_light_time(const Sky& sky, Instant begin, Instant end);

// Over which the Sun's light is nearly linear at the body, to 3e-6: samples come this close.
Duration sun_spacing(Body body);

enum class SkyQuantity : std::uint8_t { SunElevation, SunAzimuth, EarthElevation };

struct Crossing {
  Instant time;  // located to the millisecond
  bool rises = false;
};

// Every instant in (begin, end) at which the quantity crosses `value` (rad), rising by time.
std::vector<Crossing> crossings(const Sky& sky, SkyQuantity quantity, double value, Instant begin,
                                Instant end);

// Least and greatest value over [begin, end] (rad), for messages when there is no crossing.
struct Range {
  double low = 0;
  double high = 0;
};
Range range_of(const Sky& sky, SkyQuantity quantity, Instant begin, Instant end);

}  // namespace cairn
