// The draws in force at a time, kept up to date while a check walks along the timeline.
//
// Power and heat both step from one change of load to the next; this is the one place that decides when a
// draw is on (its nominal times) and in which order the draws in force are added up, so that both get the
// same sums.

#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "constraints/timeline/timeline.h"

namespace cairn {

class DrawSweep {
 public:
  explicit DrawSweep(const Timeline& timeline);

  // Every nominal time in [begin, end] of the timeline at which some draw begins or ends; rising, no doubles.
  [[nodiscard]] std::vector<Instant> times() const;

  // Goes on to `time` (not before the last one): draws that begin then are in force, those that end then are
  // not. True when the set has changed.
  bool advance(Instant time);

  // Indices into the timeline's draws.
  [[nodiscard]] const std::vector<std::uint32_t>& active() const { return active_; }

 private:
  struct Change {
    Instant time;
    bool begins = false;
    std::uint32_t draw = 0;
  };
  std::vector<Change> changes_;
  std::size_t next_ = 0;
  std::vector<std::uint32_t> active_;
};

}  // namespace cairn
