// What a battery or capacitor holds, integrated exactly while its surplus runs along straight lines and it
// loses by itself in proportion to what it holds.
//
// The surplus is what the sources give beyond what the loads draw, W. A positive one charges, up to the
// charge limit and until the storage is full; a negative one discharges, up to the discharge limit. Nothing
// stops at the floor, nor at nothing: a charge below the floor says how much energy the loads would take that
// must not be taken.

#pragma once

#include <vector>

#include "constraints/power/supply.h"

namespace cairn {

class StorageRun {
 public:
  // Within a piece the charge rises, falls or stays, and lies on one side of the floor; s from the step's
  // begin.
  struct Piece {
    double begin = 0;
    double end = 0;
    double charge_begin = 0;  // J
    double charge_end = 0;
    bool available = false;  // above the floor, so that the storage can be drawn on
  };

  // Low: no possible storage with no less surplus holds less, though the station's clock be off by
  // `rate_error` in how long a step takes.
  StorageRun(const Storage& storage, Bound bound, double charge, double rate_error = 0);

  // Goes on by a step in which the surplus goes from `first` to `last`.
  const std::vector<Piece>& advance(double first, double last, double seconds);

  [[nodiscard]] double charge() const { return charge_; }
  [[nodiscard]] bool full() const { return charge_ >= capacity_; }
  [[nodiscard]] bool available() const { return charge_ > floor_; }
  [[nodiscard]] double discharge_limit() const { return available_limit_; }
  // W taken in, or given, at this surplus; whichever it is not is zero.
  [[nodiscard]] double taken_in(double surplus) const;
  [[nodiscard]] double given(double surplus) const;
  // W that it loses by itself.
  [[nodiscard]] double lost() const { return charge_ > 0 ? loss_rate_ * charge_ : 0; }
  // Seconds until it is full, while the surplus stays and what it loses grows no more; infinite when it does
  // not charge, or is full.
  [[nodiscard]] double seconds_to_full(double surplus) const;

 private:
  [[nodiscard]] double rate(double surplus) const;
  [[nodiscard]] double loss_rate(double rate_begin, double rate_end) const;
  void add(double begin, double end, double rate_begin, double rate_end);
  void add_one_way(double begin, double end, double rate_begin, double rate_end);
  void add_piece(double begin, double end, double from, double to);

  double capacity_;
  double floor_;
  double charge_efficiency_;
  double discharge_efficiency_;
  double charge_limit_;
  double discharge_limit_;  // that drains it
  double available_limit_;  // that can be counted on
  double slower_;           // how long a second of the station's clock is, at least and at most
  double longer_;
  double loss_rate_;  // 1/s, of the charge
  double charge_;
  std::vector<Piece> pieces_;
};

}  // namespace cairn
