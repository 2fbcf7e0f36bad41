// Arithmetic of courses: each operation is one sweep over the pieces.

#include "constraints/rules/course.h"

#include <algorithm>
#include <cmath>
#include <deque>
#include <utility>

namespace cairn {

bool is_less(double a, double b) { return a < b || (a == b && std::signbit(a) && !std::signbit(b)); }

bool is_met(double value) { return value > 0 || (value == 0 && !std::signbit(value)); }

namespace {

double signed_zero(double value, bool met) { return value != 0 ? value : met ? 0.0 : -0.0; }

}  // namespace

double value_in(const Piece& piece, RuleTime piece_end, RuleTime time) {
  if (time <= piece.begin) return piece.first;
  if (piece.first == piece.last) return signed_zero(piece.first, piece.zero_met);
  if (time >= piece_end) return piece.last;
  const double length = static_cast<double>(piece_end - piece.begin);
  const double gone = static_cast<double>(time - piece.begin);
  // Times grow and shrink with time itself; exact, so that a limit met to the nanosecond is met.
  if (piece.last - piece.first == length) return signed_zero(piece.first + gone, piece.zero_met);
  if (piece.first - piece.last == length) return signed_zero(piece.first - gone, piece.zero_met);
  const double part = gone / length;
  return signed_zero(piece.first + (piece.last - piece.first) * part, piece.zero_met);
}

namespace {

bool same(double a, double b) { return a == b && std::signbit(a) == std::signbit(b); }

// Walks over the pieces of a course as time goes on.
class Walk {
 public:
  explicit Walk(const Course& course) : course_(&course) {}
  void enter(RuleTime time) {
    while (index_ + 1 < course_->pieces().size() && course_->pieces()[index_ + 1].begin <= time) ++index_;
  }
  [[nodiscard]] std::size_t index() const { return index_; }
  [[nodiscard]] RuleTime next() const { return course_->piece_end(index_); }
  [[nodiscard]] bool zero_met() const { return course_->pieces()[index_].zero_met; }
  // For times within the piece, its end included.
  [[nodiscard]] double value(RuleTime time) const {
    const Piece& piece = course_->pieces()[index_];
    return time == piece.begin ? piece.first : value_in(piece, next(), time);
  }
  [[nodiscard]] double towards(RuleTime time) const {
    return time >= next() ? course_->pieces()[index_].last : value(time);
  }

 private:
  const Course* course_;
  std::size_t index_ = 0;
};

// Joins pieces of the courses it is given into one, without cutting them where nothing changes.
class Joiner {
 public:
  explicit Joiner(RuleTime end, std::size_t pieces) : course_(end) { course_.reserve(pieces); }
  // A stretch of piece `index` of source `source`; -1: of neither.
  void add(int source, std::size_t index, RuleTime begin, double first, double last, bool zero_met) {
    if (source >= 0 && source == source_ && index == index_) {
      course_.extend(last);
    } else {
      course_.append(begin, first, last, zero_met);
    }
    source_ = source;
    index_ = index;
  }
  Course finish() { return std::move(course_); }

