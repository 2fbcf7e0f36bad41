// From a rule's course to its answer: the verdict, and down the tree to what decided it.

#include <algorithm>
#include <cmath>

#include "constraints/rules/evaluation.h"

namespace cairn {

namespace {

double value_at(const Course& course, RuleTime time, bool just_before) {
  return just_before ? course.before(time) : course.at(time);
}

Extreme greatest(const Course& course, RuleTime begin, RuleTime end, RuleEffort& effort) {
  Extreme result = least(negated(course), begin, end, true, effort);
  result.value = -result.value;
  return result;
}

}  // namespace

void Evaluation::add_commands_around(RuleNodeId id, RuleTime from, RuleTime to, Explanation& result) {
  // What began or happened within, or held then.
  for (const Occurrence& o : occurrences(id)) {
    if (span_.offset(o.begin.earliest) > to || span_.offset(o.end.latest) < from) continue;
    if (o.begun_by.is_valid()) result.commands.push_back(o.begun_by);
  }
}

void Evaluation::explain_spells(RuleNodeId id, Moment moment, Explanation& result) {
  // The spell at that time, or else the one that has just ended.
  const Occurrence* found = nullptr;
  for (const Occurrence& o : occurrences(id)) {
    const RuleTime begin = span_.offset(o.begin.nominal);
    if (begin > moment.time || (begin == moment.time && moment.just_before)) break;
    found = &o;
  }
  if (found == nullptr) return;
  const RuleTime end = span_.offset(found->end.nominal);
  const bool over = moment.just_before ? end < moment.time : end <= moment.time;
  const TimedCommandId command = over ? found->ended_by : found->begun_by;
  if (command.is_valid()) result.commands.push_back(command);
}

void Evaluation::explain_number(const RuleNode& node, Moment moment, Explanation& result) {
  switch (node.kind) {
    case RuleOperator::TimeSpent:
    case RuleOperator::TimesWithin:
      add_commands_around(node.a, moment.time - std::min(node.first.nanoseconds, span_.length), moment.time,
                          result);
      break;
    case RuleOperator::TimeHeld:
      if (book_->nodes[node.a].kind == RuleOperator::Spells) explain_spells(node.a, moment, result);
      break;
    case RuleOperator::TimeSince:
    case RuleOperator::TimeUntil: {
      const bool since = node.kind == RuleOperator::TimeSince;
      const Occurrence* found = nullptr;
      for (const Occurrence& o : occurrences(node.a)) {
        const RuleTime at = span_.offset(o.begin.nominal);
        if (since && at > moment.time) break;
        if (since || (found == nullptr && at >= moment.time)) found = &o;
      }
      if (found != nullptr && found->begun_by.is_valid()) result.commands.push_back(found->begun_by);
      break;
    }
    default:
      break;
  }
}

void Evaluation::explain(RuleNodeId id, Band band, Moment moment, Explanation& result) {
  // Down along the one operand that decides.
  for (;;) {
    const RuleNode& node = book_->nodes[id];
    result.decisive = id;
    result.time = result.begin = result.end = span_.instant(moment.time);
    switch (node.kind) {
      case RuleOperator::Not:
        band = opposite(band);
        id = node.a;
        continue;
      case RuleOperator::And:
      case RuleOperator::Or: {
        const double a = value_at(value(node.a).bands.at(band), moment.time, moment.just_before);
        const double b = value_at(value(node.b).bands.at(band), moment.time, moment.just_before);
        // Whether each is met comes first, for margins of different dimensions say no more.
        const bool takes_b = is_met(a) != is_met(b)           ? is_met(b) == (node.kind == RuleOperator::Or)
                             : node.kind == RuleOperator::And ? is_less(b, a)
                                                              : is_less(a, b);
        id = takes_b ? node.b : node.a;
        continue;
      }
      case RuleOperator::Always:
      case RuleOperator::Sometime: {
        const RuleTime length = span_.length;
        const RuleTime from = moment.time + std::clamp(node.first.nanoseconds, -length, length);
        const RuleTime to = moment.time + std::clamp(node.second.nanoseconds, -length, length);
        const Course& course = value(node.a).bands.at(band);
        if (to < 0 || from >= length) return;
        const Extreme extreme = node.kind == RuleOperator::Always ? least(course, from, to, true, effort_)
                                                                  : greatest(course, from, to, effort_);
        moment = {extreme.time, extreme.just_before};
        id = node.a;
        continue;
      }
      case RuleOperator::AtLeast:
      case RuleOperator::MoreThan:
      case RuleOperator::AtMost:
      case RuleOperator::LessThan:
        explain_number(book_->nodes[node.a], moment, result);
        return;
      case RuleOperator::Spells:
        explain_spells(id, moment, result);
        return;
      default: {
        if (!is_form(node.kind)) return;
        const FormWitness& witness = value(id).form[static_cast<std::size_t>(band)].witness;
        result.is_form = true;
        result.time = result.begin = witness.begin;
        result.end = witness.end;
        result.commands.insert(result.commands.end(), witness.commands.begin(), witness.commands.end());
        return;
      }
    }
  }
}

void Evaluation::conjuncts(RuleNodeId condition, std::vector<RuleNodeId>& result) const {
  std::vector<RuleNodeId> open = {condition};
  std::vector<bool> seen(condition.value + 1);
  while (!open.empty()) {
    const RuleNodeId top = open.back();
    open.pop_back();
    if (seen[top.value]) continue;
    seen[top.value] = true;
    const RuleNode& node = book_->nodes[top];
    if (node.kind == RuleOperator::And) {
      open.push_back(node.b);
      open.push_back(node.a);
    } else {
      result.push_back(top);
    }
  }
}

RuleAnswer Evaluation::answer_one(RuleNodeId condition) {
  const NodeValue& root = value(condition);
  RuleAnswer answer;
  answer.assurance = root.guaranteed ? Assurance::Guaranteed : Assurance::Nominal;
  answer.time = answer.interval_begin = answer.interval_end = span_.begin;
  const Extreme lower = least(root.bands.at(Band::Lower), 0, span_.length, false, effort_);
  const Extreme nominal = least(root.bands.at(Band::Nominal), 0, span_.length, false, effort_);
  answer.verdict = is_met(lower.value)     ? Verdict::Holds
                   : is_met(nominal.value) ? Verdict::Unproven
                                           : Verdict::Fails;
  const Band band = answer.verdict == Verdict::Fails ? Band::Nominal : Band::Lower;
  const Extreme& worst = answer.verdict == Verdict::Fails ? nominal : lower;
  answer.vacuous = worst.value == surely && (root.measure == Measure::Known || span_.length == 0);
  answer.has_margin = root.measure == Measure::Known && std::isfinite(worst.value);
  answer.dimension = root.dimension;
  const double unit = root.dimension == dimensions::duration ? 1e9 : 1;
  answer.margin = worst.value / unit;
  answer.nominal_margin = nominal.value / unit;
  if (span_.length == 0) return answer;
  Explanation explanation;
  explain(condition, band, {worst.time, worst.just_before}, explanation);
  answer.decisive = explanation.decisive;
  answer.time = explanation.time;
  answer.interval_begin = explanation.begin;
  answer.interval_end = explanation.end;
  if (answer.verdict != Verdict::Holds && !explanation.is_form) {
    const std::vector<Stretch> missed = met_stretches(negated(root.bands.at(band)), effort_);
    if (!missed.empty()) {
      answer.interval_begin = std::min(answer.time, span_.instant(missed.front().begin));
      answer.interval_end = std::max(answer.time, span_.instant(missed.back().end));
    }
  }
  answer.commands = std::move(explanation.commands);
  std::sort(answer.commands.begin(), answer.commands.end());
  answer.commands.erase(std::unique(answer.commands.begin(), answer.commands.end()), answer.commands.end());
  return answer;
}

RuleAnswer Evaluation::answer(RuleNodeId condition) {
  const std::size_t before = effort_.steps;
  std::vector<RuleNodeId> parts;
  conjuncts(condition, parts);
  std::optional<RuleAnswer> worst;
  bool vacuous = true;
  Assurance assurance = Assurance::Guaranteed;
  for (const RuleNodeId part : parts) {
    RuleAnswer answer = answer_one(part);
    vacuous = vacuous && answer.vacuous;
    if (answer.assurance == Assurance::Nominal) assurance = Assurance::Nominal;
    // The worse verdict; of equal ones the lesser margin, where the two can be compared at all.
    const bool worse =
        !worst || answer.verdict > worst->verdict ||
        (answer.verdict == worst->verdict &&
         (worst->vacuous || (answer.has_margin && worst->has_margin && answer.dimension == worst->dimension &&
                             answer.margin < worst->margin)));
    if (worse) worst = std::move(answer);
  }
  worst->vacuous = vacuous;
  worst->assurance = assurance;
  worst->steps = effort_.steps - before;
  return *worst;
}

}  // namespace cairn
