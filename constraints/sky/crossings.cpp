// When a quantity of the sky crosses a value: bracketed by half-hourly samples, located by bisection. Where
// three samples show a turning point, that is located too: it may reach the value and go back between them.

#include <algorithm>
#include <cmath>
#include <numbers>

#include "constraints/sky/sky.h"

namespace cairn {

namespace {

constexpr Duration scan_step = seconds_to_duration(1800);
constexpr Duration resolution{1'000'000};  // 1 ms

double value_at(const Sky& sky, SkyQuantity quantity, Instant time) {
  switch (quantity) {
    case SkyQuantity::SunElevation:
      return sky.sun(time).elevation;
    case SkyQuantity::SunAzimuth:
      return sky.sun(time).azimuth;
    case SkyQuantity::EarthElevation:
      return sky.earth(time).elevation;
  }
  return 0;
}

// Difference from the sought value; an azimuth's by the short way round, so that north is no jump there.
double difference(const Sky& sky, SkyQuantity quantity, double value, Instant time) {
  const double found = value_at(sky, quantity, time) - value;
  if (quantity != SkyQuantity::SunAzimuth) return found;
  return std::remainder(found, 2 * std::numbers::pi);
}

}  // namespace

namespace {

// A sample of the difference.
struct Sample {
  Instant time;
  double difference = 0;
};

class Scan {
 public:
  Scan(const Sky& sky, SkyQuantity quantity, double value, Instant begin, Instant end)
      : sky_(sky), quantity_(quantity), value_(value), begin_(begin), end_(end) {}

  std::vector<Crossing> run() {
    // One sample more at each side: a turning point near an end lies between two samples all the same.
    Sample before = at(begin_ - scan_step);
    Sample here = at(begin_);
    while (here.time < end_) {
      const Sample next = at(std::min(here.time + scan_step, end_));
      between(here, next);
      // The middle one of three on one side is the nearest: the turning point may lie beyond the value.
      graze(before, here, next);
      before = here;
      here = next;
    }
    graze(before, here, at(end_ + scan_step));
    std::sort(found_.begin(), found_.end(),
              [](const Crossing& a, const Crossing& b) { return a.time < b.time; });
    return std::move(found_);
  }

 private:
  [[nodiscard]] Sample at(Instant time) const { return {time, difference(sky_, quantity_, value_, time)}; }

  void between(const Sample& left, const Sample& right) {
    // The far side of an azimuth's circle changes sign too, by a jump: no crossing.
    const bool jump = std::abs(right.difference - left.difference) > std::numbers::pi;
    if (jump || (left.difference < 0) == (right.difference < 0)) return;
    Instant low = left.time;
    Instant high = right.time;
    while (high - low > resolution) {
      const Instant middle = low + Duration{(high - low).nanoseconds / 2};
      ((at(middle).difference < 0) == (left.difference < 0) ? low : high) = middle;
    }
    if (high > begin_ && high < end_) found_.push_back({high, left.difference < 0});
  }

  // Two crossings close together, on both sides of a turning point between the outer samples.
  void graze(const Sample& left, const Sample& middle, const Sample& right) {
    const double side = middle.difference < 0 ? -1 : 1;
    const double nearest = side * middle.difference;
    if (side * left.difference <= nearest || side * right.difference < nearest) return;
    if (side * left.difference > 1 || side * right.difference > 1)
      return;  // a radian off: no turning point of ours
    Instant low = left.time;
    Instant high = right.time;
    while (high - low > resolution) {
      const Duration third{std::max<std::int64_t>((high - low).nanoseconds / 3, 1)};
      const Instant first = low + third;
      const Instant second = high - third;
      (side * at(first).difference < side * at(second).difference ? high : low) =
          side * at(first).difference < side * at(second).difference ? second : first;
    }
    const Sample turn = at(low);
    if (side * turn.difference >= 0) return;
    // In [left, middle] or [middle, right]: there the plain scan has seen no change of sign.
    between(left, turn);
    between(turn, right);
  }

  const Sky& sky_;
  SkyQuantity quantity_;
  double value_;
  Instant begin_;
  Instant end_;
  std::vector<Crossing> found_;
};

}  // namespace

std::vector<Crossing> crossings(const Sky& sky, SkyQuantity quantity, double value, Instant begin,
                                Instant end) {
  if (end <= begin) return {};
  return Scan(sky, quantity, value, begin, end).run();
}

Range range_of(const Sky& sky, SkyQuantity quantity, Instant begin, Instant end) {
  Range range{value_at(sky, quantity, begin), value_at(sky, quantity, begin)};
  for (Instant time = begin; time < end; time = time + scan_step) {
    const double value = value_at(sky, quantity, time);
    range = {std::min(range.low, value), std::max(range.high, value)};
  }
  const double last = value_at(sky, quantity, end);
  return {std::min(range.low, last), std::max(range.high, last)};
}

}  // namespace cairn
