// Conflicts of commands, and forbidden combinations by sweeping the conditions' intervals.

#include "constraints/modes/modes.h"

#include <algorithm>
#include <optional>

namespace cairn {

namespace {

struct Interval {
  Instant begin;  // earliest
  Instant end;    // latest
  TimedCommandId cause;
};

// When a condition may hold: occupations in one of its states, moves from or to one of them included. With
// `surely` only when it must hold: resting, or moving between two of its states, at latest begin and earliest
// end.
std::vector<Interval> when_holds(const Timeline& timeline, const StateCondition& condition, bool surely) {
  std::vector<Interval> result;
  if (condition.part.value >= timeline.occupations.size()) return result;
  for (const Occupation& row : timeline.occupations[condition.part.value]) {
    const bool in_state = row.state.is_valid() && contains(condition, row.state);
    const bool in_target = row.moving_to.is_valid() && contains(condition, row.moving_to);
    const bool moving = row.moving_to.is_valid();
    const bool holds = surely ? in_state && (!moving || in_target) : in_state || in_target;
    if (!holds) continue;
    const Interval next = surely ? Interval{row.begin.latest, row.end.earliest, row.cause}
                                 : Interval{row.begin.earliest, row.end.latest, row.cause};
    // Neighbouring occupations that both satisfy the condition are one interval without a seam.
    if (!result.empty() && !(surely ? row.begin.nominal > result.back().end + Duration{0} &&
                                          row.begin.earliest > result.back().end
                                    : next.begin > result.back().end)) {
      result.back().end = std::max(result.back().end, next.end);
    } else {
      result.push_back(next);
    }
  }
  return result;
}

struct Overlap {
  Duration gap;  // positive: time between; negative: minus the time together
  Instant begin;
  Instant end;
  TimedCommandId first;
  TimedCommandId second;
};

void closest(const std::vector<Interval>& a, const std::vector<Interval>& b, std::optional<Overlap>& worst) {
  std::size_t j = 0;
  for (const Interval& x : a) {
    while (j < b.size() && b[j].end < x.begin) ++j;
    // The neighbour before, and all that may touch this one, and the one after.
    for (std::size_t k = j > 0 ? j - 1 : 0; k < b.size(); ++k) {
      const Interval& y = b[k];
      const Instant begin = std::max(x.begin, y.begin);
      const Instant end = std::min(x.end, y.end);
      const Duration gap = begin - end;
      if (!worst || gap < worst->gap)
        worst = Overlap{gap, std::min(begin, end), std::max(begin, end), x.cause, y.cause};
      if (y.begin > x.end) break;
    }
  }
}

std::vector<Interval> intersect(const std::vector<Interval>& a, const std::vector<Interval>& b) {
  std::vector<Interval> result;
  for (std::size_t i = 0, j = 0; i < a.size() && j < b.size();) {
    const Instant begin = std::max(a[i].begin, b[j].begin);
    const Instant end = std::min(a[i].end, b[j].end);
    if (begin < end) result.push_back({begin, end, a[i].begin > b[j].begin ? a[i].cause : b[j].cause});
    (a[i].end < b[j].end ? i : j) += 1;
  }
  return result;
}

std::vector<Interval> outside(const std::vector<Interval>& intervals, const Timeline& timeline) {
  std::vector<Interval> result;
  Instant from = timeline.begin;
  TimedCommandId cause;
  for (const Interval& interval : intervals) {
    if (interval.begin > from) result.push_back({from, interval.begin, cause});
    from = std::max(from, interval.end);
    cause = {};
  }
  if (from < timeline.end) result.push_back({from, timeline.end, cause});
  return result;
}

Finding exclusion_finding(const Exclusion& exclusion) {
  Finding finding;
  finding.code = "modes/exclusion";
  finding.check = CheckKind::Modes;
  finding.subject = exclusion.name;
  finding.assurance = Assurance::Guaranteed;
  finding.dimension = dimensions::duration;
  finding.has_margin = false;
  finding.limit_origin = exclusion.origin;
  return finding;
}

void settle(Finding& finding, const std::optional<Overlap>& worst, const Timeline& timeline,
            std::string detail) {
  finding.time = finding.interval_begin = finding.interval_end = timeline.begin;
  if (!worst) return;
  finding.has_margin = true;
  finding.margin = finding.value = worst->gap.seconds();
  finding.time = finding.interval_begin = worst->begin;
  finding.interval_end = worst->end;
  if (worst->gap.nanoseconds >= 0) return;
  finding.verdict = Verdict::Fails;
  finding.detail = std::move(detail);
  // Either command of the pair would do; the later one brought the clash about.
  TimedCommandId cause = worst->first;
  if (!cause.is_valid() || (worst->second.is_valid() && worst->second > cause)) cause = worst->second;
  if (cause.is_valid()) finding.cause = {cause};
}

Finding check_exclusion(const Timeline& timeline, const Exclusion& exclusion) {
  Finding finding = exclusion_finding(exclusion);
  std::vector<std::vector<Interval>> holds;
  for (const StateCondition& condition : exclusion.conditions) {
    holds.push_back(when_holds(timeline, condition, false));
  }
  std::optional<Overlap> worst;
  std::string detail;
  if (exclusion.kind == ExclusionKind::AtMostOne) {
    for (std::size_t a = 0; a < holds.size(); ++a) {
      for (std::size_t b = a + 1; b < holds.size(); ++b) {
        const std::optional<Overlap> before = worst;
        closest(holds[a], holds[b], worst);
        if (worst && (!before || worst->gap < before->gap)) {
          detail = exclusion.conditions[a].text + " together with " + exclusion.conditions[b].text;
        }
      }
    }
  } else if (exclusion.kind == ExclusionKind::NeverTogether) {
    // All at once: the intersection of all but the last, held against the last.
    std::vector<Interval> all = holds.empty() ? std::vector<Interval>{} : holds.front();
    for (std::size_t i = 1; i + 1 < holds.size(); ++i) all = intersect(all, holds[i]);
    if (holds.size() > 1) closest(all, holds.back(), worst);
    for (const StateCondition& condition : exclusion.conditions) {
      detail += (detail.empty() ? "" : " together with ") + condition.text;
    }
  } else if (!holds.empty()) {
    for (std::size_t i = 1; i < holds.size(); ++i) {
      const std::vector<Interval> missing =
          outside(when_holds(timeline, exclusion.conditions[i], true), timeline);
      const std::optional<Overlap> before = worst;
      closest(holds[0], missing, worst);
      if (worst && (!before || worst->gap < before->gap)) {
        detail = exclusion.conditions[0].text + " without " + exclusion.conditions[i].text;
      }
    }
  }
  settle(finding, worst, timeline, std::move(detail));
  return finding;
}

std::string_view code_of(ConflictKind kind) {
  switch (kind) {
    case ConflictKind::NeedNotMet:
      return "modes/need";
    case ConflictKind::NoSuchMove:
      return "modes/no-move";
    case ConflictKind::StateUnknown:
      return "modes/unknown-state";
    case ConflictKind::PartMoving:
      return "modes/moving";
    case ConflictKind::OnceSpent:
      return "modes/once";
  }
  return {};
}

Finding conflict_finding(const Station& station, const Timeline& timeline, const Conflict& conflict) {
  const CommandId command = timeline.commands[conflict.command.value].command;
  const CommandDefinition& definition = station.commands[command];
  Finding finding;
  finding.code = code_of(conflict.kind);
  finding.check = CheckKind::Modes;
  finding.subject = full_name(station, command);
  finding.verdict = Verdict::Fails;
  finding.has_margin = false;
  finding.time = finding.interval_begin = finding.interval_end = conflict.time;
  finding.cause.push_back(conflict.command);
  if (conflict.earlier.is_valid()) finding.cause.insert(finding.cause.begin(), conflict.earlier);
  finding.limit_origin = definition.origin;
  const std::string part = conflict.part.is_valid() ? full_name(station, conflict.part) : std::string();
  const std::string state = conflict.found.is_valid() ? station.states[conflict.found].name : "not known";
  switch (conflict.kind) {
    case ConflictKind::NeedNotMet:
      finding.detail = "needs " + definition.needs[conflict.need].text + ", but " + part + " is " + state;
      finding.limit_origin = definition.needs[conflict.need].origin;
      break;
    case ConflictKind::NoSuchMove:
      finding.detail = "has no move from " + state + ", where " + part + " is";
      break;
    case ConflictKind::StateUnknown:
      finding.detail = "the state of " + part + " is not known at this time";
      break;
    case ConflictKind::PartMoving:
      finding.detail = part + " is still on its way to " + state;
      break;
    case ConflictKind::OnceSpent:
      finding.detail = "is a one-shot and has been used already";
      break;
  }
  return finding;
}

}  // namespace

std::vector<Finding> check_modes(const Station& station, const Timeline& timeline) {
  std::vector<Finding> findings;
  for (const Conflict& conflict : timeline.conflicts) {
    findings.push_back(conflict_finding(station, timeline, conflict));
  }
  if (findings.empty()) {
    Finding legal;
    legal.code = "modes/need";
    legal.check = CheckKind::Modes;
    legal.subject = "commands legal where they run";
    // Whether a move is over when the next command comes is judged by its nominal time.
    legal.assurance = Assurance::Nominal;
    legal.has_margin = false;
    legal.time = legal.interval_begin = legal.interval_end = timeline.begin;
    findings.push_back(std::move(legal));
  }
  for (const Exclusion& exclusion : station.exclusions) {
    findings.push_back(check_exclusion(timeline, exclusion));
  }
  return findings;
}

}  // namespace cairn
