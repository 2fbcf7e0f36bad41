// The nodes of a rule, from its operands up: each is computed once for all that use it.

#include "constraints/rules/evaluate.h"

#include <algorithm>
#include <cmath>

#include "constraints/rules/evaluation.h"

namespace cairn {

bool is_form(RuleOperator kind) { return kind >= RuleOperator::AtEach; }

Evaluation::Evaluation(const RuleBook& book, const RuleEvidence& evidence)
    : book_(&book),
      evidence_(&evidence),
      span_{evidence.begin, (evidence.end - evidence.begin).nanoseconds},
      values_(book.nodes.size()) {}

const NodeValue& Evaluation::value(RuleNodeId id) {
  if (!values_[id.value]) require(id);
  return *values_[id.value];
}

// Operands first, without recursion: a rule may be deep.
void Evaluation::require(RuleNodeId id) {
  std::vector<RuleNodeId> open = {id};
  while (!open.empty()) {
    const RuleNodeId top = open.back();
    if (values_[top.value]) {
      open.pop_back();
      continue;
    }
    const RuleNode& node = book_->nodes[top];
    const std::size_t before = open.size();
    for (const RuleNodeId operand : {node.a, node.b}) {
      if (operand < top && !values_[operand.value]) open.push_back(operand);
    }
    if (open.size() > before) continue;
    values_[top.value] = compute(node);
    open.pop_back();
  }
}

NodeValue Evaluation::compute(const RuleNode& node) {
  NodeValue result;
  switch (node.kind) {
    case RuleOperator::Predicted:
      return predicted(node);
    case RuleOperator::TimeSince:
    case RuleOperator::TimeUntil:
    case RuleOperator::TimeHeld:
    case RuleOperator::TimeSpent:
    case RuleOperator::TimesWithin:
      return number(node);
    case RuleOperator::Events:
      result.occurrences = evidence_->events[node.events.value];
      result.has_occurrences = true;
      return result;
    case RuleOperator::Begins:
    case RuleOperator::Ends:
      result.occurrences =
          node.kind == RuleOperator::Begins ? begins_of(occurrences(node.a)) : ends_of(occurrences(node.a));
      result.has_occurrences = true;
      result.guaranteed = value(node.a).guaranteed;
      return result;
    case RuleOperator::Spells:
      result.occurrences = evidence_->spells[node.spells.value];
      result.has_occurrences = true;
      result.bands = bands_of(result.occurrences, span_, effort_);
      return result;
    case RuleOperator::AtLeast:
    case RuleOperator::MoreThan:
    case RuleOperator::AtMost:
    case RuleOperator::LessThan:
      return compared(node);
    case RuleOperator::And:
    case RuleOperator::Or:
      return joined(node);
    case RuleOperator::Not:
    case RuleOperator::Always:
    case RuleOperator::Sometime:
      return windowed(node);
    default:
      return form(node);
  }
}

namespace {

Bands negated(const Bands& bands) {
  if (bands.is_exact()) return Bands(negated(bands.at(Band::Nominal)));
  return {negated(bands.at(Band::Upper)), negated(bands.at(Band::Nominal)), negated(bands.at(Band::Lower))};
}

template <class Make>
Bands each(const Bands& bands, const Make& make) {
  if (bands.is_exact()) return Bands(make(bands.at(Band::Nominal)));
  return {make(bands.at(Band::Lower)), make(bands.at(Band::Nominal)), make(bands.at(Band::Upper))};
}

template <class Make>
Bands each(const Bands& a, const Bands& b, const Make& make) {
  if (a.is_exact() && b.is_exact()) return Bands(make(a.at(Band::Nominal), b.at(Band::Nominal)));
  return {make(a.at(Band::Lower), b.at(Band::Lower)), make(a.at(Band::Nominal), b.at(Band::Nominal)),
          make(a.at(Band::Upper), b.at(Band::Upper))};
}

Bands raised(const Bands& bands, double by) {
  return each(bands, [by](const Course& course) { return raised(course, by); });
}

// Only whether it is met.
Bands without_distance(const Bands& bands, RuleEffort& effort) {
  return each(bands, [&effort](const Course& course) {
    return truth(met_stretches(course, effort), course.end(), effort);
  });
}

Course course_of(const Signal& signal, const std::vector<double>& values, const RuleSpan& span,
                 RuleEffort& effort) {
  Course course(span.length);
  course.append_constant(0, values.front());
  for (std::size_t i = 0; i < values.size(); ++i) {
    ++effort.steps;
    const RuleTime begin = span.offset(signal.times[i]);
    const bool is_last = i + 1 == values.size();
    const RuleTime end = is_last ? begin : span.offset(signal.times[i + 1]);
    if (is_last) {
      course.append_constant(std::max<RuleTime>(begin, 0), values[i]);
    } else if (end > 0 && begin < end) {
      const Piece line{begin, values[i], values[i + 1]};
      const RuleTime from = std::max<RuleTime>(begin, 0);
      const RuleTime to = std::min(end, span.length);
      course.append(from, value_in(line, end, from), value_in(line, end, to));
    }
  }
  return course;
}

}  // namespace

NodeValue Evaluation::predicted(const RuleNode& node) {
  const Signal& signal = evidence_->signals[node.signal.value];
  NodeValue result;
  result.measure = Measure::Known;
  result.dimension = signal.dimension;
  result.guaranteed = signal.guaranteed;
  const auto course = [&](const std::vector<double>& values) {
    return course_of(signal, values, span_, effort_);
  };
  if (signal.lower == signal.nominal && signal.upper == signal.nominal) {
    result.bands = Bands(course(signal.nominal));
  } else {
    result.bands = {course(signal.lower), course(signal.nominal), course(signal.upper)};
  }
  if (signal.dimension == dimensions::duration) {
    // Times are nanoseconds within this room.
    result.bands = each(result.bands, [this](const Course& seconds) {
      return sum(Course::constant(span_.length, 0), seconds, 1e9, effort_);
    });
  }
  return result;
}

NodeValue Evaluation::compared(const RuleNode& node) {
  const NodeValue& number = value(node.a);
  NodeValue result;
  result.measure = number.measure;
  result.dimension = number.dimension;
  result.guaranteed = number.guaranteed;
  // "more than" is "not at most", so that at the limit itself one of the two holds.
  const double limit = number.dimension == dimensions::duration ? std::round(node.limit * 1e9) : node.limit;
  const Bands above = raised(number.bands, -limit);
  switch (node.kind) {
    case RuleOperator::AtLeast:
      result.bands = above;
      break;
    case RuleOperator::LessThan:
      result.bands = negated(above);
      break;
    case RuleOperator::AtMost:
      result.bands = raised(negated(number.bands), limit);
      break;
    default:
      result.bands = negated(raised(negated(number.bands), limit));
      break;
  }
  return result;
}

NodeValue Evaluation::joined(const RuleNode& node) {
  const NodeValue& a = value(node.a);
  const NodeValue& b = value(node.b);
  NodeValue result;
  result.guaranteed = a.guaranteed && b.guaranteed;
  const bool apart = a.measure == Measure::Known && b.measure == Measure::Known && a.dimension != b.dimension;
  const bool mixed = apart || a.measure == Measure::Mixed || b.measure == Measure::Mixed;
  if (mixed) {
    result.measure = Measure::Mixed;
  } else {
    const NodeValue& measured = a.measure == Measure::Known ? a : b;
    result.measure = measured.measure;
    result.dimension = measured.dimension;
  }
  const auto join = [&](const Course& x, const Course& y) {
    return node.kind == RuleOperator::And ? lesser(x, y, effort_) : greater(x, y, effort_);
  };
  result.bands = mixed ? each(without_distance(a.bands, effort_), without_distance(b.bands, effort_), join)
                       : each(a.bands, b.bands, join);
  return result;
}

NodeValue Evaluation::windowed(const RuleNode& node) {
  const NodeValue& a = value(node.a);
  NodeValue result;
  result.measure = a.measure;
  result.dimension = a.dimension;
  result.guaranteed = a.guaranteed;
  if (node.kind == RuleOperator::Not) {
    result.bands = negated(a.bands);
    return result;
  }
  const RuleTime from = node.first.nanoseconds;
  const RuleTime to = node.second.nanoseconds;
  result.bands = each(a.bands, [&](const Course& course) {
    return node.kind == RuleOperator::Always ? least_within(course, from, to, effort_)
                                             : greatest_within(course, from, to, effort_);
  });
  return result;
}

NodeValue Evaluation::number(const RuleNode& node) {
  NodeValue result;
  result.measure = Measure::Known;
  result.dimension = node.kind == RuleOperator::TimesWithin ? dimensions::count : dimensions::duration;
  result.guaranteed = value(node.a).guaranteed;
  switch (node.kind) {
    case RuleOperator::TimeSince:
      result.bands = time_since(occurrences(node.a), span_, effort_);
      break;
    case RuleOperator::TimeUntil:
      result.bands = time_until(occurrences(node.a), span_, effort_);
      break;
    case RuleOperator::TimeHeld:
      result.bands = time_held(value(node.a).bands, effort_);
      break;
    case RuleOperator::TimeSpent:
      result.bands = time_spent(value(node.a).bands, node.first, effort_);
      break;
    default:
      result.bands = times_within(occurrences(node.a), node.first, span_, effort_);
      break;
  }
  return result;
}

const std::vector<Occurrence>& Evaluation::occurrences(RuleNodeId id) {
  require(id);
  NodeValue& found = *values_[id.value];
  if (!found.has_occurrences) {
    found.occurrences = occurrences_of(found.bands, span_, effort_);
    name_commands(id, found.occurrences);
    found.has_occurrences = true;
  }
  return found.occurrences;
}

// A condition that begins or ends when some state under it does owes that to the same command.
void Evaluation::name_commands(RuleNodeId id, std::vector<Occurrence>& occurrences) const {
  struct Edge {
    Instant time;
    TimedCommandId command;
  };
  std::vector<Edge> edges;
  std::vector<bool> seen(id.value + 1);
  std::vector<RuleNodeId> open = {id};
  while (!open.empty()) {
    const RuleNodeId top = open.back();
    open.pop_back();
    if (!(top <= id) || seen[top.value]) continue;
    seen[top.value] = true;
    const RuleNode& node = book_->nodes[top];
    if (node.kind == RuleOperator::Spells) {
      for (const Occurrence& o : evidence_->spells[node.spells.value]) {
        edges.push_back({o.begin.nominal, o.begun_by});
        edges.push_back({o.end.nominal, o.ended_by});
      }
    }
    open.push_back(node.a);
    open.push_back(node.b);
  }
  const auto earlier = [](const Edge& x, const Edge& y) { return x.time < y.time; };
  if (!std::is_sorted(edges.begin(), edges.end(), earlier)) {
    std::stable_sort(edges.begin(), edges.end(), earlier);
  }
  const auto command_at = [&](Instant time) {
    TimedCommandId result;
    auto edge = std::lower_bound(edges.begin(), edges.end(), Edge{time, {}}, earlier);
    for (; edge != edges.end() && edge->time == time; ++edge) {
      if (!edge->command.is_valid() || edge->command == result) continue;
      if (result.is_valid()) return TimedCommandId{};  // two at once: neither for certain
      result = edge->command;
    }
    return result;
  };
  for (Occurrence& o : occurrences) {
    o.begun_by = command_at(o.begin.nominal);
    o.ended_by = command_at(o.end.nominal);
  }
}

FormOperand Evaluation::operand(RuleNodeId id) {
  FormOperand result;
  if (!id.is_valid() || id.value >= book_->nodes.size()) return result;
  const RuleNode& node = book_->nodes[id];
  result.occurrences = &occurrences(id);
  result.happens = sort_of(node.kind) == RuleSort::Events;
  if (node.kind == RuleOperator::Events && node.events.value < evidence_->times_before.size()) {
    result.times_before = evidence_->times_before[node.events.value];
  }
  return result;
}

NodeValue Evaluation::form(const RuleNode& node) {
  NodeValue result;
  result.guaranteed = value(node.a).guaranteed;
  if (node.b.is_valid()) result.guaranteed = result.guaranteed && value(node.b).guaranteed;
  if (node.kind == RuleOperator::AtEach) {
    result.form = at_each(node);
    result.measure = value(node.b).measure;
    result.dimension = value(node.b).dimension;
  } else {
    FormInput input;
    input.kind = node.kind;
    input.a = operand(node.a);
    input.b = operand(node.b);
    input.same = node.a == node.b;
    input.first = node.first;
    input.limit = node.limit;
    input.span = span_;
    input.tick = evidence_->tick;
    result.form = form_values(input, effort_);
    result.measure = Measure::Known;
    result.dimension = node.kind == RuleOperator::AtMostTimes ? dimensions::count : dimensions::duration;
  }
  const auto course = [&](Band band) {
    return Course::constant(span_.length, result.form[static_cast<std::size_t>(band)].value);
  };
  result.bands = {course(Band::Lower), course(Band::Nominal), course(Band::Upper)};
  return result;
}

FormValues Evaluation::at_each(const RuleNode& node) {
  FormValues values;
  for (FormValue& value : values) value.witness.begin = value.witness.end = span_.begin;
  const Bands& bands = value(node.b).bands;
  for (const Occurrence& event : occurrences(node.a)) {
    if (event.begin.nominal < span_.begin || event.begin.nominal > span_.instant(span_.length)) continue;
    for (const Band band : all_bands) {
      ++effort_.steps;
      if (band == Band::Nominal ? event.existence == Existence::Possible
                                : band == Band::Upper && event.existence != Existence::Sure) {
        continue;
      }
      const Course& course = bands.at(band);
      // The state that the event meets. A command's own displacement is that of what it brings about, so only
      // what comes before all of it is looked at; other events may come at any time within their bounds.
      const bool one_command =
          event.begun_by.is_valid() && !(evidence_->tick * 2 < event.begin.latest - event.begin.earliest);
      const RuleTime earliest =
          span_.offset(band == Band::Nominal ? event.begin.nominal : event.begin.earliest);
      double found = course.before(std::clamp<RuleTime>(earliest, 0, span_.length));
      if (band != Band::Nominal && !one_command && event.begin.earliest < event.begin.latest) {
        const RuleTime latest = span_.offset(event.begin.latest);
        if (band == Band::Lower) {
          const Extreme extreme = least(course, earliest, latest, false, effort_);
          if (is_less(extreme.value, found)) found = extreme.value;
        } else {
          const Extreme extreme = least(negated(course), earliest, latest, false, effort_);
          if (is_less(found, -extreme.value)) found = -extreme.value;
        }
      }
      FormValue& value = values[static_cast<std::size_t>(band)];
      if (!is_less(found, value.value)) continue;
      value.value = found;
      value.witness.begin = value.witness.end = event.begin.nominal;
      value.witness.commands.clear();
      if (event.begun_by.is_valid()) value.witness.commands.push_back(event.begun_by);
    }
  }
  if (is_less(values[1].value, values[0].value)) values[0] = values[1];
  if (is_less(values[2].value, values[1].value)) values[2] = values[1];
  return values;
}

// ---- usable evidence ------------------------------------------------------------------------------------

namespace {

// So that no difference of two overflows.
constexpr double largest_value = greatest_limit;
// From 1921 to 2177.
constexpr Instant first_time{-(std::int64_t{1} << 60)};
constexpr Instant last_time{INT64_MAX - (std::int64_t{1} << 61)};

bool is_usable(Instant time) { return first_time < time && time < last_time; }
bool is_usable(const EventTime& time) {
  return is_usable(time.nominal) && is_usable(time.earliest) && is_usable(time.latest) &&
         time.earliest <= time.nominal && time.nominal <= time.latest;
}

bool is_usable(const Signal& signal) {
  const std::size_t size = signal.times.size();
  if (size == 0 || signal.nominal.size() != size || signal.lower.size() != size ||
      signal.upper.size() != size) {
    return false;
  }
  for (std::size_t i = 0; i < size; ++i) {
    if (!is_usable(signal.times[i]) || (i > 0 && signal.times[i] < signal.times[i - 1])) return false;
    // Not so for what is no number, either.
    if (!(signal.lower[i] <= signal.nominal[i] && signal.nominal[i] <= signal.upper[i])) return false;
    if (!(signal.lower[i] > -largest_value && signal.upper[i] < largest_value)) return false;
  }
  return true;
}

bool are_usable(const std::vector<Occurrence>& occurrences, bool apart) {
  for (std::size_t i = 0; i < occurrences.size(); ++i) {
    const Occurrence& o = occurrences[i];
    if (!is_usable(o.begin) || !is_usable(o.end) || o.end.nominal < o.begin.nominal) return false;
    if (i == 0) continue;
    if (o.begin.nominal < (apart ? occurrences[i - 1].end : occurrences[i - 1].begin).nominal) return false;
  }
  return true;
}

RuleTrouble trouble_of(const RuleBook& book, const RuleEvidence& evidence) {
  if (fault(book)) return RuleTrouble::FaultyBook;
  if (evidence.signals.size() < book.signals.size() || evidence.spells.size() < book.spells.size() ||
      evidence.events.size() < book.events.size()) {
    return RuleTrouble::NoEvidence;
  }
  if (!is_usable(evidence.begin) || !is_usable(evidence.end) || evidence.end < evidence.begin) {
    return RuleTrouble::UnusableTimes;
  }
  return RuleTrouble::None;
}

// By node: what is wrong with the evidence that it or its operands look at.
std::vector<RuleTrouble> troubles_of(const RuleBook& book, const RuleEvidence& evidence) {
  std::vector<RuleTrouble> result(book.nodes.size());
  for (std::size_t i = 0; i < result.size(); ++i) {
    const RuleNode& node = book.nodes[book.nodes.id_at(i)];
    for (const RuleNodeId operand : {node.a, node.b}) {
      if (operand.value < i && result[i] == RuleTrouble::None) result[i] = result[operand.value];
    }
    if (node.kind == RuleOperator::Predicted && !is_usable(evidence.signals[node.signal.value])) {
      result[i] = RuleTrouble::UnusableSignal;
    }
    if ((node.kind == RuleOperator::Spells && !are_usable(evidence.spells[node.spells.value], true)) ||
        (node.kind == RuleOperator::Events && !are_usable(evidence.events[node.events.value], false))) {
      result[i] = RuleTrouble::UnusableTimes;
    }
  }
  return result;
}

}  // namespace

std::vector<RuleAnswer> evaluate(const RuleBook& book, const RuleEvidence& evidence) {
  std::vector<RuleAnswer> answers;
  const auto none = [&evidence](RuleTrouble trouble) {
    RuleAnswer answer;
    answer.verdict = Verdict::Fails;
    answer.assurance = Assurance::Nominal;
    answer.trouble = trouble;
    answer.time = answer.interval_begin = answer.interval_end = evidence.begin;
    return answer;
  };
  const RuleTrouble trouble = trouble_of(book, evidence);
  if (trouble != RuleTrouble::None) {
    answers.assign(book.rules.size(), none(trouble));
    return answers;
  }
  const std::vector<RuleTrouble> troubles = troubles_of(book, evidence);
  Evaluation evaluation(book, evidence);
  for (const Rule& rule : book.rules) {
    const RuleTrouble found = troubles[rule.condition.value];
    answers.push_back(found == RuleTrouble::None ? evaluation.answer(rule.condition) : none(found));
  }
  return answers;
}

}  // namespace cairn
