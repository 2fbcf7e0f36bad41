// Sunlight along each array's normal, span by span, times the efficiency at the cells' temperature. Bounds
// take one extreme of the efficiency for a whole span, so that no course inside it can leave them.

#include "constraints/heat/solar_course.h"

#include <algorithm>
#include <cmath>

#include "constraints/heat/environment.h"

namespace cairn {

namespace {

constexpr double longest_span = 300;  // s, where temperatures count

// Least and greatest temperature of a node over spans that do not go back.
class TemperatureReader {
 public:
  TemperatureReader(const HeatResult& heat, NodeId node) {
    if (!node.is_valid()) return;
    if (node.value < heat.traces.size()) trace_ = &heat.traces[node.value];
    if (node.value < heat.envelope.bands.size()) band_ = &heat.envelope.bands[node.value];
  }

  [[nodiscard]] double nominal(Instant time) {
    if (trace_ == nullptr || trace_->empty()) return 0;
    while (at_ + 1 < trace_->size() && (*trace_)[at_ + 1].time < time) ++at_;
    const TemperaturePoint& from = (*trace_)[at_];
    const TemperaturePoint& to = (*trace_)[std::min(at_ + 1, trace_->size() - 1)];
    const double part = share(from.time, to.time, time);
    return from.temperature + part * (to.temperature - from.temperature);
  }

  [[nodiscard]] BandPoint between(Instant begin, Instant end) {
    if (band_ == nullptr || band_->empty()) {
      const double first = nominal(begin);
      const double last = nominal(end);
      return {begin, std::min(first, last), std::max(first, last)};
    }
    const std::vector<BandPoint>& band = *band_;
    while (low_ + 1 < band.size() && band[low_ + 1].time <= begin) ++low_;
    BandPoint range = interpolated(low_, begin);
    std::size_t k = low_;
    const auto widen = [&](const BandPoint& point) {
      range.low = std::min(range.low, point.low);
      range.high = std::max(range.high, point.high);
    };
    for (; k + 1 < band.size() && band[k + 1].time <= end; ++k) widen(band[k + 1]);
    widen(interpolated(k, end));
    return range;
  }

 private:
  static double share(Instant from, Instant to, Instant time) {
    return to > from ? std::clamp((time - from).seconds() / (to - from).seconds(), 0.0, 1.0) : 0;
  }
  [[nodiscard]] BandPoint interpolated(std::size_t k, Instant time) const {
    const BandPoint& from = (*band_)[k];
    const BandPoint& to = (*band_)[std::min(k + 1, band_->size() - 1)];
    const double part = share(from.time, to.time, time);
    return {time, from.low + part * (to.low - from.low), from.high + part * (to.high - from.high)};
  }

  const std::vector<TemperaturePoint>* trace_ = nullptr;
  const std::vector<BandPoint>* band_ = nullptr;
  std::size_t at_ = 0;
  std::size_t low_ = 0;
};

}  // namespace

SolarCourse solar_course(const Station& station, const Sky& sky, const Timeline& timeline,
                         const HeatResult& heat) {
  const std::vector<SolarArray>& arrays = station.power.arrays;
  SolarCourse course;
  if (arrays.empty() || timeline.end <= timeline.begin) return course;
  const Environment environment(station, sky, timeline.begin, timeline.end, true);
  const std::vector<Instant>& knots = environment.knots();
  std::vector<TemperatureReader> readers;
  bool by_temperature = false;
  for (const SolarArray& array : arrays) {
    readers.emplace_back(heat, array.node);
    by_temperature |= array.node.is_valid();
  }
  for (std::size_t k = 0; k + 1 < knots.size(); ++k) {
    const double length = (knots[k + 1] - knots[k]).seconds();
    const auto parts =
        static_cast<std::int64_t>(by_temperature ? std::max(1.0, std::ceil(length / longest_span)) : 1);
    for (std::int64_t part = 0; part < parts; ++part) {
      const std::int64_t whole = (knots[k + 1] - knots[k]).nanoseconds;
      SolarSpan span;
      span.begin = knots[k] + Duration{whole / parts * part};
      span.end = part + 1 == parts ? knots[k + 1] : knots[k] + Duration{whole / parts * (part + 1)};
      if (span.begin >= span.end) continue;
      const double from = (span.begin - knots[k]).seconds() / length;
      const double to = (span.end - knots[k]).seconds() / length;
      for (std::size_t i = 0; i < arrays.size(); ++i) {
        const auto add = [&](Bound bound, double first, double last) {
          const Environment::Light light = environment.light(k, i, bound);
          const auto index = static_cast<std::size_t>(bound);
          span.first[index] += first * (light.first + from * (light.last - light.first));
          span.last[index] += last * (light.first + to * (light.last - light.first));
        };
        const std::vector<EfficiencyPoint>& law = arrays[i].efficiency;
        const BandPoint range = readers[i].between(span.begin, span.end);
        const double least = extreme_efficiency(law, range.low, range.high, Bound::Low);
        const double most = extreme_efficiency(law, range.low, range.high, Bound::High);
        add(Bound::Low, least, least);
        add(Bound::Nominal, efficiency_at(law, readers[i].nominal(span.begin), Bound::Nominal),
            efficiency_at(law, readers[i].nominal(span.end), Bound::Nominal));
        add(Bound::High, most, most);
      }
      course.push_back(span);
    }
  }
  return course;
}

}  // namespace cairn
