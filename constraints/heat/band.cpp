// The swinging-door rule, one door for each edge, opened only outwards.

#include "constraints/heat/band.h"

#include <algorithm>
#include <utility>

namespace cairn {

void BandKeeper::Edge::restart(double value) {
  anchor = value;
  least_slope = -std::numeric_limits<double>::infinity();
  greatest_slope = std::numeric_limits<double>::infinity();
}

double BandKeeper::Edge::end(double value, double seconds) const {
  return anchor + std::max(least_slope, (value - anchor) / seconds) * seconds;
}

bool BandKeeper::Edge::reaches(double value, double seconds) const {
  const double line = end(value, seconds);
  return line <= value + tolerance && (line - anchor) / seconds <= greatest_slope;
}

void BandKeeper::Edge::pass(double value, double seconds) {
  least_slope = std::max(least_slope, (value - anchor) / seconds);
  greatest_slope = std::min(greatest_slope, (value + tolerance - anchor) / seconds);
}

BandKeeper::BandKeeper(double tolerance, double share, Instant time, double low, double high)
    : tolerance_(tolerance), share_(share), anchor_(time), last_{time, low, high} {
  low_.tolerance = high_.tolerance = this->tolerance(low, high);
  low_.restart(-low);
  high_.restart(high);
  points_.push_back(last_);
}

// Ends the lines at the newest point.
void BandKeeper::emit() {
  const double seconds = (last_.time - anchor_).seconds();
  const double low = low_.end(-last_.low, seconds);
  const double high = high_.end(last_.high, seconds);
  points_.push_back({last_.time, -low, high});
  low_.restart(low);
  high_.restart(high);
  anchor_ = last_.time;
  pending_ = false;
}

void BandKeeper::add(Instant time, double low, double high, double bulge_low, double bulge_high) {
  if (time <= last_.time) {  // two at one time: the wider
    last_.low = std::min(last_.low, low);
    last_.high = std::max(last_.high, high);
    if (!pending_) {
      points_.back().low = std::min(points_.back().low, last_.low);
      points_.back().high = std::max(points_.back().high, last_.high);
      low_.restart(-points_.back().low);
      high_.restart(points_.back().high);
    }
    return;
  }
  // A chord moved out by its bulge: both its ends are.
  if (bulge_low > last_bulge_low_ || bulge_high > last_bulge_high_) {
    last_.low -= std::max(0.0, bulge_low - last_bulge_low_);
    last_.high += std::max(0.0, bulge_high - last_bulge_high_);
    if (!pending_) {
      points_.back().low = std::min(points_.back().low, last_.low);
      points_.back().high = std::max(points_.back().high, last_.high);
      low_.restart(-points_.back().low);
      high_.restart(points_.back().high);
    }
  }
  low -= bulge_low;
  high += bulge_high;
  last_bulge_low_ = bulge_low;
  last_bulge_high_ = bulge_high;
  low_.tolerance = high_.tolerance = tolerance(low, high);
  if (pending_) {
    const double before = (last_.time - anchor_).seconds();
    const double seconds = (time - anchor_).seconds();
    Edge low_door = low_;
    Edge high_door = high_;
    low_door.pass(-last_.low, before);
    high_door.pass(last_.high, before);
    if (low_door.reaches(-low, seconds) && high_door.reaches(high, seconds)) {
      low_ = low_door;
      high_ = high_door;
    } else {
      emit();
    }
  }
  last_ = {time, low, high};
  pending_ = true;
}

std::vector<BandPoint> BandKeeper::finish() {
  if (pending_) emit();
  return std::move(points_);
}

}  // namespace cairn
