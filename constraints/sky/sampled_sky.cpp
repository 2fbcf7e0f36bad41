// The models sampled once an hour and interpolated: solvers ask thousands of times an hour.

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "constraints/sky/sky.h"

namespace cairn {

namespace {

// Direction times distance, as a vector east, north, up (m): smooth where azimuth is not.
using Local = std::array<double, 3>;

Local to_local(const SkyPoint& point) {
  const double flat = point.distance * std::cos(point.elevation);
  return {flat * std::sin(point.azimuth), flat * std::cos(point.azimuth),
          point.distance * std::sin(point.elevation)};
}

SkyPoint from_local(const Local& v) {
  SkyPoint point;
  point.distance = std::sqrt(v[0] * v[0] + v[1] * v[1] + v[2] * v[2]);
  point.elevation = std::atan2(v[2], std::hypot(v[0], v[1]));
  point.azimuth = std::atan2(v[0], v[1]);
  if (point.azimuth < 0) point.azimuth += 2 * std::numbers::pi;
  return point;
}

// Both turn by about half a degree in it.
Duration step_of(Body body) { return seconds_to_duration(body == Body::Moon ? 3600 : 120); }

class SampledSky final : public Sky {
 public:
  SampledSky(const Site& site, Instant begin, Instant end)
      : step_(step_of(site.body)), direct_(model_sky(site)), begin_(begin) {
    const std::int64_t count = std::max<std::int64_t>((end - begin).nanoseconds / step_.nanoseconds + 2, 2);
    // One sample more at each side, for the slopes.
    for (std::int64_t i = -1; i <= count; ++i) {
      const Instant time = begin + step_ * i;
      sun_.push_back(to_local(direct_->sun(time)));
      earth_.push_back(to_local(direct_->earth(time)));
    }
    end_ = begin + step_ * (count - 1);
  }

  [[nodiscard]] SkyPoint sun(Instant time) const override {
    return time < begin_ || time > end_ ? direct_->sun(time) : interpolate(sun_, time);
  }
  [[nodiscard]] SkyPoint earth(Instant time) const override {
    return time < begin_ || time > end_ ? direct_->earth(time) : interpolate(earth_, time);
  }
  [[nodiscard]] double solar_flux(Instant time) const override {
    const double ratio = astronomical_unit / sun(time).distance;
    return solar_irradiance_1au * ratio * ratio;
  }

 private:
  [[nodiscard]] SkyPoint interpolate(const std::vector<Local>& samples, Instant time) const {
    const std::int64_t since = (time - begin_).nanoseconds;
    const auto cell = static_cast<std::size_t>(since / step_.nanoseconds);
    const double u = static_cast<double>(since % step_.nanoseconds) / static_cast<double>(step_.nanoseconds);
    Local out{};
    for (std::size_t i = 0; i < 3; ++i) {
      // Cubic Hermite with central differences as slopes; samples[cell + 1] is the cell's left end.
      const double before = samples[cell][i];
      const double left = samples[cell + 1][i];
      const double right = samples[cell + 2][i];
      const double after = cell + 3 < samples.size() ? samples[cell + 3][i] : 2 * right - left;
      const double slope_left = (right - before) / 2;
      const double slope_right = (after - left) / 2;
      const double u2 = u * u;
      const double u3 = u2 * u;
      out[i] = (2 * u3 - 3 * u2 + 1) * left + (u3 - 2 * u2 + u) * slope_left + (3 * u2 - 2 * u3) * right +
               (u3 - u2) * slope_right;
    }
    return from_local(out);
  }

  Duration step_;
  std::unique_ptr<Sky> direct_;
  Instant begin_;
  Instant end_;
  std::vector<Local> sun_;
  std::vector<Local> earth_;
};

}  // namespace

std::unique_ptr<Sky> sampled_sky(const Site& site, Instant begin, Instant end) {
  return std::make_unique<SampledSky>(site, begin, end);
}

}  // namespace cairn
