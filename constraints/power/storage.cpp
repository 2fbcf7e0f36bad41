// The step is cut where the surplus passes zero or a limit: between two cuts the rate of charging is a
// straight line, and the charge known in closed form.

#include "constraints/power/storage.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

namespace cairn {

namespace {

// A charge that loses `loss` of itself in a second while it is fed with a rate that runs along a straight
// line.
struct Course {
  double from, rate, slope, loss;

  [[nodiscard]] double at(double time) const {
    const double x = loss * time;
    if (x == 0) return from + time * (rate + 0.5 * slope * time);
    // (1 - e^-x) / x and (1 - that) / x; by their series where those would lose digits.
    const bool small = x < 1e-3;
    const double first =
        small ? 1 - x * (1.0 / 2 - x * (1.0 / 6 - x * (1.0 / 24 - x / 120))) : -std::expm1(-x) / x;
    const double second =
        small ? 1.0 / 2 - x * (1.0 / 6 - x * (1.0 / 24 - x * (1.0 / 120 - x / 720))) : (1 - first) / x;
    return from + time * ((rate - loss * from) * first + slope * time * second);
  }
  [[nodiscard]] double slope_at(double time) const { return rate + slope * time - loss * at(time); }
};

// When a condition that holds at 0 and not at `length` ends.
template <class Condition>
double end_of(const Condition& holds, double length) {
  double low = 0;
  double high = length;
  for (int turn = 0; turn < 100; ++turn) {
    const double middle = 0.5 * (low + high);
    if (middle <= low || middle >= high) break;
    (holds(middle) ? low : high) = middle;
  }
  return high;
}

}  // namespace

StorageRun::StorageRun(const Storage& storage, Bound bound, double charge, double rate_error)
    : capacity_(pick(storage.capacity, bound)),
      floor_(storage.floor),
      charge_efficiency_(pick(storage.charge_efficiency, bound)),
      discharge_efficiency_(pick(storage.discharge_efficiency, bound)),
      charge_limit_(pick(storage.charge_limit, bound)),
      // What drains it most: the greater limit.
      discharge_limit_(pick(storage.discharge_limit, against(bound))),
      available_limit_(pick(storage.discharge_limit, bound)),
      slower_(bound == Bound::Low    ? 1 - rate_error
              : bound == Bound::High ? 1 + rate_error
                                     : 1),
      longer_(bound == Bound::Low    ? 1 + rate_error
              : bound == Bound::High ? 1 - rate_error
                                     : 1),
      loss_rate_(longer_ * self_discharge_rate(storage, against(bound))),
      charge_(std::min(charge, capacity_)) {}

double StorageRun::taken_in(double surplus) const {
  // A full one takes in what it loses.
  const double most = full() ? std::min(charge_limit_, lost() / charge_efficiency_) : charge_limit_;
  return std::clamp(surplus, 0.0, most);
}

double StorageRun::given(double surplus) const { return std::clamp(-surplus, 0.0, discharge_limit_); }

double StorageRun::seconds_to_full(double surplus) const {
  const double gain = rate(surplus) - lost();
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

// What is missing is not lost.
double StorageRun::loss_rate(double rate_begin, double rate_end) const {
  return charge_ > 0 || (charge_ == 0 && rate_begin + rate_end > 0) ? loss_rate_ : 0;
}

// Cut where a full storage begins to lose more than it is given, and where a charge turns round: it does so
// at most once.
void StorageRun::add(double begin, double end, double rate_begin, double rate_end) {
  const double length = end - begin;
  const double kept = loss_rate_ * capacity_;  // W that keep it full
  if (charge_ >= capacity_ && (rate_begin > kept || (rate_begin == kept && rate_end > kept))) {
    if (rate_end >= kept) {
      add_piece(begin, end, capacity_, capacity_);
      return;
    }
    const double until = begin + length * (rate_begin - kept) / (rate_begin - rate_end);
    add_piece(begin, until, capacity_, capacity_);
    if (until < end) add_one_way(until, end, kept, rate_end);
    return;
  }
  const double loss = loss_rate(rate_begin, rate_end);
  const Course course{charge_, rate_begin, (rate_end - rate_begin) / length, loss};
  const bool rises = course.slope_at(0) > 0;
  if (loss == 0 || rises == (course.slope_at(length) > 0)) {
    add_one_way(begin, end, rate_begin, rate_end);
    return;
  }
  const double turn = end_of([&](double time) { return (course.slope_at(time) > 0) == rises; }, length);
  const double rate_there = rate_begin + (rate_end - rate_begin) * turn / length;
  add_one_way(begin, begin + turn, rate_begin, rate_there);
  if (turn >= length) return;
  // One that became full on the way may stay so for a while.
  if (charge_ >= capacity_) {
    add(begin + turn, end, rate_there, rate_end);
  } else {
    add_one_way(begin + turn, end, rate_there, rate_end);
  }
}

// While the charge does not turn round, unless it becomes full.
void StorageRun::add_one_way(double begin, double end, double rate_begin, double rate_end) {
  const double from = charge_;
  const double length = end - begin;
  const Course course{from, rate_begin, (rate_end - rate_begin) / length, loss_rate(rate_begin, rate_end)};
  const double last = course.at(length);
  const bool rises = last > from;
  // When the charge comes to a level that lies between its values at both ends.
  const auto reaches = [&](double level) {
    return end_of([&](double time) { return (course.at(time) < level) == rises; }, length);
  };
  if (loss_rate_ > 0 && from * last < 0) {
    const double empty = reaches(0);
    add_piece(begin, begin + empty, from, 0);
    if (empty < length) add(begin + empty, end, rate_begin + course.slope * empty, rate_end);
    return;
  }
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
  if (stop < end) add(stop, end, rate_begin + (rate_end - rate_begin) * filled / length, rate_end);
}

void StorageRun::add_piece(double begin, double end, double from, double to) {
  pieces_.push_back({begin, end, from, to, std::min(from, to) >= floor_ && std::max(from, to) > floor_});
  charge_ = to;
}

}  // namespace cairn
