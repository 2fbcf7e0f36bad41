// The timeline's draws as they may be: for each instant what draws at most, and what draws at least.
//
// A draw whose begin and end are known only within an interval counts in full as long as it may be on for the
// upper bound, and only where it surely is for the lower. A part is in one occupation at a time: where one
// may have given way to the next, the upper bound is the greater of the two (not their sum), the lower the
// lesser.

#pragma once

#include <cstddef>
#include <deque>
#include <vector>

#include "constraints/power/supply.h"
#include "constraints/timeline/timeline.h"

namespace cairn {

struct BoundDraw {
  Instant begin;
  Instant end;
  double load = 0;                               // W
  const std::vector<HeatShare>* heat = nullptr;  // shares of `load`
  UnitId unit;
};

class BoundDraws {
 public:
  // `bound` is Low or High. Holds on to the timeline's lists.
  BoundDraws(const Timeline& timeline, Bound bound);

  [[nodiscard]] const std::vector<BoundDraw>& draws() const { return draws_; }  // rising by begin
  [[nodiscard]] const std::vector<std::size_t>& by_end() const { return by_end_; }

 private:
  void add_part(const std::vector<const Draw*>& draws, Bound bound);
  void add(Instant begin, Instant end, double load, const std::vector<HeatShare>& heat, UnitId unit);

  Instant begin_;
  Instant end_;
  std::vector<BoundDraw> draws_;
  std::vector<std::size_t> by_end_;
  std::deque<std::vector<HeatShare>> mixed_;  // of pieces in which two occupations are possible
};

}  // namespace cairn
