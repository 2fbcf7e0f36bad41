// Laying lines over one another, and the power balance and the charge at their best.

#include "constraints/rules/bounds.h"

#include <algorithm>
#include <cstddef>

#include "constraints/power/charge_watch.h"
#include "constraints/power/load_steps.h"

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
                                     const std::vector<HeaterInterval>& surely_on, const SolarCourse& solar) {
  std::vector<ReservePoint> points;
  SourceReader sources(station, solar);
  const double stored = station.power.storage ? station.power.storage->discharge_limit.high : 0;
  const std::vector<Instant> cuts = supply_cuts(station, timeline, solar);
  for (const LoadStep& step : load_steps(station, timeline, surely_on, Bound::Low, cuts)) {
    sources.enter(step.begin);
    const double needed = source_draw(station.power, step.load, Bound::High);
    for (const Instant time : {step.begin, step.end}) {
      const double source = sources.at(time, Bound::High);
      points.push_back({time, source, step.load, source + stored - needed});
    }
  }
  return points;
}

std::vector<ChargePoint> most_charge(const Station& station, const Timeline& timeline,
                                     const std::vector<HeaterInterval>& surely_on, const SolarCourse& solar,
                                     double begin) {
  if (!station.power.storage) return {};
  ChargeWatch watch(*station.power.storage, Bound::High, begin, station.clock.rate_error);
  SourceReader sources(station, solar);
  const std::vector<Instant> cuts = supply_cuts(station, timeline, solar);
  for (const LoadStep& step : load_steps(station, timeline, surely_on, Bound::Low, cuts)) {
    sources.enter(step.begin);
    const double needed = source_draw(station.power, step.load, Bound::High);
    // Between two points an isotope source gives less than the line between them.
    watch.advance(step.begin, step.end, sources.at(step.begin, Bound::High) - needed,
                  sources.at(step.end, Bound::High) - needed);
  }
  return watch.points();
}

}  // namespace cairn
