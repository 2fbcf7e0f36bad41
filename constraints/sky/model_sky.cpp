// Direct evaluation of the published models for a site on the Moon.

#include <erfa.h>

#include <cmath>
#include <numbers>

#include "constraints/sky/lunar_rotation.h"
#include "constraints/sky/sky.h"

namespace cairn {

namespace {

constexpr double j2000 = 2451545.0;       // JD
constexpr double moon_radius = 1737.4e3;  // m, sphere; Moon Fact Sheet
// TAI 1958-01-01T00:00:00 is MJD 36204.0 (TAI); J2000.0 is MJD 51544.5 (TT); TT - TAI is 32.184 s.
constexpr double epoch_to_j2000_days = 51544.5 - 36204.0;

double days_tt(Instant time) {
  const double day_nanoseconds = 86'400e9;
  return static_cast<double>(time.tai_nanoseconds) / day_nanoseconds + 32.184 / 86'400.0 -
         epoch_to_j2000_days;
}

Vector3 turned(const Matrix3& m, const Vector3& v) {
  Vector3 out{};
  for (std::size_t i = 0; i < 3; ++i) out[i] = m[i][0] * v[0] + m[i][1] * v[1] + m[i][2] * v[2];
  return out;
}

class ModelSky final : public Sky {
 public:
  explicit ModelSky(const Site& site)
      : radius_(moon_radius + site.height),
        up_{std::cos(site.latitude) * std::cos(site.longitude),
            std::cos(site.latitude) * std::sin(site.longitude), std::sin(site.latitude)},
        east_{-std::sin(site.longitude), std::cos(site.longitude), 0},
        north_{-std::sin(site.latitude) * std::cos(site.longitude),
               -std::sin(site.latitude) * std::sin(site.longitude), std::cos(site.latitude)} {}

  [[nodiscard]] SkyPoint sun(Instant time) const override {
    const double days = days_tt(time);
    double heliocentric[2][3];
    double barycentric[2][3];
    double moon[2][3];
    // TDB differs from TT by less than 2 ms: no matter at these accuracies.
    static_cast<void>(eraEpv00(j2000, days, heliocentric, barycentric));
    eraMoon98(j2000, days, moon);
    Vector3 to_sun{};
    for (std::size_t i = 0; i < 3; ++i) to_sun[i] = -(heliocentric[0][i] + moon[0][i]) * astronomical_unit;
    return seen(turned(lunar_rotation(days), to_sun));
  }

  [[nodiscard]] SkyPoint earth(Instant time) const override {
    const double days = days_tt(time);
    double moon[2][3];
    eraMoon98(j2000, days, moon);
    Vector3 to_earth{};
    for (std::size_t i = 0; i < 3; ++i) to_earth[i] = -moon[0][i] * astronomical_unit;
    return seen(turned(lunar_rotation(days), to_earth));
  }

  [[nodiscard]] double solar_flux(Instant time) const override {
    const double ratio = astronomical_unit / sun(time).distance;
    return solar_irradiance_1au * ratio * ratio;
  }

 private:
  // From the Moon's centre to the site's horizon.
  [[nodiscard]] SkyPoint seen(Vector3 body) const {
    double up = 0;
    double east = 0;
    double north = 0;
    for (std::size_t i = 0; i < 3; ++i) {
      body[i] -= radius_ * up_[i];
      up += body[i] * up_[i];
      east += body[i] * east_[i];
      north += body[i] * north_[i];
    }
    SkyPoint point;
    point.distance = std::sqrt(up * up + east * east + north * north);
    point.elevation = std::atan2(up, std::hypot(east, north));
    point.azimuth = std::atan2(east, north);
    if (point.azimuth < 0) point.azimuth += 2 * std::numbers::pi;
    return point;
  }

  double radius_;
  Vector3 up_;
  Vector3 east_;
  Vector3 north_;
};

}  // namespace

std::unique_ptr<Sky> model_sky(const Site& site) { return std::make_unique<ModelSky>(site); }

double horizon_elevation(const Site& site, double azimuth) {
  const std::vector<MaskPoint>& mask = site.horizon;
  if (mask.empty()) return 0;
  constexpr double turn = 2 * std::numbers::pi;
  azimuth = std::fmod(std::fmod(azimuth, turn) + turn, turn);
  for (std::size_t i = 0; i < mask.size(); ++i) {
    const MaskPoint& from = mask[i];
    const MaskPoint& to = mask[(i + 1) % mask.size()];
    const double width = i + 1 < mask.size() ? to.azimuth - from.azimuth : to.azimuth + turn - from.azimuth;
    double along = azimuth - from.azimuth;
    if (i + 1 == mask.size() && along < 0) along += turn;
    if (along < 0 || along > width || width <= 0) continue;
    return from.elevation + (to.elevation - from.elevation) * along / width;
  }
  return mask.front().elevation;
}

double one_way_light_time(const Sky& sky, Instant time) { return sky.earth(time).distance / speed_of_light; }

}  // namespace cairn
