// Between courses and occurrences: what holds is cut into spells, spells are laid over one another as
// courses.

#include "constraints/rules/occurrences.h"

#include <algorithm>
#include <utility>

namespace cairn {

Band opposite(Band band) {
  return band == Band::Lower ? Band::Upper : band == Band::Upper ? Band::Lower : Band::Nominal;
}

namespace {

// Overlapping stretches become one; times outside the span are cut off.
std::vector<Stretch> joined(std::vector<Stretch> stretches, RuleTime end) {
  const auto earlier = [](const Stretch& a, const Stretch& b) { return a.begin < b.begin; };
  if (!std::is_sorted(stretches.begin(), stretches.end(), earlier)) {
    std::stable_sort(stretches.begin(), stretches.end(), earlier);
  }
  std::vector<Stretch> result;
  for (Stretch stretch : stretches) {
    stretch.begin = std::max<RuleTime>(stretch.begin, 0);
    stretch.end = std::min(stretch.end, end);
    if (stretch.begin >= stretch.end) continue;
    if (!result.empty() && stretch.begin <= result.back().end) {
      result.back().end = std::max(result.back().end, stretch.end);
    } else {
      result.push_back(stretch);
    }
  }
  return result;
}

bool is_exact(const Occurrence& o) {
  return o.existence == Existence::Sure && o.begin.earliest == o.begin.latest &&
         o.end.earliest == o.end.latest;
}

// Exact where seconds would not be.
double ticks(RuleTime time) { return static_cast<double>(time); }

}  // namespace

Bands bands_of(const std::vector<Occurrence>& spells, const RuleSpan& span, RuleEffort& effort) {
  std::vector<Stretch> must;
  std::vector<Stretch> nominal;
  std::vector<Stretch> may;
  bool exact = true;
  for (const Occurrence& spell : spells) {
    ++effort.steps;
    exact = exact && is_exact(spell);
    if (spell.existence == Existence::Sure) {
      must.push_back({span.offset(spell.begin.latest), span.offset(spell.end.earliest)});
    }
    if (spell.existence != Existence::Possible) {
      nominal.push_back({span.offset(spell.begin.nominal), span.offset(spell.end.nominal)});
    }
    may.push_back({span.offset(spell.begin.earliest), span.offset(spell.end.latest)});
  }
  const auto course = [&](std::vector<Stretch> stretches) {
    return truth(joined(std::move(stretches), span.length), span.length, effort);
  };
  if (exact) return Bands(course(std::move(nominal)));
  return {course(std::move(must)), course(std::move(nominal)), course(std::move(may))};
}

namespace {

Occurrence occurrence(const RuleSpan& span, Stretch nominal, Stretch may, RuleTime begin_latest,
                      RuleTime end_earliest, Existence existence) {
  Occurrence o;
  o.begin = {span.instant(nominal.begin), span.instant(may.begin), span.instant(begin_latest)};
  o.end = {span.instant(nominal.end), span.instant(end_earliest), span.instant(may.end)};
  o.existence = existence;
  o.from_before = nominal.begin <= 0;
  o.goes_on = nominal.end >= span.length;
  return o;
}

}  // namespace

std::vector<Occurrence> occurrences_of(const Bands& condition, const RuleSpan& span, RuleEffort& effort) {
  std::vector<Occurrence> result;
  const std::vector<Stretch> nominal = met_stretches(condition.at(Band::Nominal), effort);
  if (condition.is_exact()) {
    for (const Stretch& s : nominal)
      result.push_back(occurrence(span, s, s, s.begin, s.end, Existence::Sure));
    return result;
  }
  const std::vector<Stretch> must = met_stretches(condition.at(Band::Lower), effort);
  const std::vector<Stretch> may = met_stretches(condition.at(Band::Upper), effort);
  std::size_t n = 0;
  std::size_t m = 0;
  for (const Stretch& possible : may) {
    const std::size_t before = n;
    while (n < nominal.size() && nominal[n].begin < possible.end) {
      ++effort.steps;
      // Its share of what may be: up to its neighbours.
      const Stretch& at = nominal[n];
      Stretch around = possible;
      if (n > before) around.begin = nominal[n - 1].end;
      if (n + 1 < nominal.size() && nominal[n + 1].begin < possible.end) around.end = nominal[n + 1].begin;
      around.begin = std::min(around.begin, at.begin);
      around.end = std::max(around.end, at.end);
      RuleTime begin_latest = at.end;
      RuleTime end_earliest = at.begin;
      bool sure = false;
      for (; m < must.size() && must[m].begin < at.end; ++m) {
        if (must[m].end <= at.begin) continue;
        if (!sure) begin_latest = std::max(must[m].begin, at.begin);
        end_earliest = std::min(must[m].end, at.end);
        sure = true;
      }
      result.push_back(occurrence(span, at, around, begin_latest, end_earliest,
                                  sure ? Existence::Sure : Existence::Nominal));
      ++n;
    }
    if (n == before) {
      result.push_back(
          occurrence(span, possible, possible, possible.end, possible.begin, Existence::Possible));
    }
  }
  return result;
}

namespace {

Occurrence edge(const Occurrence& spell, EventTime time, TimedCommandId by) {
  Occurrence result;
  result.begin = result.end = time;
  result.existence = spell.existence;
  result.begun_by = result.ended_by = by;
  return result;
}

}  // namespace

std::vector<Occurrence> begins_of(const std::vector<Occurrence>& spells) {
  std::vector<Occurrence> result;
  for (const Occurrence& spell : spells) {
    if (!spell.from_before) result.push_back(edge(spell, spell.begin, spell.begun_by));
  }
  return result;
}

std::vector<Occurrence> ends_of(const std::vector<Occurrence>& spells) {
  std::vector<Occurrence> result;
  for (const Occurrence& spell : spells) {
    if (!spell.goes_on) result.push_back(edge(spell, spell.end, spell.ended_by));
  }
  return result;
}

// ---- numbers over time ----------------------------------------------------------------------------------

namespace {

// The events that count in a band, as the stretches of time in which each may come about, by their
// beginnings.
struct Moments {
  std::vector<Stretch> nominal;
  std::vector<Stretch> all;   // from earliest to latest
  std::vector<Stretch> sure;  // of those that come about in any case
  bool exact = true;
};

Moments moments_of(const std::vector<Occurrence>& events, const RuleSpan& span, RuleEffort& effort) {
  Moments result;
  for (const Occurrence& event : events) {
    ++effort.steps;
    const Stretch whole{span.offset(event.begin.earliest), span.offset(event.begin.latest)};
    const RuleTime nominal = span.offset(event.begin.nominal);
    result.exact = result.exact && is_exact(event);
    result.all.push_back(whole);
    if (event.existence == Existence::Sure) result.sure.push_back(whole);
    if (event.existence != Existence::Possible) result.nominal.push_back({nominal, nominal});
  }
  const auto order = [](std::vector<Stretch>& stretches, const auto& earlier) {
    if (!std::is_sorted(stretches.begin(), stretches.end(), earlier)) {
      std::stable_sort(stretches.begin(), stretches.end(), earlier);
    }
  };
  const auto by_begin = [](const Stretch& a, const Stretch& b) { return a.begin < b.begin; };
  order(result.nominal, by_begin);
  order(result.all, by_begin);
  order(result.sure, by_begin);
  return result;
}

// A line that rises or falls by 1 a nanosecond through `value` at `at`.
void append_line(Course& course, RuleTime begin, RuleTime end, RuleTime zero, bool rises) {
  begin = std::max<RuleTime>(begin, 0);
  end = std::min(end, course.end());
  if (begin >= end) return;
  const double first = ticks(rises ? begin - zero : zero - begin);
  const double last = ticks(rises ? end - zero : zero - end);
  course.append(begin, first, last);
}

// Since the last of the events that has certainly come about (`zero` its earliest time), from its latest on.
Course since_course(const std::vector<Stretch>& events, RuleTime end) {
  Course course = Course::constant(end, surely);
  RuleTime zero = -1;
  bool any = false;
  std::vector<Stretch> by_end = events;
  std::stable_sort(by_end.begin(), by_end.end(),
                   [](const Stretch& a, const Stretch& b) { return a.end < b.end; });
  for (std::size_t i = 0; i < by_end.size(); ++i) {
    zero = any ? std::max(zero, by_end[i].begin) : by_end[i].begin;
    any = true;
    append_line(course, by_end[i].end, i + 1 < by_end.size() ? by_end[i + 1].end : end, zero, true);
  }
  return course;
}

Course until_course(const std::vector<Stretch>& events, RuleTime end) {
  // Backwards: before its earliest time an event is certainly yet to come, by its latest time at the latest.
  std::vector<std::pair<Stretch, RuleTime>> lines;
  RuleTime zero = 0;
  bool any = false;
  for (std::size_t i = events.size(); i-- > 0;) {
    zero = any ? std::min(zero, events[i].end) : events[i].end;
    any = true;
    lines.push_back({{i > 0 ? events[i - 1].begin : 0, events[i].begin}, zero});
  }
  Course course(end);
  RuleTime reached = 0;
  for (std::size_t i = lines.size(); i-- > 0;) {
    append_line(course, lines[i].first.begin, lines[i].first.end, lines[i].second, false);
    reached = std::max(reached, lines[i].first.end);
  }
  course.append_constant(std::max<RuleTime>(reached, 0), surely);
  return course;
}

// The least time: nothing while an event may come about, then from its latest time on (or to its earliest).
Course least_distance(const std::vector<Stretch>& events, RuleTime end, bool since) {
  Course course(end);
  std::vector<Stretch> apart;
  for (const Stretch& event : events) {
    if (!apart.empty() && event.begin <= apart.back().end) {
      apart.back().end = std::max(apart.back().end, event.end);
    } else {
      apart.push_back(event);
    }
  }
  if (since) course.append_constant(0, surely);
  RuleTime from = 0;
  for (std::size_t i = 0; i < apart.size(); ++i) {
    if (!since) append_line(course, from, apart[i].begin, apart[i].begin, false);
    if (apart[i].end > 0 && apart[i].begin < apart[i].end) {
      course.append_constant(std::max<RuleTime>(apart[i].begin, 0), 0.0);
    }
    from = apart[i].end;
    if (since) append_line(course, from, i + 1 < apart.size() ? apart[i + 1].begin : end, from, true);
  }
  if (!since) course.append_constant(std::max<RuleTime>(from, 0), surely);
  return course;
}

}  // namespace

Bands time_since(const std::vector<Occurrence>& events, const RuleSpan& span, RuleEffort& effort) {
  const Moments moments = moments_of(events, span, effort);
  Course nominal = since_course(moments.nominal, span.length);
  if (moments.exact) return Bands(std::move(nominal));
  return {least_distance(moments.all, span.length, true), std::move(nominal),
          since_course(moments.sure, span.length)};
}

Bands time_until(const std::vector<Occurrence>& events, const RuleSpan& span, RuleEffort& effort) {
  const Moments moments = moments_of(events, span, effort);
  Course nominal = until_course(moments.nominal, span.length);
  if (moments.exact) return Bands(std::move(nominal));
  return {least_distance(moments.all, span.length, false), std::move(nominal),
          until_course(moments.sure, span.length)};
}

namespace {

template <class Make>
Bands per_band(const Bands& bands, const Make& make) {
  if (bands.is_exact()) return Bands(make(bands.at(Band::Nominal)));
  return {make(bands.at(Band::Lower)), make(bands.at(Band::Nominal)), make(bands.at(Band::Upper))};
}

}  // namespace

Bands time_held(const Bands& condition, RuleEffort& effort) {
  return per_band(condition, [&effort](const Course& course) {
    Course result = Course::constant(course.end(), 0.0);
    for (const Stretch& stretch : met_stretches(course, effort)) {
      append_line(result, stretch.begin, stretch.end, stretch.begin, true);
      result.append_constant(stretch.end, 0.0);
    }
    return result;
  });
}

Bands time_spent(const Bands& condition, Duration within, RuleEffort& effort) {
  return per_band(condition, [&effort, within](const Course& course) {
    // All the time until t, less all the time until t - within.
    Course until = Course::constant(course.end(), 0.0);
    RuleTime spent = 0;
    for (const Stretch& stretch : met_stretches(course, effort)) {
      append_line(until, stretch.begin, stretch.end, stretch.begin - spent, true);
      spent += stretch.end - stretch.begin;
      until.append_constant(stretch.end, ticks(spent));
    }
    return sum(until, shifted(until, -std::min<RuleTime>(within.nanoseconds, course.end()), 0.0, effort), -1,
               effort);
  });
}

namespace {

// Each stretch adds one from its begin to its end.
Course count_course(std::vector<Stretch> stretches, RuleTime end, RuleEffort& effort) {
  std::vector<RuleTime> ends;
  for (const Stretch& stretch : stretches) {
    if (stretch.begin < stretch.end) ends.push_back(stretch.end);
  }
  std::erase_if(stretches, [](const Stretch& s) { return s.begin >= s.end; });
  std::stable_sort(stretches.begin(), stretches.end(),
                   [](const Stretch& a, const Stretch& b) { return a.begin < b.begin; });
  std::sort(ends.begin(), ends.end());
  Course course = Course::constant(end, 0.0);
  std::size_t begun = 0;
  std::size_t ended = 0;
  while (begun < stretches.size() || ended < ends.size()) {
    ++effort.steps;
    const RuleTime time =
        begun < stretches.size() ? std::min(stretches[begun].begin, ends[ended]) : ends[ended];
    while (begun < stretches.size() && stretches[begun].begin == time) ++begun;
    while (ended < ends.size() && ends[ended] == time) ++ended;
    course.append_constant(std::max<RuleTime>(time, 0), static_cast<double>(begun - ended));
  }
  return course;
}

}  // namespace

Bands times_within(const std::vector<Occurrence>& events, Duration within, const RuleSpan& span,
                   RuleEffort& effort) {
  const Moments moments = moments_of(events, span, effort);
  // An event at e counts in (t - within, t]: from e until e + within.
  const RuleTime window = std::min<RuleTime>(within.nanoseconds, span.length + 1);
  const auto count = [&](const std::vector<Stretch>& at, bool narrow) {
    std::vector<Stretch> stretches;
    for (const Stretch& s : at) {
      stretches.push_back(narrow ? Stretch{s.end, s.begin + window} : Stretch{s.begin, s.end + window});
    }
    return count_course(std::move(stretches), span.length, effort);
  };
  Course nominal = count(moments.nominal, false);
  if (moments.exact) return Bands(std::move(nominal));
  return {count(moments.sure, true), std::move(nominal), count(moments.all, false)};
}

}  // namespace cairn
