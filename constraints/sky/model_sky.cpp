// Direct evaluation of the published models for a site on the Moon or on Mars.

#include <cmath>
#include <numbers>

#include "constraints/sky/body_place.h"
#include "constraints/sky/lunar_rotation.h"
#include "constraints/sky/sky.h"

namespace cairn {

namespace {

Vector3 turned(const Matrix3& m, const Vector3& v) {
  Vector3 out{};
  for (std::size_t i = 0; i < 3; ++i) out[i] = m[i][0] * v[0] + m[i][1] * v[1] + m[i][2] * v[2];
  return out;
}

Vector3 opposite(const Vector3& v) { return {-v[0], -v[1], -v[2]}; }

class ModelSky final : public Sky {
 public:
  explicit ModelSky(const Site& site)
      : body_(site.body),
        radius_(mean_radius(site.body) + site.height),
        up_{std::cos(site.latitude) * std::cos(site.longitude),
            std::cos(site.latitude) * std::sin(site.longitude), std::sin(site.latitude)},
        east_{-std::sin(site.longitude), std::cos(site.longitude), 0},
        north_{-std::sin(site.latitude) * std::cos(site.longitude),
               -std::sin(site.latitude) * std::sin(site.longitude), std::cos(site.latitude)} {}

  [[nodiscard]] SkyPoint sun(Instant time) const override {
    const double days = days_tt(time);
    return seen(turned(body_rotation(body_, days), opposite(from_sun(body_, days))));
  }

  [[nodiscard]] SkyPoint earth(Instant time) const override {
    const double days = days_tt(time);
    return seen(turned(body_rotation(body_, days), opposite(from_earth(body_, days))));
  }

  [[nodiscard]] double solar_flux(Instant time) const override {
    const double ratio = astronomical_unit / sun(time).distance;
    return solar_irradiance_1au * ratio * ratio;
  }

 private:
  // From the body's centre to the site's horizon.
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

  Body body_;
  double radius_;
  Vector3 up_;
  Vector3 east_;
  Vector3 north_;
};

}  // namespace

std::unique_ptr<Sky> model_sky(const Site& site) { return std::make_unique<ModelSky>(site); }

Duration sun_spacing(Body body) {
  // The Sun moves a quarter of a degree over the Moon in half an hour, over Mars in a minute.
  return body == Body::Moon ? seconds_to_duration(1800) : seconds_to_duration(60);
}

double horizon_elevation(const Site& site, double azimuth) { return mask_elevation(site.horizon, azimuth); }

double mask_elevation(const std::vector<MaskPoint>& mask, double azimuth) {
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
