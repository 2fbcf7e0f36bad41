// One temperature limit followed through time: its least margin, and when it is not kept.

#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

#include "constraints/heat/course.h"
#include "constraints/timeline/timeline.h"
#include "constraints/verdict.h"

namespace cairn {

// When a condition holds, asked at times that do not fall back.
class Condition {
 public:
  struct Interval {
    Instant begin;
    Instant end;
  };
  // By which of the times an event may happen at.
  enum class Reading : std::uint8_t { Nominal, Possible, Sure };
  // Holds while the part rests in one of its states, or moves out of or into one; always when there is none.
  Condition(const Timeline& timeline, const std::optional<StateCondition>& condition,
            Reading reading = Reading::Nominal);

  void enter(Instant time);
  [[nodiscard]] bool holds() const { return holds_; }
  [[nodiscard]] const std::vector<Interval>& intervals() const { return intervals_; }

 private:
  std::vector<Interval> intervals_;
  std::size_t next_ = 0;
  bool holds_ = false;
};

class LimitWatch {
 public:
  LimitWatch(const Timeline& timeline, const ThermalNode& node, NodeId id, const TemperatureLimit& limit);

  [[nodiscard]] NodeId node() const { return node_; }
  [[nodiscard]] const TemperatureLimit& limit() const { return *limit_; }
  [[nodiscard]] Condition& condition() { return condition_; }
  // Whether a course between these temperatures can change the finding.
  [[nodiscard]] bool matters(double lowest, double highest) const;
  void follow(const std::vector<Cubic>& course);
  // The finding once all has been followed; `broken`: the temperatures could not be computed.
  Finding finish(bool broken);

 private:
  void look(double temperature, double seconds);
  void cross(double seconds, bool leaves);
  [[nodiscard]] Instant instant(double seconds) const;

  NodeId node_;
  const TemperatureLimit* limit_;
  Condition condition_;
  Instant begin_;  // of the timeline
  Finding finding_;
  bool seen_ = false;
};

}  // namespace cairn
