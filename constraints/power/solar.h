// What the solar arrays give over a load, worked out by those who know the sky and the temperatures (heat/).

#pragma once

#include <array>
#include <cstddef>
#include <vector>

#include "constraints/power/supply.h"

namespace cairn {

// W of all arrays at both ends of a span, by Bound; straight lines between.
struct SolarSpan {
  Instant begin;
  Instant end;
  std::array<double, 3> first{};
  std::array<double, 3> last{};
};

// Spans without gaps over the load, rising; none: no arrays.
using SolarCourse = std::vector<SolarSpan>;

// The power of all sources, read step by step; steps do not go back and straddle no end of a span.
class SourceReader {
 public:
  SourceReader(const Station& station, const SolarCourse& solar) : station_(&station), solar_(&solar) {}

  void enter(Instant begin);
  // Within the step that has been entered. For a bound the station's clock may be off.
  [[nodiscard]] double at(Instant time, Bound bound) const;

 private:
  const Station* station_;
  const SolarCourse* solar_;
  std::size_t span_ = 0;
};

}  // namespace cairn
