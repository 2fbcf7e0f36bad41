// When conditions hold and events come about, with the bounds of their times: between courses and
// occurrences.

#pragma once

#include <array>
#include <vector>

#include "constraints/rules/course.h"
#include "constraints/rules/evaluate.h"

namespace cairn {

// Which of the three values a rule is computed for.
enum class Band : std::uint8_t { Lower, Nominal, Upper };
inline constexpr std::array<Band, 3> all_bands = {Band::Lower, Band::Nominal, Band::Upper};
Band opposite(Band band);

// A course with its bounds; one course stands for all three where nothing is uncertain.
class Bands {
 public:
  Bands() = default;
  explicit Bands(Course exact) { courses_.push_back(std::move(exact)); }
  Bands(Course lower, Course nominal, Course upper) {
    courses_.reserve(3);
    courses_.push_back(std::move(lower));
    courses_.push_back(std::move(nominal));
    courses_.push_back(std::move(upper));
  }
  [[nodiscard]] bool is_exact() const { return courses_.size() == 1; }
  [[nodiscard]] const Course& at(Band band) const {
    return courses_[is_exact() ? 0 : static_cast<std::size_t>(band)];
  }

 private:
  std::vector<Course> courses_;
};

// The span of the load, in which all is computed.
struct RuleSpan {
  Instant begin;
  RuleTime length = 0;
  [[nodiscard]] RuleTime offset(Instant time) const { return (time - begin).nanoseconds; }
  [[nodiscard]] Instant instant(RuleTime time) const { return begin + Duration{time}; }
};

// Where it must hold, where it holds for nominal values, where it may hold.
Bands bands_of(const std::vector<Occurrence>& spells, const RuleSpan& span, RuleEffort& effort);
std::vector<Occurrence> occurrences_of(const Bands& condition, const RuleSpan& span, RuleEffort& effort);
std::vector<Occurrence> begins_of(const std::vector<Occurrence>& spells);
std::vector<Occurrence> ends_of(const std::vector<Occurrence>& spells);

// Numbers that occurrences make over time: counts, or times in nanoseconds, as all times are within this
// room, so that sums and differences of them are exact.
Bands time_since(const std::vector<Occurrence>& events, const RuleSpan& span, RuleEffort& effort);
Bands time_until(const std::vector<Occurrence>& events, const RuleSpan& span, RuleEffort& effort);
Bands time_held(const Bands& condition, RuleEffort& effort);
Bands time_spent(const Bands& condition, Duration within, RuleEffort& effort);
Bands times_within(const std::vector<Occurrence>& events, Duration within, const RuleSpan& span,
                   RuleEffort& effort);

}  // namespace cairn
