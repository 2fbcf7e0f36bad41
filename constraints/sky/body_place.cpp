// ERFA's moon98 (Moon, after Meeus's ELP2000-82B), epv00 (Earth, VSOP2000) and plan94 (Mars, Simon et al.
// 1994).

#include "constraints/sky/body_place.h"

#include <erfa.h>

#include <cmath>

#include "constraints/sky/sky.h"

namespace cairn {

namespace {

// TAI 1958-01-01T00:00:00 is MJD 36204.0 (TAI); J2000.0 is MJD 51544.5 (TT); TT - TAI is 32.184 s.
constexpr double epoch_to_j2000_days = 51544.5 - 36204.0;

Vector3 earth_from_sun(double days) {
  double heliocentric[2][3];
  double barycentric[2][3];
  static_cast<void>(eraEpv00(j2000_date, days, heliocentric, barycentric));
  return {heliocentric[0][0] * astronomical_unit, heliocentric[0][1] * astronomical_unit,
          heliocentric[0][2] * astronomical_unit};
}

Vector3 moon_from_earth(double days) {
  double moon[2][3];
  eraMoon98(j2000_date, days, moon);
  return {moon[0][0] * astronomical_unit, moon[0][1] * astronomical_unit, moon[0][2] * astronomical_unit};
}

Vector3 mars_from_sun(double days) {
  constexpr int mars = 4;
  double place[2][3];
  static_cast<void>(eraPlan94(j2000_date, days, mars, place));
  return {place[0][0] * astronomical_unit, place[0][1] * astronomical_unit, place[0][2] * astronomical_unit};
}

Vector3 sum(const Vector3& a, const Vector3& b, double factor) {
  return {a[0] + factor * b[0], a[1] + factor * b[1], a[2] + factor * b[2]};
}

}  // namespace

double days_tt(Instant time) {
  const double day_nanoseconds = 86'400e9;
  return static_cast<double>(time.tai_nanoseconds) / day_nanoseconds + 32.184 / 86'400.0 -
         epoch_to_j2000_days;
}

Vector3 from_earth(Body body, double days) {
  return body == Body::Moon ? moon_from_earth(days) : sum(mars_from_sun(days), earth_from_sun(days), -1);
}

Vector3 from_sun(Body body, double days) {
  return body == Body::Moon ? sum(earth_from_sun(days), moon_from_earth(days), 1) : mars_from_sun(days);
}

Vector3 seen_from_earth(Body body, double days) {
  Vector3 seen = from_earth(body, days);
  for (int turn = 0; turn < 2; ++turn) {
    const double distance = std::sqrt(seen[0] * seen[0] + seen[1] * seen[1] + seen[2] * seen[2]);
    const double then = days - distance / speed_of_light / 86'400;
    // The Moon goes with the Earth: only its way around it counts. Mars is where it was, the Earth where it
    // is.
    seen = body == Body::Moon ? moon_from_earth(then) : sum(mars_from_sun(then), earth_from_sun(days), -1);
  }
  return seen;
}

// Spheres: Moon Fact Sheet and Mars Fact Sheet, volumetric mean radius.
double mean_radius(Body body) { return body == Body::Moon ? 1737.4e3 : 3389.5e3; }

Matrix3 body_rotation(Body body, double days) {
  return body == Body::Moon ? lunar_rotation(days) : martian_rotation(days);
}

Matrix3 earth_rotation(double days, UtcDayTime utc) {
  // 1958-01-01 is MJD 36204.
  const double date = 2400000.5 + 36204.0 + static_cast<double>(utc.day);
  const double part = static_cast<double>(utc.nanoseconds_of_day) / 86'400e9;
  double matrix[3][3];
  eraC2t00b(j2000_date, days, date, part, 0, 0, matrix);
  Matrix3 result{};
  for (std::size_t i = 0; i < 3; ++i) {
    for (std::size_t k = 0; k < 3; ++k) result[i][k] = matrix[i][k];
  }
  return result;
}

Vector3 on_the_earth(double latitude, double longitude, double height) {
  constexpr int wgs84 = 1;  // its number in ERFA
  double place[3];
  static_cast<void>(eraGd2gc(wgs84, longitude, latitude, height, place));
  return {place[0], place[1], place[2]};
}

}  // namespace cairn
