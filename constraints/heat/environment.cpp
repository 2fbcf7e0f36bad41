// Knots, crossings between them, and the samples at both ends of each span.

#include "constraints/heat/environment.h"

#include <algorithm>
#include <cmath>

#include "constraints/heat/heat.h"
#include "constraints/timeline/timeline.h"

namespace cairn {

namespace {

constexpr Duration decay_spacing = seconds_to_duration(86'400);
constexpr int looks_per_span = 3;  // for crossings
constexpr Duration located_to = {1'000'000};

double fourth_power(double x) { return x * x * x * x; }

// Between two samples the Sun's light lies above the line through them, by less than this.
constexpr double above_chord = 1 + 3e-6;

// Cosine of the angle between the Sun and the normal of a face or an array.
double cosine(const auto& face, const SkyPoint& sun) {
  return std::sin(sun.elevation) * std::sin(face.normal_elevation) +
         std::cos(sun.elevation) * std::cos(face.normal_elevation) *
             std::cos(sun.azimuth - face.normal_azimuth);
}

}  // namespace

Environment::Environment(const Station& station, const Sky& sky, Instant begin, Instant end, bool bounds,
                         bool exact)
    : station_(&station), exact_(exact) {
  const ThermalNetwork& thermal = station.thermal;
  needs_sun_ = !thermal.faces.empty() || !station.power.arrays.empty() ||
               std::any_of(thermal.sinks.begin(), thermal.sinks.end(),
                           [](const Sink& s) { return s.kind == SinkKind::Ground; });
  const Duration spacing = needs_sun_ ? sun_spacing(station.site.body) : decay_spacing;
  for (Instant knot = begin; knot < end; knot = knot + spacing) {
    knots_.push_back(knot);
    if (needs_sun_) add_crossings(sky, knot, std::min(knot + spacing, end));
  }
  knots_.push_back(end);
  if (bounds && needs_sun_) {
    // What jumps at a knot may do so while the clock is off.
    clock_ = std::max(clock_uncertainty(station.clock, begin), clock_uncertainty(station.clock, end));
    const std::size_t count = knots_.size();
    for (std::size_t i = 0; i < count; ++i) {
      for (const Instant near : {knots_[i] - clock_, knots_[i] + clock_}) {
        if (near > begin && near < end) knots_.push_back(near);
      }
    }
  }
  std::sort(knots_.begin(), knots_.end());
  knots_.erase(std::unique(knots_.begin(), knots_.end()), knots_.end());

  for (std::size_t i = 0; i + 1 < knots_.size(); ++i) {
    spans_.push_back({(knots_[i] - begin).seconds(), (knots_[i + 1] - begin).seconds(), {}});
    add_span(sky, knots_[i], knots_[i + 1], Bound::Nominal);
    if (!bounds) continue;
    add_span(sky, knots_[i], knots_[i + 1], Bound::Low);
    add_span(sky, knots_[i], knots_[i + 1], Bound::High);
  }
}

void Environment::add_span(const Sky& sky, Instant from, Instant to, Bound bound) {
  // Which faces are lit is one answer for the whole span, found in its middle: for a bound, whether they may
  // be lit, or surely are, while the clock is off.
  const Instant middle = from + Duration{(to - from).nanoseconds / 2};
  std::vector<double> lit;
  if (needs_sun_) {
    lit = signs(sky, middle);
    if (bound != Bound::Nominal && clock_.nanoseconds > 0) {
      for (const Instant near : {middle - clock_, middle + clock_}) {
        const std::vector<double> there = signs(sky, near);
        for (std::size_t k = 0; k < lit.size(); ++k) {
          lit[k] = bound == Bound::High ? std::max(lit[k], there[k]) : std::min(lit[k], there[k]);
        }
      }
    }
  }
  const auto at = [&](Instant time) {
    Sample value = sample(sky, time, lit, bound);
    if (bound == Bound::Nominal || !needs_sun_ || clock_.nanoseconds == 0) return value;
    for (const Instant near : {time - clock_, time + clock_}) {
      const Sample there = sample(sky, near, lit, bound);
      for (std::size_t k = 0; k < value.size(); ++k) {
        value[k] = bound == Bound::High ? std::max(value[k], there[k]) : std::min(value[k], there[k]);
      }
    }
    return value;
  };
  spans_.back().ends[static_cast<std::size_t>(bound)] = {at(from), at(to)};
}

// Positive where the Sun is above the mask, above the plane of the ground, before each face.
std::vector<double> Environment::signs(const Sky& sky, Instant time) const {
  const SkyPoint sun = sky.sun(time);
  std::vector<double> result{sun.elevation - horizon_elevation(station_->site, sun.azimuth), sun.elevation};
  for (const SunlitFace& face : station_->thermal.faces) result.push_back(cosine(face, sun));
  for (const SolarArray& array : station_->power.arrays) result.push_back(cosine(array, sun));
  return result;
}

void Environment::add_crossings(const Sky& sky, Instant begin, Instant end) {
  Instant from = begin;
  std::vector<double> before = signs(sky, from);
  for (int look = 1; look <= looks_per_span; ++look) {
    const Instant to = begin + Duration{(end - begin).nanoseconds / looks_per_span * look};
    const std::vector<double> after = signs(sky, to);
    for (std::size_t i = 0; i < after.size(); ++i) {
      if ((before[i] > 0) == (after[i] > 0)) continue;
      Instant low = from;
      Instant high = to;
      while (high - low > located_to) {
        const Instant middle = low + Duration{(high - low).nanoseconds / 2};
        ((signs(sky, middle)[i] > 0) == (before[i] > 0) ? low : high) = middle;
      }
      if (high > begin && high < end) knots_.push_back(high);
    }
    from = to;
    before = after;
  }
}

Environment::Sample Environment::sample(const Sky& sky, Instant time, const std::vector<double>& lit,
                                        Bound bound) const {
  const ThermalNetwork& thermal = station_->thermal;
  const std::size_t nodes = thermal.nodes.size();
  const std::vector<SolarArray>& arrays = station_->power.arrays;
  const std::size_t electrical = nodes + thermal.sinks.size();
  Sample values(electrical + 1 + arrays.size(), 0.0);
  for (const IsotopeSource& source : station_->power.sources) {
    if (source.heat_node.is_valid()) values[source.heat_node.value] += source_heat(source, time, bound);
  }
  for (std::size_t i = 0; i < thermal.sinks.size(); ++i) {
    values[nodes + i] = fourth_power(pick(thermal.sinks[thermal.sinks.id_at(i)].temperature, bound));
  }
  values[electrical] = source_power(station_->power, time, bound);
  if (!needs_sun_) return values;

  const SkyPoint sun = sky.sun(time);
  const double flux = sky.solar_flux(time);
  const double chord = bound == Bound::High && !exact_ ? above_chord : 1;
  for (std::size_t i = 0; i < thermal.faces.size(); ++i) {
    const SunlitFace& face = thermal.faces[i];
    if (lit[0] <= 0 || lit[2 + i] <= 0) continue;
    values[face.node.value] += flux * pick(face.area, bound) * std::max(0.0, cosine(face, sun)) * chord;
  }
  for (std::size_t i = 0; i < arrays.size(); ++i) {
    if (lit[0] <= 0 || lit[2 + thermal.faces.size() + i] <= 0) continue;
    values[electrical + 1 + i] =
        flux * array_gain(arrays[i], time, bound) * std::max(0.0, cosine(arrays[i], sun)) * chord;
  }
  for (std::size_t i = 0; i < thermal.sinks.size(); ++i) {
    const Sink& sink = thermal.sinks[thermal.sinks.id_at(i)];
    if (sink.kind != SinkKind::Ground || lit[1] <= 0) continue;
    const double absorbed =
        (1 - pick(sink.albedo, against(bound))) * flux * std::max(0.0, std::sin(sun.elevation));
    values[nodes + i] += absorbed / (pick(sink.emissivity, against(bound)) * stefan_boltzmann) * chord;
  }
  return values;
}

void Environment::enter(Instant time) {
  while (span_ + 1 < spans_.size() && knots_[span_ + 1] <= time) ++span_;
}

double Environment::apply(double seconds, std::vector<double>& heat, std::vector<double>& sinks,
                          Bound bound) const {
  const Span& span = spans_[span_];
  const Ends& ends = span.ends[static_cast<std::size_t>(bound)];
  const double part = std::clamp((seconds - span.begin) / (span.end - span.begin), 0.0, 1.0);
  const auto value = [&](std::size_t i) { return ends.first[i] + part * (ends.last[i] - ends.first[i]); };
  const std::size_t nodes = station_->thermal.nodes.size();
  for (std::size_t i = 0; i < nodes; ++i) heat[i] += value(i);
  const ThermalNetwork& thermal = station_->thermal;
  sinks.resize(std::max(sinks.size(), thermal.sinks.size()));
  for (std::size_t i = 0; i < thermal.sinks.size(); ++i) {
    const Sink& sink = thermal.sinks[thermal.sinks.id_at(i)];
    sinks[i] = sink.kind == SinkKind::Ground ? std::sqrt(std::sqrt(value(nodes + i)))
                                             : pick(sink.temperature, bound);
  }
  return value(nodes + thermal.sinks.size());
}

Pair Environment::apply(double seconds, std::vector<Pair>& heat, std::vector<Pair>& sinks) const {
  const Span& span = spans_[span_];
  const Ends& low = span.ends[static_cast<std::size_t>(Bound::Low)];
  const Ends& high = span.ends[static_cast<std::size_t>(Bound::High)];
  const double part = std::clamp((seconds - span.begin) / (span.end - span.begin), 0.0, 1.0);
  const auto value = [&](std::size_t i) {
    const Pair first{low.first[i], high.first[i]};
    const Pair last{low.last[i], high.last[i]};
    return first + part * (last - first);
  };
  const std::size_t nodes = station_->thermal.nodes.size();
  for (std::size_t i = 0; i < nodes; ++i) heat[i] += value(i);
  const ThermalNetwork& thermal = station_->thermal;
  sinks.resize(std::max(sinks.size(), thermal.sinks.size()));
  for (std::size_t i = 0; i < thermal.sinks.size(); ++i) {
    const Sink& sink = thermal.sinks[thermal.sinks.id_at(i)];
    if (sink.kind != SinkKind::Ground) {
      sinks[i] = Pair{sink.temperature.low, sink.temperature.high};
      continue;
    }
    const Pair fourth = value(nodes + i);
    sinks[i] = Pair{std::sqrt(std::sqrt(fourth[0])), std::sqrt(std::sqrt(fourth[1]))};
  }
  return value(nodes + thermal.sinks.size());
}

Environment::Light Environment::light(std::size_t knot, std::size_t array, Bound bound) const {
  const Ends& ends = spans_[knot].ends[static_cast<std::size_t>(bound)];
  const std::size_t index = station_->thermal.nodes.size() + station_->thermal.sinks.size() + 1 + array;
  return {ends.first[index], ends.last[index]};
}

double Environment::light_at(double seconds, std::size_t array) const {
  const Span& span = spans_[span_];
  const Light ends = light(span_, array, Bound::Nominal);
  const double part = std::clamp((seconds - span.begin) / (span.end - span.begin), 0.0, 1.0);
  return ends.first + part * (ends.last - ends.first);
}

}  // namespace cairn
