// Margins, crossings of a limit, and the finding that comes of them.

#include "constraints/heat/limits.h"

#include <algorithm>
#include <utility>

#include "constraints/quantity/bounded.h"

namespace cairn {

Condition::Condition(const Timeline& timeline, const std::optional<StateCondition>& condition,
                     Reading reading) {
  if (!condition) {
    intervals_ = {{timeline.begin, timeline.end}};
    return;
  }
  if (condition->part.value >= timeline.occupations.size()) return;
  // Rows that follow each other are one run: what may vary is its first begin and its last end.
  const std::vector<Occupation>& rows = timeline.occupations[condition->part.value];
  const auto holds = [&](const Occupation& row) {
    return (row.state.is_valid() && contains(*condition, row.state)) ||
           (row.moving_to.is_valid() && contains(*condition, row.moving_to));
  };
  for (std::size_t i = 0; i < rows.size(); ++i) {
    if (!holds(rows[i])) continue;
    std::size_t last = i;
    while (last + 1 < rows.size() && holds(rows[last + 1])) ++last;
    const EventTime& begin = rows[i].begin;
    const EventTime& end = rows[last].end;
    Interval interval{begin.nominal, end.nominal};
    if (reading == Reading::Possible) interval = {begin.earliest, end.latest};
    if (reading == Reading::Sure) interval = {begin.latest, end.earliest};
    i = last;
    if (interval.begin >= interval.end) continue;
    if (!intervals_.empty() && intervals_.back().end >= interval.begin) {
      intervals_.back().end = std::max(intervals_.back().end, interval.end);
    } else {
      intervals_.push_back(interval);
    }
  }
}

void Condition::enter(Instant time) {
  while (next_ < intervals_.size() && intervals_[next_].end <= time) ++next_;
  holds_ = next_ < intervals_.size() && intervals_[next_].begin <= time;
}

LimitWatch::LimitWatch(const Timeline& timeline, const ThermalNode& node, NodeId id,
                       const TemperatureLimit& limit)
    : node_(id), limit_(&limit), condition_(timeline, limit.while_state), begin_(timeline.begin) {
  finding_.code = limit.kind == LimitKind::Survival ? "heat/survival" : "heat/operating";
  finding_.check = CheckKind::Heat;
  finding_.subject = node.name;
  if (limit.while_state) finding_.subject += " while " + limit.while_state->text;
  finding_.dimension = dimensions::temperature_difference;
  finding_.limit_origin = limit.origin;
}

Instant LimitWatch::instant(double seconds) const {
  return begin_ + duration_from_seconds(seconds).value_or(Duration{});
}

bool LimitWatch::matters(double lowest, double highest) const {
  const double margin = std::min(lowest - limit_->low, limit_->high - highest);
  return !seen_ || !(margin >= std::max(finding_.margin, 0.0));
}

void LimitWatch::look(double temperature, double seconds) {
  const double above_low = temperature - limit_->low;
  const double below_high = limit_->high - temperature;
  const double margin = std::min(above_low, below_high);
  if (!seen_ || margin < finding_.margin) {
    finding_.margin = margin;
    finding_.value = temperature;
    finding_.limit = above_low < below_high ? limit_->low : limit_->high;
    finding_.time = instant(seconds);
    seen_ = true;
  }
  if (margin < 0) {
    const Instant time = instant(seconds);
    if (finding_.verdict != Verdict::Fails) finding_.interval_begin = time;
    finding_.verdict = Verdict::Fails;
    finding_.interval_end = time;
  }
}

// The crossing itself lies on the limit; it bounds the failing interval.
void LimitWatch::cross(double seconds, bool leaves) {
  const Instant time = instant(seconds);
  if (leaves && finding_.verdict != Verdict::Fails) {
    finding_.verdict = Verdict::Fails;
    finding_.interval_begin = finding_.interval_end = time;
  } else if (!leaves && finding_.verdict == Verdict::Fails) {
    finding_.interval_end = std::max(finding_.interval_end, time);
  }
}

void LimitWatch::follow(const std::vector<Cubic>& course) {
  for (const Cubic& cubic : course) {
    look(cubic.y0, cubic.t0);
    for (const bool upwards : {false, true}) {
      if (const auto passing = cubic.first_passing(limit_->low, upwards)) cross(*passing, !upwards);
      if (const auto passing = cubic.first_passing(limit_->high, upwards)) cross(*passing, upwards);
    }
    for (const double time : cubic.extremes()) look(cubic.at(time), time);
    look(cubic.y1, cubic.t1);
  }
}

Finding LimitWatch::finish(bool broken) {
  if (broken) {
    finding_.verdict = Verdict::Fails;
    finding_.has_margin = false;
    finding_.time = finding_.interval_begin = finding_.interval_end = begin_;
    finding_.detail = "the network's temperatures cannot be computed from its values";
  } else if (!seen_) {  // the condition never held
    finding_.has_margin = false;
    finding_.time = begin_;
    finding_.detail = "never in that state";
  } else if (finding_.verdict != Verdict::Fails && finding_.margin < limit_->alert) {
    finding_.detail = "inside the alert band of " + show(limit_->alert, dimensions::temperature_difference);
  }
  if (finding_.verdict != Verdict::Fails) finding_.interval_begin = finding_.interval_end = finding_.time;
  return std::move(finding_);
}

}  // namespace cairn