 private:
  Course course_;
  int source_ = -1;
  std::size_t index_ = 0;
};

template <class Better>
Course choose(const Course& a, const Course& b, const Better& better, RuleEffort& effort) {
  Joiner joiner(a.end(), a.pieces().size() + b.pieces().size());
  Walk f(a);
  Walk g(b);
  for (RuleTime time = 0; time < a.end();) {
    ++effort.steps;
    f.enter(time);
    g.enter(time);
    const RuleTime next = std::min(f.next(), g.next());
    const double f0 = f.value(time);
    const double g0 = g.value(time);
    const double f1 = f.towards(next);
    const double g1 = g.towards(next);
    const bool f_begins = !better(g0, f0);
    const bool f_ends = !better(g1, f1);
    const double f_zero = signed_zero(0, f.zero_met());
    const double g_zero = signed_zero(0, g.zero_met());
    const bool best_zero = is_met(better(g_zero, f_zero) ? g_zero : f_zero);
    const auto take_f = [&](RuleTime from, double first, double last) {
      joiner.add(0, f.index(), from, first, last, f.zero_met());
    };
    const auto take_g = [&](RuleTime from, double first, double last) {
      joiner.add(1, g.index(), from, first, last, g.zero_met());
    };
    if (same(f0, g0) && same(f1, g1) && f.zero_met() != g.zero_met()) {
      joiner.add(-1, 0, time, f0, f1, best_zero);
    } else if (f_begins == f_ends || same(f0, g0) || same(f1, g1)) {
      const bool takes_f = same(f0, g0) ? f_ends : f_begins;
      takes_f ? take_f(time, f0, f1) : take_g(time, g0, g1);
    } else {
      // They cross; both are finite here.
      const double part = (f0 - g0) / ((f0 - g0) - (f1 - g1));
      const RuleTime cross =
          time + static_cast<RuleTime>(std::llround(static_cast<double>(next - time) * part));
      const double at_cross = f.value(cross);
      const double value =
          signed_zero(at_cross == g.value(cross) ? at_cross : f0 + (f1 - f0) * part, best_zero);
      if (cross <= time || cross >= next) {
        const bool rest_is_f = cross <= time ? f_ends : f_begins;
        joiner.add(-1, 0, time, f_begins ? f0 : g0, f_ends ? f1 : g1,
                   rest_is_f ? f.zero_met() : g.zero_met());
      } else {
        f_begins ? take_f(time, f0, value) : take_g(time, g0, value);
        f_ends ? take_f(cross, value, f1) : take_g(cross, value, g1);
      }
    }
    time = next;
  }
  return joiner.finish();
}

}  // namespace

Course Course::constant(RuleTime end, double value) {
  Course course(end);
  course.append(0, value, value);
  return course;
}

void Course::append(RuleTime begin, double first, double last, bool zero_met) {
  if (begin >= end_) return;
  while (!pieces_.empty() && pieces_.back().begin >= begin) pieces_.pop_back();
  if (same(first, last)) {
    if (first == 0) zero_met = !std::signbit(first);
    if (!pieces_.empty() && same(pieces_.back().first, first) && same(pieces_.back().last, first)) return;
  }
  pieces_.push_back({begin, first, last, zero_met});
}

void Course::append_constant(RuleTime begin, double value) { append(begin, value, value); }

std::size_t Course::index_of(RuleTime time) const {
  const auto after = std::upper_bound(pieces_.begin(), pieces_.end(), time,
                                      [](RuleTime t, const Piece& piece) { return t < piece.begin; });
  return after == pieces_.begin() ? 0 : static_cast<std::size_t>(after - pieces_.begin()) - 1;
}

double Course::at(RuleTime time) const {
  if (pieces_.empty()) return surely;
  const std::size_t index = index_of(time);
  return value_in(pieces_[index], piece_end(index), time);
}

double Course::before(RuleTime time) const {
  if (time <= 0 || pieces_.empty()) return at(0);
  const std::size_t index = index_of(time - 1);
  return value_in(pieces_[index], piece_end(index), time);
}

void Course::negate() {
  for (Piece& piece : pieces_) piece = {piece.begin, -piece.first, -piece.last, !piece.zero_met};
}

void Course::raise(double by) {
  // Zero comes out as +0 whatever the sign of those that went in.
  for (Piece& piece : pieces_) piece = {piece.begin, piece.first + by + 0.0, piece.last + by + 0.0, true};
}

Course negated(Course course) {
  course.negate();
  return course;
}

Course raised(Course course, double by) {
  course.raise(by);
  return course;
}

Course lesser(const Course& a, const Course& b, RuleEffort& effort) { return choose(a, b, is_less, effort); }

Course greater(const Course& a, const Course& b, RuleEffort& effort) {
  return choose(
      a, b, [](double x, double y) { return is_less(y, x); }, effort);
}

Course sum(const Course& a, const Course& b, double weight, RuleEffort& effort) {
  Course result(a.end());
  Walk f(a);
  Walk g(b);
  for (RuleTime time = 0; time < a.end();) {
    ++effort.steps;
    f.enter(time);
    g.enter(time);
    const RuleTime next = std::min(f.next(), g.next());
    result.append(time, f.value(time) + weight * g.value(time), f.towards(next) + weight * g.towards(next));
    time = next;
  }
  return result;
}

Course shifted(const Course& course, RuleTime by, double outside, RuleEffort& effort) {
  const RuleTime end = course.end();
  Course result(end);
  result.reserve(course.pieces().size() + 1);
  if (by <= -end || by >= end) return Course::constant(end, outside);
  if (by < 0) result.append_constant(0, outside);
  for (std::size_t i = 0; i < course.pieces().size(); ++i) {
    ++effort.steps;
    const Piece& piece = course.pieces()[i];
    const RuleTime piece_end = course.piece_end(i);
    if (piece_end <= by) continue;
    const RuleTime from = std::max(piece.begin, std::max<RuleTime>(by, 0));
    const RuleTime to = std::min(piece_end, end + by);
    if (from >= to) break;
    result.append(from - by, value_in(piece, piece_end, from),
                  to == piece_end ? piece.last : value_in(piece, piece_end, to), piece.zero_met);
  }
  if (by > 0) result.append_constant(end - by, outside);
  return result;
}

Course greatest_within(const Course& course, RuleTime from, RuleTime to, RuleEffort& effort) {
  const RuleTime end = course.end();
  if (end <= 0) return course;
  if (from > to) return Course::constant(end, -surely);
  from = std::clamp(from, -end, end);
  to = std::clamp(to, -end, end);
  // Of the knots within (t + from, t + to] the greatest: each enters once, and leaves once (Lemire 2006).
  struct Knot {
    RuleTime time;
    double value;
  };
  std::vector<Knot> knots;
  knots.reserve(course.pieces().size() + 1);
  for (std::size_t i = 0; i < course.pieces().size(); ++i) {
    const double first = course.pieces()[i].first;
    const double before = i > 0 ? course.pieces()[i - 1].last : first;
    knots.push_back({course.pieces()[i].begin, is_less(before, first) ? first : before});
  }
  knots.push_back({end, course.pieces().back().last});
  Course within(end);
  std::deque<Knot> window;
  std::size_t next = 0;
  for (RuleTime time = 0; time < end;) {
    while (next < knots.size() && knots[next].time <= time + to) {
      ++effort.steps;
      while (!window.empty() && !is_less(knots[next].value, window.back().value)) window.pop_back();
      window.push_back(knots[next++]);
    }
    while (!window.empty() && window.front().time <= time + from) {
      ++effort.steps;
      window.pop_front();
    }
    within.append_constant(time, window.empty() ? -surely : window.front().value);
    // The next time at which a knot enters or the greatest one leaves.
    RuleTime then = end;
    if (next < knots.size()) then = std::min(then, knots[next].time - to);
    if (!window.empty()) then = std::min(then, window.front().time - from);
    ++effort.steps;
    time = then;
  }
  return greater(
      within, greater(shifted(course, from, -surely, effort), shifted(course, to, -surely, effort), effort),
      effort);
}

Course least_within(const Course& course, RuleTime from, RuleTime to, RuleEffort& effort) {
  Course result = greatest_within(negated(course), from, to, effort);
  result.negate();
  return result;
}

std::vector<Stretch> met_stretches(const Course& course, RuleEffort& effort) {
  std::vector<Stretch> result;
  const auto add = [&result](RuleTime begin, RuleTime end) {
    if (begin >= end) return;
    if (!result.empty() && result.back().end == begin) {
      result.back().end = end;
    } else {
      result.push_back({begin, end});
    }
  };
  for (std::size_t i = 0; i < course.pieces().size(); ++i) {
    ++effort.steps;
    const Piece& piece = course.pieces()[i];
    const RuleTime end = course.piece_end(i);
    const bool begins = is_met(piece.first);
    const bool ends = is_met(piece.last);
    if (piece.first == piece.last || begins == ends) {
      if (piece.first == 0 && piece.last == 0 ? piece.zero_met : begins) add(piece.begin, end);
      continue;
    }
    const double part = piece.first / (piece.first - piece.last);
    RuleTime cross =
        piece.begin + static_cast<RuleTime>(std::llround(static_cast<double>(end - piece.begin) * part));
    cross = std::clamp(cross, piece.begin, end);
    begins ? add(piece.begin, cross) : add(cross, end);
  }
  return result;
}

Course truth(const std::vector<Stretch>& stretches, RuleTime end, RuleEffort& effort) {
  Course course(end);
  course.append_constant(0, -surely);
  for (const Stretch& stretch : stretches) {
    ++effort.steps;
    course.append_constant(stretch.begin, surely);
    course.append_constant(stretch.end, -surely);
  }
  return course;
}

Extreme least(const Course& course, RuleTime begin, RuleTime end, bool closed, RuleEffort& effort) {
  Extreme result;
  begin = std::max<RuleTime>(begin, 0);
  end = std::min(end, course.end());
  result.time = begin;
  if (course.pieces().empty() || begin > end) return result;
  const auto look = [&result](double value, RuleTime time, bool just_before) {
    if (is_less(value, result.value)) result = {value, time, just_before};
  };
  if (begin < course.end()) look(course.at(begin), begin, false);
  const auto& pieces = course.pieces();
  auto piece = std::upper_bound(pieces.begin(), pieces.end(), begin,
                                [](RuleTime t, const Piece& p) { return t < p.begin; });
  for (; piece != pieces.end() && piece->begin < end; ++piece) {
    ++effort.steps;
    look((piece - 1)->last, piece->begin, true);
    look(piece->first, piece->begin, false);
  }
  if (begin < end) {
    look(course.before(end), end, true);
    if (closed && end < course.end()) look(course.at(end), end, false);
  }
  return result;
}

}  // namespace cairn
