// Pieces of the storage's course, told in instants.

#include "constraints/power/charge_watch.h"

#include <algorithm>

namespace cairn {

const std::vector<ChargeWatch::Part>& ChargeWatch::advance(Instant begin, Instant end, double first,
                                                           double last) {
  parts_.clear();
  if (points_.empty()) add(begin, run_.charge());
  Instant from = begin;
  for (const StorageRun::Piece& piece : run_.advance(first, last, (end - begin).seconds())) {
    Instant to = end;
    if (piece.end < (end - begin).seconds()) {
      to = begin + duration_from_seconds(piece.end).value_or(end - begin);
    }
    add(to, piece.charge_end);
    if (std::min(piece.charge_begin, piece.charge_end) < floor_) {
      if (!below_) first_below_ = from;
      below_ = true;
      last_below_ = to;
    }
    // Too short for the clock: its neighbours say the same of its ends.
    if (from < to) parts_.push_back({from, to, piece.available ? run_.discharge_limit() : 0});
    from = to;
  }
  return parts_;
}

void ChargeWatch::add(Instant time, double charge) {
  if (!least_ || charge < least_->charge) least_ = ChargePoint{time, charge};
  points_.push_back({time, charge});
}

}  // namespace cairn
