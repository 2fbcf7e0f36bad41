// Laying lines over one another, and the power balance at its best.

#include "constraints/rules/bounds.h"

#include <algorithm>
#include <cstddef>

#include "constraints/power/bound_draws.h"
#include "constraints/power/supply.h"

namespace cairn {

namespace {

struct Sides {
  double before = 0;  // what the line comes to at a time
  double from = 0;    // and what it goes on from
};

// Reads a line at times that do not fall back.
class LineReader {
 public:
  explicit LineReader(const Polyline& line) : line_(&line) {}

  Sides at(Instant time) {
    const std::vector<Instant>& times = line_->times;
    const std::vector<double>& values = line_->values;
    while (next_ < times.size() && times[next_] < time) ++next_;
    if (next_ == times.size()) return {values.back(), values.back()};
    if (times[next_] > time) {
      if (next_ == 0) return {values[0], values[0]};
      const double part = (time - times[next_ - 1]).seconds() / (times[next_] - times[next_ - 1]).seconds();
      const double value = values[next_ - 1] + (values[next_] - values[next_ - 1]) * part;
      return {value, value};
    }
    std::size_t last = next_;
    while (last + 1 < times.size() && times[last + 1] == time) ++last;
    return {values[next_], values[last]};
  }

 private:
  const Polyline* line_;
  std::size_t next_ = 0;
};

}  // namespace

Signal with_bounds(const Polyline& nominal, const Polyline& lower, const Polyline& upper) {
  Signal signal;
  if (nominal.times.empty() || lower.times.empty() || upper.times.empty()) return signal;
  std::vector<Instant> times;
  for (const Polyline* line : {&nominal, &lower, &upper}) {
    const auto middle = static_cast<std::ptrdiff_t>(times.size());
    times.insert(times.end(), line->times.begin(), line->times.end());
    std::inplace_merge(times.begin(), times.begin() + middle, times.end());
  }
  times.erase(std::unique(times.begin(), times.end()), times.end());
  LineReader read_nominal(nominal);
  LineReader read_lower(lower);
  LineReader read_upper(upper);
  const auto point = [&signal](Instant time, double at, double low, double high) {
    signal.times.push_back(time);
    signal.nominal.push_back(at);
    signal.lower.push_back(std::min(at, low));
    signal.upper.push_back(std::max(at, high));
  };
  for (const Instant time : times) {
    const Sides at = read_nominal.at(time);
    const Sides low = read_lower.at(time);
    const Sides high = read_upper.at(time);
    const bool jumps = at.before != at.from || low.before != low.from || high.before != high.from;
    if (jumps) point(time, at.before, low.before, high.before);
    point(time, at.from, low.from, high.from);
  }
  return signal;
}

std::vector<ReservePoint> best_power(const Station& station, const Timeline& timeline,
                                     const std::vector<HeaterInterval>& surely_on) {
  struct Change {
    Instant time;
    double watts = 0;
  };
  std::vector<Change> changes;
  const auto add = [&](Instant begin, Instant end, double watts) {
    begin = std::max(begin, timeline.begin);
    end = std::min(end, timeline.end);
    if (begin >= end) return;
    changes.push_back({begin, watts});
    changes.push_back({end, -watts});
  };
  const BoundDraws draws(timeline, Bound::Low);
  for (const BoundDraw& draw : draws.draws()) add(draw.begin, draw.end, draw.load);
  for (const HeaterInterval& interval : surely_on) {
    add(interval.begin, interval.end, station.thermal.heaters[interval.heater].power.low);
  }
  std::stable_sort(changes.begin(), changes.end(),
                   [](const Change& a, const Change& b) { return a.time < b.time; });
  std::vector<ReservePoint> points;
  double load = 0;
  Instant begin = timeline.begin;
  for (std::size_t i = 0; i <= changes.size();) {
    const Instant end = i == changes.size() ? timeline.end : changes[i].time;
    if (begin < end) {
      const double needed = source_draw(station.power, std::max(load, 0.0), Bound::High);
      for (const Instant time : {begin, end}) {
        // The clock may be early, so that the source is stronger than at the time it shows.
        const double source =
            source_power(station.power, time - clock_uncertainty(station.clock, time), Bound::High);
        points.push_back({time, source, std::max(load, 0.0), source - needed});
      }
    }
    if (i == changes.size()) break;
    for (begin = end; i < changes.size() && changes[i].time == end; ++i) load += changes[i].watts;
  }
  return points;
}

}  // namespace cairn
