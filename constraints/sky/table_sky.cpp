// Sun and Earth from a table instead of models: great circles between its rows, distances along straight
// lines.

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "constraints/sky/sky.h"

namespace cairn {

namespace {

// Direction east, north, up.
using Direction = std::array<double, 3>;

Direction direction_of(double elevation, double azimuth) {
  return {std::cos(elevation) * std::sin(azimuth), std::cos(elevation) * std::cos(azimuth),
          std::sin(elevation)};
}

SkyPoint between(const SkyPoint& from, const SkyPoint& to, double part) {
  const Direction a = direction_of(from.elevation, from.azimuth);
  const Direction b = direction_of(to.elevation, to.azimuth);
  const Direction cross{a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]};
  const double sine = std::sqrt(cross[0] * cross[0] + cross[1] * cross[1] + cross[2] * cross[2]);
  const double angle = std::atan2(sine, a[0] * b[0] + a[1] * b[1] + a[2] * b[2]);
  // Of directions that are all but one the straight line is as good.
  const bool close = sine < 1e-9;
  const double first = close ? 1 - part : std::sin((1 - part) * angle) / sine;
  const double second = close ? part : std::sin(part * angle) / sine;
  Direction way{};
  for (std::size_t i = 0; i < 3; ++i) way[i] = first * a[i] + second * b[i];
  SkyPoint point;
  point.elevation = std::atan2(way[2], std::hypot(way[0], way[1]));
  point.azimuth = std::atan2(way[0], way[1]);
  if (point.azimuth < 0) point.azimuth += 2 * std::numbers::pi;
  point.distance = from.distance + part * (to.distance - from.distance);
  return point;
}

class TableSky final : public Sky {
 public:
  explicit TableSky(std::vector<SkyRow> rows) : rows_(std::move(rows)) {}

  [[nodiscard]] SkyPoint sun(Instant time) const override {
    return at(time, [](const SkyRow& row) {
      return SkyPoint{row.sun_elevation, row.sun_azimuth, row.sun_distance};
    });
  }
  [[nodiscard]] SkyPoint earth(Instant time) const override {
    return at(time, [](const SkyRow& row) {
      return SkyPoint{row.earth_elevation, row.earth_azimuth, row.earth_distance};
    });
  }
  [[nodiscard]] double solar_flux(Instant time) const override {
    const double ratio = astronomical_unit / sun(time).distance;
    return solar_irradiance_1au * ratio * ratio;
  }

 private:
  [[nodiscard]] SkyPoint at(Instant time, const auto& read) const {
    const auto after = std::lower_bound(rows_.begin(), rows_.end(), time,
                                        [](const SkyRow& row, Instant sought) { return row.time < sought; });
    if (after == rows_.begin()) return read(rows_.front());
    if (after == rows_.end()) return read(rows_.back());
    const SkyRow& from = *(after - 1);
    return between(read(from), read(*after),
                   (time - from.time).seconds() / (after->time - from.time).seconds());
  }

  std::vector<SkyRow> rows_;
};

}  // namespace

std::unique_ptr<Sky> table_sky(std::vector<SkyRow> rows) {
  return std::make_unique<TableSky>(std::move(rows));
}

std::unique_ptr<Sky> site_sky(const Site& site, Instant begin, Instant end) {
  return site.sky.empty() ? sampled_sky(site, begin, end) : table_sky(site.sky);
}

bool sky_covers(const Site& site, Instant begin, Instant end) {
  return site.sky.empty() || (site.sky.front().time <= begin && end <= site.sky.back().time);
}

double greatest_light_time(const Sky& sky, Instant begin, Instant end) {
  // Within a day the distance bends by less than what 0.02 s of light take, the Moon's and Mars's alike.
  constexpr double between_samples = 0.02;
  double most = one_way_light_time(sky, end);
  for (Instant time = begin; time < end; time = time + seconds_to_duration(86'400)) {
    most = std::max(most, one_way_light_time(sky, time));
  }
  return most + between_samples;
}

}  // namespace cairn
