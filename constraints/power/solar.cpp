// Isotope sources by their law, solar arrays by their spans.

#include "constraints/power/solar.h"

#include "constraints/timeline/timeline.h"

namespace cairn {

void SourceReader::enter(Instant begin) {
  while (span_ + 1 < solar_->size() && (*solar_)[span_ + 1].begin <= begin) ++span_;
}

double SourceReader::at(Instant time, Bound bound) const {
  // Isotope sources fall: a clock that is late shows a weaker one, a clock that is early a stronger one.
  const Duration off = clock_uncertainty(station_->clock, time);
  const Instant shown = bound == Bound::Low ? time + off : bound == Bound::High ? time - off : time;
  const double steady = source_power(station_->power, shown, bound);
  if (solar_->empty()) return steady;
  const SolarSpan& span = (*solar_)[span_];
  const auto index = static_cast<std::size_t>(bound);
  const double length = (span.end - span.begin).seconds();
  const double part = length > 0 ? (time - span.begin).seconds() / length : 0;
  return steady + span.first[index] + part * (span.last[index] - span.first[index]);
}

}  // namespace cairn
