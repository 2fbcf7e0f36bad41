// The step is cut where the surplus passes zero or a limit: between two cuts the charge is a parabola.

#include "constraints/power/storage.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

namespace cairn {

StorageRun::StorageRun(const Storage& storage, Bound bound, double charge, double rate_error)
    : capacity_(pick(storage.capacity, bound)),
      floor_(storage.floor),
      charge_efficiency_(pick(storage.charge_efficiency, bound)),
      discharge_efficiency_(pick(storage.discharge_efficiency, bound)),
      charge_limit_(pick(storage.charge_limit, bound)),
      // What drains it most: the greater limit.
      discharge_limit_(pick(storage.discharge_limit, bound == Bound::Low    ? Bound::High
                                                     : bound == Bound::High ? Bound::Low
                                                                            : Bound::Nominal)),
      available_limit_(pick(storage.discharge_limit, bound)),
      slower_(bound == Bound::Low    ? 1 - rate_error
              : bound == Bound::High ? 1 + rate_error
                                     : 1),
      longer_(bound == Bound::Low    ? 1 + rate_error
              : bound == Bound::High ? 1 - rate_error
                                     : 1),
      charge_(std::min(charge, capacity_)) {}

double StorageRun::taken_in(double surplus) const {
  return full() ? 0 : std::clamp(surplus, 0.0, charge_limit_);
}

double StorageRun::given(double surplus) const { return std::clamp(-surplus, 0.0, discharge_limit_); }

double StorageRun::seconds_to_full(double surplus) const {
  const double gain = rate(surplus);
  return gain > 0 && !full() ? (capacity_ - charge_) / gain : std::numeric_limits<double>::infinity();
}

double StorageRun::rate(double surplus) const {
  return surplus > 0 ? slower_ * charge_efficiency_ * std::min(surplus, charge_limit_)
                     : -longer_ * std::min(-surplus, discharge_limit_) / discharge_efficiency_;
}

const std::vector<StorageRun::Piece>& StorageRun::advance(double first, double last, double seconds) {
  pieces_.clear();
  if (!(seconds > 0)) return pieces_;
  std::array<double, 5> cuts{0, seconds, seconds, seconds, seconds};
  std::size_t count = 1;
  for (const double level : {-discharge_limit_, 0.0, charge_limit_}) {
    if ((first < level) == (last < level) || first == last) continue;
    cuts[count++] = std::clamp(seconds * (level - first) / (last - first), 0.0, seconds);
  }
  std::sort(cuts.begin(), cuts.begin() + count);
  cuts[count] = seconds;
  const auto surplus = [&](double time) { return first + (last - first) * (time / seconds); };
  for (std::size_t i = 0; i < count; ++i) {
    if (cuts[i] >= cuts[i + 1]) continue;
    // The rate is a straight line inside; its ends are read a little inside, so that a cut counts to its own
    // side.
    const double length = cuts[i + 1] - cuts[i];
    const double early = rate(surplus(cuts[i] + 0.25 * length));
    const double late = rate(surplus(cuts[i] + 0.75 * length));
    add(cuts[i], cuts[i + 1], 1.5 * early - 0.5 * late, 1.5 * late - 0.5 * early);
  }
  return pieces_;
}

void StorageRun::add(double begin, double end, double rate_begin, double rate_end) {
  const double from = charge_;
  const double length = end - begin;
  const auto charge_at = [&](double time) {
    return from + time * (rate_begin + 0.5 * (rate_end - rate_begin) * time / length);
  };
  const bool rises = rate_begin + rate_end > 0;
  // When the charge comes to a level that lies between its values at both ends.
  const auto reaches = [&](double level) {
    double low = 0;
    double high = length;
    for (int turn = 0; turn < 100 && low < high; ++turn) {
      const double middle = 0.5 * (low + high);
      if (middle <= low || middle >= high) break;
      ((charge_at(middle) < level) == rises ? low : high) = middle;
    }
    return high;
  };
  if (rises && from >= capacity_) {
    add_piece(begin, end, capacity_, capacity_);
    return;
  }
  const double last = charge_at(length);
  const double filled = rises && last > capacity_ ? reaches(capacity_) : length;
  const double stop = filled < length ? begin + filled : end;
  const double to = filled < length ? capacity_ : std::min(last, capacity_);
  if ((from - floor_) * (to - floor_) < 0) {
    const double crossed = reaches(floor_);
    add_piece(begin, begin + crossed, from, floor_);
    add_piece(begin + crossed, stop, floor_, to);
  } else {
    add_piece(begin, stop, from, to);
  }
  if (stop < end) add_piece(stop, end, capacity_, capacity_);
}

void StorageRun::add_piece(double begin, double end, double from, double to) {
  pieces_.push_back({begin, end, from, to, std::min(from, to) >= floor_ && std::max(from, to) > floor_});
  charge_ = to;
}

}  // namespace cairn
