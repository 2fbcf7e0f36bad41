// Spacing, order, dwell, counts and zones by sweeps over sorted occurrences.
//
// What counts against the rule is taken at its widest for the lower bound and at its narrowest for the upper
// one; what the rule asks for, the other way round. Occurrences come apart and in order, so that each sweep
// looks at an occurrence, its neighbours, and what overlaps it.

#include "constraints/rules/forms.h"

#include <algorithm>
#include <cmath>
#include <optional>

namespace cairn {

namespace {

enum class Side : std::uint8_t { Against, For };

struct Reach {
  Instant begin;
  Instant end;
  const Occurrence* of = nullptr;
};

bool counts(const Occurrence& o, Side side, Band band) {
  if (band == Band::Nominal) return o.existence != Existence::Possible;
  const bool all = (side == Side::Against) == (band == Band::Lower);
  return all || o.existence == Existence::Sure;
}

// The occurrences that count, at the times at which they do, rising by begin.
std::vector<Reach> reaches(const FormOperand& operand, Side side, Band band, RuleEffort& effort) {
  std::vector<Reach> result;
  const bool wide = (side == Side::Against) == (band == Band::Lower);
  for (const Occurrence& o : *operand.occurrences) {
    ++effort.steps;
    if (!counts(o, side, band)) continue;
    const Instant begin = band == Band::Nominal ? o.begin.nominal : wide ? o.begin.earliest : o.begin.latest;
    const Instant end = band == Band::Nominal ? o.end.nominal : wide ? o.end.latest : o.end.earliest;
    result.push_back({begin, end, &o});
  }
  const auto earlier = [](const Reach& x, const Reach& y) { return x.begin < y.begin; };
  if (!std::is_sorted(result.begin(), result.end(), earlier)) {
    std::stable_sort(result.begin(), result.end(), earlier);
  }
  return result;
}

bool same_command(TimedCommandId x, TimedCommandId y) { return x.is_valid() && x == y; }

Instant pick(const EventTime& time, Band band, bool early) {
  return band == Band::Nominal ? time.nominal : early ? time.earliest : time.latest;
}

void add_command(FormWitness& witness, TimedCommandId command) {
  if (command.is_valid()) witness.commands.push_back(command);
}

class Least {
 public:
  explicit Least(FormValue& value) : value_(&value) {}
  // True when this is the least so far; the caller then names the commands.
  bool look(double value, Instant begin, Instant end) {
    if (seen_ && !is_less(value, value_->value)) return false;
    seen_ = true;
    value_->value = value;
    value_->witness = {std::min(begin, end), std::max(begin, end), {}};
    return true;
  }
  FormWitness& witness() { return value_->witness; }

