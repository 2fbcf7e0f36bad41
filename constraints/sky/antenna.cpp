// From the body's place among the stars to the antenna's horizon, and a scan for the times at which it is
// seen.

#include "constraints/sky/antenna.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "constraints/sky/body_place.h"

namespace cairn {

namespace {

constexpr double degree = std::numbers::pi / 180;
// In ten minutes the Earth turns by 2.5 degrees: of a pass that is shorter the turning point is found.
constexpr Duration scan_step = seconds_to_duration(600);
constexpr Duration resolution{1'000'000};

// The antenna in the frame of the Earth.
struct Ground {
  Vector3 place;  // m
  Vector3 up;
  Vector3 east;
  Vector3 north;
};

Ground ground_of(const AntennaPlace& antenna) {
  const double cos_latitude = std::cos(antenna.latitude);
  const double sin_latitude = std::sin(antenna.latitude);
  const double cos_longitude = std::cos(antenna.longitude);
  const double sin_longitude = std::sin(antenna.longitude);
  return {on_the_earth(antenna.latitude, antenna.longitude, antenna.height),
          {cos_latitude * cos_longitude, cos_latitude * sin_longitude, sin_latitude},
          {-sin_longitude, cos_longitude, 0},
          {-sin_latitude * cos_longitude, -sin_latitude * sin_longitude, cos_latitude}};
}

double along(const Vector3& a, const Vector3& b) { return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]; }

SkyPoint seen(const Ground& ground, const AntennaPlace& antenna, Body body, Instant time,
              const LeapSecondTable& table) {
  const double days = days_tt(time);
  const Vector3 among_stars = seen_from_earth(body, days);
  const Matrix3 turned = earth_rotation(days, to_utc_day_time(time, table));
  Vector3 fixed{};
  for (std::size_t i = 0; i < 3; ++i) fixed[i] = along(turned[i], among_stars) - ground.place[i];
  const double up = along(ground.up, fixed);
  const double east = along(ground.east, fixed);
  const double north = along(ground.north, fixed);
  SkyPoint point;
  point.distance = std::sqrt(up * up + east * east + north * north);
  point.elevation = std::atan2(up, std::hypot(east, north));
  if (antenna.refraction) point.elevation += refraction(point.elevation);
  point.azimuth = std::atan2(east, north);
  if (point.azimuth < 0) point.azimuth += 2 * std::numbers::pi;
  return point;
}

// How far the body stands inside what both ends can see, rad.
class Sight {
 public:
  Sight(const AntennaPlace& antenna, const Site& site, const LeapSecondTable& table)
      : antenna_(antenna),
        site_(site),
        table_(table),
        ground_(ground_of(antenna)),
        sky_(site.sky.empty() ? model_sky(site) : table_sky(site.sky)) {}

  [[nodiscard]] double at(Instant time) const {
    const SkyPoint body = seen(ground_, antenna_, site_.body, time, table_);
    const SkyPoint earth = sky_->earth(time);
    return std::min(body.elevation - mask_elevation(antenna_.mask, body.azimuth),
                    earth.elevation - horizon_elevation(site_, earth.azimuth));
  }

 private:
  const AntennaPlace& antenna_;
  const Site& site_;
  const LeapSecondTable& table_;
  Ground ground_;
  std::unique_ptr<Sky> sky_;
};

struct Sample {
  Instant time;
  double inside = 0;
};

// When it changes sign between the two.
Instant change(const Sight& sight, const Sample& left, const Sample& right) {
  Instant low = left.time;
  Instant high = right.time;
  while (high - low > resolution) {
    const Instant middle = low + Duration{(high - low).nanoseconds / 2};
    ((sight.at(middle) > 0) == (left.inside > 0) ? low : high) = middle;
  }
  return high;
}

// The greatest value (or least) between the outer two, the middle one being nearest to zero of the three.
Sample turn(const Sight& sight, const Sample& left, const Sample& right, double side) {
  Instant low = left.time;
  Instant high = right.time;
  while (high - low > resolution) {
    const Duration third{std::max<std::int64_t>((high - low).nanoseconds / 3, 1)};
    (side * sight.at(low + third) < side * sight.at(high - third) ? high : low) =
        side * sight.at(low + third) < side * sight.at(high - third) ? high - third : low + third;
  }
  return {low, sight.at(low)};
}

}  // namespace

double refraction(double true_elevation) {
  const double elevation = true_elevation / degree;
  if (elevation < -1) return 0;
  return 1.02 / 60 * degree / std::tan((elevation + 10.3 / (elevation + 5.11)) * degree);
}

SkyPoint seen_from(const AntennaPlace& antenna, Body body, Instant time, const LeapSecondTable& table) {
  return seen(ground_of(antenna), antenna, body, time, table);
}

std::vector<Pass> passes(const AntennaPlace& antenna, const Site& site, Instant begin, Instant end,
                         const LeapSecondTable& table) {
  std::vector<Pass> found;
  if (end <= begin) return found;
  const Sight sight(antenna, site, table);
  std::vector<Sample> samples;
  for (Instant time = begin; time < end; time = time + scan_step) samples.push_back({time, sight.at(time)});
  samples.push_back({end, sight.at(end)});
  // Turning points that may pass zero and come back between two samples.
  for (std::size_t i = 1; i + 1 < samples.size(); ++i) {
    const Sample left = samples[i - 1];
    const Sample middle = samples[i];
    const Sample right = samples[i + 1];
    const double side = middle.inside > 0 ? 1 : -1;
    if (side * left.inside < side * middle.inside || side * right.inside < side * middle.inside) continue;
    const Sample extreme = turn(sight, left, right, side);
    if ((extreme.inside > 0) == (middle.inside > 0) || extreme.time == middle.time) continue;
    samples.insert(samples.begin() + static_cast<std::ptrdiff_t>(extreme.time < middle.time ? i : i + 1),
                   extreme);
    ++i;
  }
  std::optional<Instant> since;
  if (samples.front().inside > 0) since = begin;
  for (std::size_t i = 0; i + 1 < samples.size(); ++i) {
    if ((samples[i].inside > 0) == (samples[i + 1].inside > 0)) continue;
    const Instant time = change(sight, samples[i], samples[i + 1]);
    if (since) {
      found.push_back({*since, time});
      since.reset();
    } else {
      since = time;
    }
  }
  if (since && *since < end) found.push_back({*since, end});
  return found;
}

}  // namespace cairn
