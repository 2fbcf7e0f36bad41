// The station's body over an antenna on the Earth: elevation, rise and set, and the windows that follow.
//
// Published models: ERFA (moon98 for the Moon; epv00 and plan94 for the Earth and Mars; precession and
// nutation of IAU 2000B, Earth rotation angle) and WGS 84 for the antenna's place. The body's centre is seen
// where it was one light time before; aberration (at most 20.5", 1.4 s of rise or set) and polar motion
// (below 0.5") are left out, and UT1 is taken as UTC, which is less than 0.9 s off by UTC's definition.

#pragma once

#include <vector>

#include "constraints/quantity/leap_seconds.h"
#include "constraints/sky/sky.h"

namespace cairn {

// Elevation and azimuth (from north through east) over the antenna's geodetic horizon, lifted by the air
// where the antenna says so; distance, m.
SkyPoint seen_from(const AntennaPlace& antenna, Body body, Instant time, const LeapSecondTable& table);

// What the air lifts a body at a true elevation by, rad: Saemundsson, Sky and Telescope 72 (1986), 70, for
// 1010 hPa and 10 degrees C; nothing below -1 degree.
double refraction(double true_elevation);

struct Pass {
  Instant begin;
  Instant end;
};

// While the body's centre stands over the antenna's mask and the Earth's centre over the station's horizon;
// located to the millisecond, rising. A pass under way at `begin` begins there, one at `end` ends there.
std::vector<Pass> passes(const AntennaPlace& antenna, const Site& site, Instant begin, Instant end,
                         const LeapSecondTable& table);

}  // namespace cairn