 private:
  FormValue* value_;
  bool seen_ = false;
};

// Exact where seconds would not be.
double ticks(Duration duration) { return static_cast<double>(duration.nanoseconds); }

// What two edges of one command are displaced together has been counted in each.
double together(const FormInput& input, Band band, TimedCommandId x, TimedCommandId y) {
  if (band == Band::Nominal || !same_command(x, y)) return 0;
  return ticks(input.tick * (band == Band::Lower ? 2 : -2));
}

// Zero that is not met.
double missed(double value) { return value == 0 ? -0.0 : value; }

// ---- at least so far apart ------------------------------------------------------------------------------

void apart(const FormInput& input, Band band, FormValue& value, RuleEffort& effort) {
  Least least(value);
  const std::vector<Reach> a = reaches(input.a, Side::Against, band, effort);
  const std::vector<Reach> b =
      input.same ? std::vector<Reach>{} : reaches(input.b, Side::Against, band, effort);
  // The one that has reached furthest so far, of each.
  const Reach* furthest_a = nullptr;
  const Reach* furthest_b = nullptr;
  for (std::size_t i = 0, j = 0; i < a.size() || j < b.size();) {
    ++effort.steps;
    const bool takes_a = j == b.size() || (i < a.size() && a[i].begin <= b[j].begin);
    const Reach& at = takes_a ? a[i++] : b[j++];
    const Reach*& own = takes_a ? furthest_a : furthest_b;
    const Reach* other = input.same ? furthest_a : takes_a ? furthest_b : furthest_a;
    if (other != nullptr) {
      const Instant until = std::min(other->end, at.end);
      if (least.look(ticks(at.begin - until - input.first), until, at.begin)) {
        add_command(least.witness(), other->of->begun_by);
        add_command(least.witness(), at.of->begun_by);
      }
    }
    if (own == nullptr || own->end < at.end) own = &at;
  }
}

// ---- one after the other --------------------------------------------------------------------------------

void only_after_event(const FormInput& input, Band band, FormValue& value, RuleEffort& effort) {
  Least least(value);
  const Occurrence* first = nullptr;
  const bool lower = band == Band::Lower;
  for (const Occurrence& b : *input.b.occurrences) {
    ++effort.steps;
    if (!counts(b, Side::For, band)) continue;
    if (first == nullptr || pick(b.begin, band, !lower) < pick(first->begin, band, !lower)) first = &b;
  }
  for (const Occurrence& a : *input.a.occurrences) {
    ++effort.steps;
    if (a.from_before || !counts(a, Side::Against, band)) continue;
    const Instant begin = pick(a.begin, band, lower);
    if (input.b.times_before > 0) {
      least.look(surely, begin, begin);
    } else if (first == nullptr) {
      if (least.look(-surely, begin, begin)) add_command(least.witness(), a.begun_by);
    } else {
      const Instant happened = pick(first->begin, band, !lower);
      if (least.look(ticks(begin - happened - input.first), begin, begin)) {
        add_command(least.witness(), a.begun_by);
        add_command(least.witness(), first->begun_by);
      }
    }
  }
}

void only_after_spell(const FormInput& input, Band band, FormValue& value, RuleEffort& effort) {
  Least least(value);
  const bool lower = band == Band::Lower;
  std::vector<const Occurrence*> held;
  for (const Occurrence& b : *input.b.occurrences) {
    if (counts(b, Side::For, band)) held.push_back(&b);
  }
  std::size_t next = 0;
  for (const Reach& a : reaches(input.a, Side::Against, band, effort)) {
    if (a.of->from_before) continue;
    const Instant begin = pick(a.of->begin, band, lower);
    while (next < held.size() && pick(held[next]->begin, band, !lower) <= begin) {
      ++effort.steps;
      ++next;
    }
    // The last one that has begun; what ends with the very command that begins `a` has held until then.
    std::size_t last = next;
    if (last > 0 && same_command(held[last - 1]->begun_by, a.of->begun_by)) --last;  // its own doing
    const Occurrence* b = last > 0 ? held[last - 1] : nullptr;
    const Instant needed = pick(a.of->begin, band, !lower);
    const bool covers = b != nullptr && (b->goes_on || pick(b->end, band, lower) >= needed ||
                                         same_command(b->ended_by, a.of->begun_by));
    double margin = missed(-ticks(input.first));
    if (covers) margin = b->from_before ? surely : ticks(begin - pick(b->begin, band, !lower) - input.first);
    if (!least.look(margin, begin, begin)) continue;
    add_command(least.witness(), a.of->begun_by);
    if (b != nullptr) add_command(least.witness(), covers ? b->begun_by : b->ended_by);
  }
}

void followed_by(const FormInput& input, Band band, FormValue& value, RuleEffort& effort) {
  Least least(value);
  const bool lower = band == Band::Lower;
  std::vector<const Occurrence*> answers;
  for (const Occurrence& b : *input.b.occurrences) {
    if (counts(b, Side::For, band)) answers.push_back(&b);
  }
  // Whether `b` holds or happens after a time, in any case (for the lower bound).
  const auto comes_after = [&](const Occurrence& b, Instant time) {
    if (input.b.happens) return pick(b.begin, band, lower) >= time;
    return b.goes_on || pick(b.end, band, lower) > time;
  };
  std::size_t next = 0;
  Instant reached = input.span.begin;
  for (const Occurrence& a : *input.a.occurrences) {
    ++effort.steps;
    if (a.goes_on || !counts(a, Side::Against, band)) continue;
    const Instant from = pick(a.end, band, lower);          // the wait is counted from here
    const Instant surely_over = pick(a.end, band, !lower);  // and it is over by then
    if (surely_over < reached) next = 0;  // only where bounds of times cross; never for one kind of move
    reached = surely_over;
    const auto passed = [&](const Occurrence& b) {
      const bool itself = input.same && b.begin.nominal <= a.begin.nominal;
      const bool as_one = same_command(a.ended_by, b.begun_by) && b.begin.nominal >= a.end.nominal;
      return itself || !(as_one || comes_after(b, surely_over));
    };
    while (next < answers.size() && passed(*answers[next])) {
      ++effort.steps;
      ++next;
    }
    const Occurrence* b = next < answers.size() ? answers[next] : nullptr;
    double margin = -surely;
    Instant until = input.span.instant(input.span.length);
    if (b != nullptr) {
      // Brought about by the same command they are displaced together.
      const bool as_one = same_command(a.ended_by, b->begun_by) && b->begin.nominal >= a.end.nominal;
      const Instant since = as_one ? pick(a.end, band, !lower) : from;
      until = std::max(since, pick(b->begin, band, !lower));
      margin = ticks(input.first - (until - since));
    }
    if (!least.look(margin, from, until)) continue;
    add_command(least.witness(), a.ended_by);
    if (b != nullptr) add_command(least.witness(), b->begun_by);
  }
}

void never_after(const FormInput& input, Band band, FormValue& value, RuleEffort& effort) {
  const std::vector<Reach> a = reaches(input.a, Side::Against, band, effort);
  const std::vector<Reach> b = reaches(input.b, Side::Against, band, effort);
  if (a.empty() || (b.empty() && input.b.times_before == 0)) return;
  const Reach& last =
      *std::max_element(a.begin(), a.end(), [](const Reach& x, const Reach& y) { return x.end < y.end; });
  Least least(value);
  const bool before = input.b.times_before > 0;
  const Instant first = before ? input.span.begin : b.front().begin;
  double margin = ticks(first - last.end);
  if (!before) margin += together(input, band, b.front().of->begun_by, last.of->ended_by);
  if (before) margin = missed(margin);
  least.look(margin, first, last.end);
  if (!before) add_command(least.witness(), b.front().of->begun_by);
  add_command(least.witness(), last.of->begun_by);
}

// ---- dwell and counts -----------------------------------------------------------------------------------

void lasts(const FormInput& input, Band band, FormValue& value, RuleEffort& effort) {
  Least least(value);
  const bool at_least = input.kind == RuleOperator::LastsAtLeast;
  // The shortest it may be counts for "at least", the longest for "at most".
  const bool shortest = at_least == (band == Band::Lower);
  for (const Occurrence& a : *input.a.occurrences) {
    ++effort.steps;
    // One that need not come about must be long enough, or short enough, if it does.
    if (!counts(a, Side::Against, band)) continue;
    if (at_least && (a.from_before || a.goes_on)) continue;  // how long it lasts is not seen
    const bool as_one = same_command(a.begun_by, a.ended_by);
    const Instant end = pick(a.end, band, shortest);
    const Instant begin = pick(a.begin, band, as_one ? shortest : !shortest);
    const Duration length = std::max(Duration{0}, end - begin);
    const double margin = ticks(at_least ? length - input.first : input.first - length);
    if (!least.look(margin, begin, std::max(begin, end))) continue;
    add_command(least.witness(), a.begun_by);
    add_command(least.witness(), a.ended_by);
  }
}

void at_most_times(const FormInput& input, Band band, FormValue& value, RuleEffort& effort) {
  double times = input.a.times_before;
  Least least(value);
  std::vector<TimedCommandId> beyond;
  Instant time = input.span.begin;
  for (const Reach& a : reaches(input.a, Side::Against, band, effort)) {
    if (a.of->from_before) continue;
    times += 1;
    if (times <= input.limit && !beyond.empty()) beyond.clear();
    if (times <= input.limit + 1) time = a.begin;
    if (a.of->begun_by.is_valid()) beyond.push_back(a.of->begun_by);
  }
  least.look(input.limit - times, time, time);
  least.witness().commands = std::move(beyond);
}

// ---- only inside, never inside --------------------------------------------------------------------------

// How deep `a` lies in the zone: how far the zone's edges are from it; negative: how far it reaches out.
double depth(const FormInput& input, Band band, const Reach& a, const Reach& zone) {
  const bool happens = input.a.happens;
  double from_begin = surely;
  double to_end = surely;
  if (!zone.of->from_before) {
    from_begin = ticks(a.begin - zone.begin) + together(input, band, a.of->begun_by, zone.of->begun_by);
  }
  // A command that ends the zone still meets it; what else happens when it ends is outside.
  if (!zone.of->goes_on && !(happens && same_command(a.of->begun_by, zone.of->ended_by))) {
    to_end = ticks(zone.end - a.end) + together(input, band, a.of->ended_by, zone.of->ended_by);
    if (happens) to_end = missed(to_end);
  }
  return is_less(to_end, from_begin) ? to_end : from_begin;
}

// A command does not meet what it begins itself.
bool is_own_doing(const FormInput& input, const Reach& a, const Reach& zone) {
  return input.a.happens && same_command(a.of->begun_by, zone.of->begun_by);
}

void only_inside(const FormInput& input, Band band, FormValue& value, RuleEffort& effort) {
  Least least(value);
  const std::vector<Reach> zones = reaches(input.b, Side::For, band, effort);
  std::size_t next = 0;
  for (const Reach& a : reaches(input.a, Side::Against, band, effort)) {
    while (next < zones.size() && zones[next].begin <= a.begin) {
      ++effort.steps;
      ++next;
    }
    double deepest = -surely;
    const Reach* best = nullptr;
    const auto look = [&](const Reach& zone) {
      ++effort.steps;
      if (is_own_doing(input, a, zone)) return;
      const double found = depth(input, band, a, zone);
      if (best != nullptr && !is_less(deepest, found)) return;
      deepest = found;
      best = &zone;
    };
    for (std::size_t i = next; i > 0 && best == nullptr && i + 2 > next; --i) look(zones[i - 1]);
    // Later zones only while they could still be nearer.
    for (std::size_t i = next; i < zones.size(); ++i) {
      if (best != nullptr && ticks(a.begin - zones[i].begin + input.tick * 2) <= deepest) break;
      look(zones[i]);
    }
    if (!least.look(deepest, a.begin, a.end)) continue;
    add_command(least.witness(), a.of->begun_by);
    if (best != nullptr && !is_met(deepest)) {
      add_command(least.witness(), best->end < a.end ? best->of->ended_by : best->of->begun_by);
    }
  }
}

void never_inside(const FormInput& input, Band band, FormValue& value, RuleEffort& effort) {
  Least least(value);
  const std::vector<Reach> zones = reaches(input.b, Side::Against, band, effort);
  std::size_t low = 0;
  for (const Reach& a : reaches(input.a, Side::Against, band, effort)) {
    while (low < zones.size() && zones[low].end < a.begin) {
      ++effort.steps;
      ++low;
    }
    for (std::size_t i = low > 0 ? low - 1 : 0; i < zones.size(); ++i) {
      ++effort.steps;
      const Reach& zone = zones[i];
      if (is_own_doing(input, a, zone)) continue;
      const double until =
          ticks(zone.begin - a.end) + together(input, band, zone.of->begun_by, a.of->ended_by);
      double since = ticks(a.begin - zone.end) + together(input, band, a.of->begun_by, zone.of->ended_by);
      // A command that ends the zone has met it.
      if (input.a.happens && same_command(a.of->begun_by, zone.of->ended_by)) since = -surely;
      // What happens when the zone begins is inside.
      const double away = is_less(until, since)          ? since
                          : input.a.happens && since < 0 ? missed(until)
                                                         : until;
      const Instant from = std::min(std::max(a.begin, zone.begin), a.end);
      if (least.look(away, from, std::max(from, std::min(a.end, zone.end)))) {
        add_command(least.witness(), a.of->begun_by);
        add_command(least.witness(), zone.of->begun_by);
      }
      if (zone.begin > a.end) break;
    }
  }
}

}  // namespace

FormValues form_values(const FormInput& input, RuleEffort& effort) {
  FormValues values;
  for (const Band band : all_bands) {
    FormValue& value = values[static_cast<std::size_t>(band)];
    value.witness.begin = value.witness.end = input.span.begin;
    switch (input.kind) {
      case RuleOperator::OnlyAfter:
        input.b.happens ? only_after_event(input, band, value, effort)
                        : only_after_spell(input, band, value, effort);
        break;
      case RuleOperator::FollowedBy:
        followed_by(input, band, value, effort);
        break;
      case RuleOperator::Apart:
        apart(input, band, value, effort);
        break;
      case RuleOperator::LastsAtLeast:
      case RuleOperator::LastsAtMost:
        lasts(input, band, value, effort);
        break;
      case RuleOperator::OnlyInside:
        only_inside(input, band, value, effort);
        break;
      case RuleOperator::NeverInside:
        never_inside(input, band, value, effort);
        break;
      case RuleOperator::AtMostTimes:
        at_most_times(input, band, value, effort);
        break;
      case RuleOperator::NeverAfter:
        never_after(input, band, value, effort);
        break;
      default:
        break;
    }
    std::sort(value.witness.commands.begin(), value.witness.commands.end());
    value.witness.commands.erase(std::unique(value.witness.commands.begin(), value.witness.commands.end()),
                                 value.witness.commands.end());
  }
  // Where nothing is certain the three need not come in order by themselves.
  if (is_less(values[1].value, values[0].value)) values[0] = values[1];
  if (is_less(values[2].value, values[1].value)) values[2] = values[1];
  return values;
}

}  // namespace cairn
