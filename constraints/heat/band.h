// A band kept with few points: straight lines between them stay outside the band that was put in, and close
// to it.

#pragma once

#include <algorithm>
#include <limits>
#include <vector>

#include "constraints/heat/heat.h"

namespace cairn {

class BandKeeper {
 public:
  // The lines leave the band by no more than `tolerance`, K, or `share` of its width.
  BandKeeper(double tolerance, double share, Instant time, double low, double high);

  [[nodiscard]] double tolerance(double low, double high) const {
    return std::max(tolerance_, share_ * (high - low));
  }

  // The band runs from the last point to this one: no wider between than the chords, moved out by the bulges.
  void add(Instant time, double low, double high, double bulge_low, double bulge_high);
  std::vector<BandPoint> finish();

 private:
  // One edge, counted so that outside is up.
  struct Edge {
    double tolerance = 0;
    double anchor = 0;
    double least_slope = -std::numeric_limits<double>::infinity();  // lines flatter than this cut a point off
    double greatest_slope = std::numeric_limits<double>::infinity();

    void restart(double value);
    // Where the line from the anchor may end `seconds` later, the point itself being at `value`.
    [[nodiscard]] bool reaches(double value, double seconds) const;
    [[nodiscard]] double end(double value, double seconds) const;
    void pass(double value, double seconds);
  };
  void emit();

  double tolerance_;
  double share_;
  Edge low_;
  Edge high_;
  Instant anchor_;
  BandPoint last_;             // the newest point, not yet kept
  double last_bulge_low_ = 0;  // by which it has been moved out
  double last_bulge_high_ = 0;
  bool pending_ = false;
  std::vector<BandPoint> points_;
};

}  // namespace cairn
