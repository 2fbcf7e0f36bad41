// The charge of a storage followed through a load: its course, and its least margin above the floor.

#pragma once

#include <optional>
#include <vector>

#include "constraints/power/power.h"
#include "constraints/power/storage.h"

namespace cairn {

class ChargeWatch {
 public:
  ChargeWatch(const Storage& storage, Bound bound, double charge, double rate_error)
      : run_(storage, bound, charge, rate_error), floor_(storage.floor) {}

  // A part of a step in which the storage can be drawn on all the time, or not at all.
  struct Part {
    Instant begin;
    Instant end;
    double available = 0;  // W
  };
  // A step in which the surplus goes from `first` to `last`.
  const std::vector<Part>& advance(Instant begin, Instant end, double first, double last);

  [[nodiscard]] const std::vector<ChargePoint>& points() const { return points_; }
  [[nodiscard]] double charge() const { return run_.charge(); }
  [[nodiscard]] const std::optional<ChargePoint>& least() const { return least_; }
  [[nodiscard]] double margin() const { return least_->charge - floor_; }
  // When the charge is first and last below the floor.
  [[nodiscard]] Instant first_below() const { return first_below_; }
  [[nodiscard]] Instant last_below() const { return last_below_; }

 private:
  void add(Instant time, double charge);

  StorageRun run_;
  double floor_;
  std::vector<Part> parts_;
  std::vector<ChargePoint> points_;
  std::optional<ChargePoint> least_;
  bool below_ = false;
  Instant first_below_;
  Instant last_below_;
};

}  // namespace cairn
