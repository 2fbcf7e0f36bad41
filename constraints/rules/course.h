// A number over the span of a load: straight pieces, from the right continuous, with jumps between them.
//
// What a rule computes with. At a jump the value is the one after it; the one before it still counts wherever
// a least or greatest value over an interval that reaches there is asked for. Truth is a number too:
// +infinity and -infinity. Zero has a sign: +0 is true, -0 is false, so that "more than 6 W" and "not at most
// 6 W" agree at 6 W.

#pragma once

#include <cstddef>
#include <cstdint>
#include <limits>
#include <vector>

namespace cairn {

// Nanoseconds since the span began.
using RuleTime = std::int64_t;

inline constexpr double surely = std::numeric_limits<double>::infinity();  // true; -surely: false

// Order of numbers with -0 below +0; neither is NaN.
bool is_less(double a, double b);
// True: above zero, or +0.
bool is_met(double value);

struct Piece {
  RuleTime begin = 0;    // until the next piece begins, or the span ends
  double first = 0;      // at `begin`
  double last = 0;       // towards the end
  bool zero_met = true;  // a zero between the two is +0
};

// Counts the elementary steps that were taken, so that tests can hold their number against the input's
// length.
struct RuleEffort {
  std::size_t steps = 0;
};

// Both ends of each piece are finite, or the piece is constant.
class Course {
 public:
  // Nothing yet; pieces are appended. `end` not negative.
  explicit Course(RuleTime end) : end_(end) {}
  static Course constant(RuleTime end, double value);

  [[nodiscard]] RuleTime end() const { return end_; }
  [[nodiscard]] const std::vector<Piece>& pieces() const { return pieces_; }
  [[nodiscard]] RuleTime piece_end(std::size_t index) const {
    return index + 1 < pieces_.size() ? pieces_[index + 1].begin : end_;
  }

  // Pieces come in order and without gaps; one that begins at or after the end is left out, one that begins
  // where the last one does replaces it.
  void append(RuleTime begin, double first, double last, bool zero_met = true);
  void append_constant(RuleTime begin, double value);
  // The last piece goes on to this value.
  void extend(double last) { pieces_.back().last = last; }
  void reserve(std::size_t pieces) { pieces_.reserve(pieces); }
  // Every value the other way round.
  void negate();
  // Every value with `by` added, as a number: zero is +0. `by` finite.
  void raise(double by);

  // At a time within [0, end); at the end itself and outside: the value nearest to it.
  [[nodiscard]] double at(RuleTime time) const;
  // What it comes from just before a time; at 0 the value there.
  [[nodiscard]] double before(RuleTime time) const;

 private:
  [[nodiscard]] std::size_t index_of(RuleTime time) const;
  RuleTime end_;
  std::vector<Piece> pieces_;
};

// Value of a piece at a time within it.
double value_in(const Piece& piece, RuleTime piece_end, RuleTime time);

Course negated(Course course);
Course raised(Course course, double by);
// At each time the lesser or greater of the two. Both end at the same time.
Course lesser(const Course& a, const Course& b, RuleEffort& effort);
Course greater(const Course& a, const Course& b, RuleEffort& effort);
// a + weight b, as a number; both finite everywhere.
Course sum(const Course& a, const Course& b, double weight, RuleEffort& effort);
// At t the value of the course at t + by; `outside` where that is no time of the span.
Course shifted(const Course& course, RuleTime by, double outside, RuleEffort& effort);
// At t the greatest (least) value over the closed window [t + from, t + to], cut to the span; -surely
// (surely) where nothing is left of it. The number of steps does not depend on how long the window is.
Course greatest_within(const Course& course, RuleTime from, RuleTime to, RuleEffort& effort);
Course least_within(const Course& course, RuleTime from, RuleTime to, RuleEffort& effort);

// A half-open interval of time.
struct Stretch {
  RuleTime begin = 0;
  RuleTime end = 0;
  friend bool operator==(const Stretch&, const Stretch&) = default;
};
// Where the course is met, rising, apart from one another; single instants are left out.
std::vector<Stretch> met_stretches(const Course& course, RuleEffort& effort);
// surely within the stretches (rising, apart), -surely without.
Course truth(const std::vector<Stretch>& stretches, RuleTime end, RuleEffort& effort);

// The first place at which the course is least within [begin, end), what it comes to at `end` included; with
// `closed` its value at `end`, too. Begin = end stands for that instant.
struct Extreme {
  double value = surely;
  RuleTime time = 0;
  bool just_before = false;  // the value is approached from before `time`
};
Extreme least(const Course& course, RuleTime begin, RuleTime end, bool closed, RuleEffort& effort);

}  // namespace cairn
