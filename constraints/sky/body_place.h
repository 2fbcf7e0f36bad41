// Where the Moon and Mars are among the stars, and how they are turned: the published models, one door to
// them.

#pragma once

#include "constraints/quantity/leap_seconds.h"
#include "constraints/sky/lunar_rotation.h"
#include "constraints/station/station.h"

namespace cairn {

inline constexpr double j2000_date = 2451545.0;  // JD

// TT days since J2000.0. TDB differs by less than 2 ms: no matter at these accuracies.
double days_tt(Instant time);

// m, axes of the ICRF: from the Earth's centre to the body's, and from the Sun's to the body's, at one
// instant.
Vector3 from_earth(Body body, double days);
Vector3 from_sun(Body body, double days);

// From the Earth's centre at the instant to where the body was one light time before.
Vector3 seen_from_earth(Body body, double days);

double mean_radius(Body body);  // m
Matrix3 body_rotation(Body body, double days);

// Takes a vector of the ICRF to the frame of the turning Earth: precession and nutation of IAU 2000B, UT1
// taken as UTC, the pole where it is on average.
Matrix3 earth_rotation(double days, UtcDayTime utc);
// m from the Earth's centre; geodetic latitude and height over the ellipsoid of WGS 84.
Vector3 on_the_earth(double latitude, double longitude, double height);

}  // namespace cairn
