// Sentences: the forms of a rule, its scope, and the same at one instant.

#include "compiler/sequence/rule_maker.h"

#include "compiler/text/catalogue.h"
#include "constraints/rules/predictions.h"

namespace cairn {

namespace {

constexpr std::string_view form_at_instant =
    "inside a block that sets a time, `require` asks for that time only; a form such as `only after` or `no "
    "more "
    "than` speaks of the whole load: write it outside the blocks, or as a `rule`";

}  // namespace

std::optional<Duration> RuleMaker::duration(std::uint32_t tree, ExpressionId id, Scope& scope,
                                            const char* what) {
  const Value value = evaluator_->evaluate_as(ValueKind::Duration, tree, id, scope, what);
  if (!value.is_usable()) return std::nullopt;
  if (value.duration >= Duration{0} && value.duration <= longest_duration) return value.duration;
  diagnostics()
      .report(diagnostics::RuleDuration, at(tree, id).span, to_text(value.duration))
      .hint("give a length of time of zero or more, up to 36 years");
  return std::nullopt;
}

bool RuleMaker::is_inside(std::uint32_t tree, ExpressionId id, Scope& scope, int depth) {
  if (!id.is_valid() || depth > 20) return false;
  const Expression& expression = at(tree, id);
  if (expression.kind != ExpressionKind::Name) {
    return is_inside(tree, expression.left, scope, depth + 1) ||
           is_inside(tree, expression.right, scope, depth + 1);
  }
  const PathName& path = path_of(tree, expression);
  const Binding* binding = path.second.is_present() ? nullptr : evaluator_->find(path.first.text, scope);
  if (binding == nullptr) return false;
  if (binding->mark == nullptr)
    return is_inside(binding->tree, binding->expression, *binding->scope, depth + 1);
  if (binding->mark->kind == MarkKind::Expression) {
    return is_inside(binding->tree, binding->mark->value, *binding->scope, depth + 1);
  }
  return binding->mark->kind == MarkKind::Block;
}

std::optional<EventTime> RuleMaker::time(std::uint32_t tree, ExpressionId id, Scope& scope,
                                         const char* what) {
  const Value value = evaluator_->evaluate_as(ValueKind::Instant, tree, id, scope, what);
  if (!value.is_usable()) return std::nullopt;
  return is_inside(tree, id, scope, 0) ? inside(value.instant) : outside(station().clock, value.instant);
}

RuleNodeId RuleMaker::interval(std::uint32_t tree, ExpressionId from, ExpressionId to, Scope& scope) {
  const auto begin = time(tree, from, scope, "what follows `between`");
  const auto end = time(tree, to, scope, "the end of the interval");
  if (!begin || !end) return {};
  if (end->nominal >= begin->nominal) return spells(*book_, RuleInterval{*begin, *end});
  const LeapSecondTable& leap_seconds = *evaluator_->program().leap_seconds;
  diagnostics()
      .report(diagnostics::ReversedInterval, at(tree, to).span, format_utc_exact(end->nominal, leap_seconds),
              format_utc_exact(begin->nominal, leap_seconds))
      .context(at(tree, from).span, "it begins here")
      .hint("the earlier instant comes first: swap the two, or look at the marks they hang on");
  return {};
}

RuleNodeId RuleMaker::wrong(std::uint32_t tree, ExpressionId id, const char* expected) {
  const Span place = at(tree, id).span;
  const std::string text(evaluator_->program().files->text(place));
  diagnostics()
      .report(diagnostics::RuleOperand, place, text, expected)
      .hint(
          "conditions are states (`camera is off`), comparisons (`power.reserve >= 6 W`) and open windows "
          "(`window "
          "west-dish`); what happens are commands (`command camera.expose`), marks, and `start of` or `end "
          "of` a "
          "condition");
  return {};
}

RuleNodeId RuleMaker::sentence(std::uint32_t tree, const Sentence& sentence, Scope& scope) {
  const RuleNodeId made = form(tree, sentence, scope);
  return made.is_valid() ? read_moves_by_role(*book_, made) : made;
}

RuleNodeId RuleMaker::at_instant(std::uint32_t tree, const Sentence& sentence, Scope& scope, Instant time) {
  if (sentence.form != SentenceForm::Plain || sentence.from.is_valid()) {
    diagnostics()
        .report(diagnostics::RuleForm, sentence.span,
                std::string(evaluator_->program().files->text(sentence.span)))
        .hint(std::string(form_at_instant));
    return {};
  }
  RuleNodeId made = condition(tree, sentence.condition, scope);
  if (!made.is_valid()) return made;
  if (sentence.never) made = negation(*book_, made);
  if (sentence.whilst.is_valid()) {
    const RuleNodeId whilst_node = condition(tree, sentence.whilst, scope);
    if (!whilst_node.is_valid()) return whilst_node;
    made = whilst(*book_, whilst_node, made);
  }
  // What has ended by now has surely ended a tick later.
  const Duration tick = std::max(station().clock.tick, Duration{1});
  const Instant from = time + tick;
  const Instant to = from + tick;
  const RuleNodeId moment = spells(*book_, RuleInterval{{from, from, from}, {to, to, to}});
  return read_moves_by_role(*book_, whilst(*book_, moment, made));
}

RuleNodeId RuleMaker::met_within(std::uint32_t tree, ExpressionId id, Scope& scope, Instant time,
                                 Duration within) {
  const RuleNodeId made = condition(tree, id, scope);
  if (!made.is_valid()) return made;
  const RuleNodeId moment = events(*book_, RuleMarks{{{time, time, time}}});
  return read_moves_by_role(*book_, over_span(*book_, RuleOperator::FollowedBy, moment, made, within));
}

RuleNodeId RuleMaker::scoped(std::uint32_t tree, const Sentence& sentence, Scope& scope, RuleNodeId subject) {
  RuleNodeId within;
  if (sentence.whilst.is_valid()) {
    within = condition(tree, sentence.whilst, scope);
    if (!within.is_valid()) return within;
  }
  if (sentence.from.is_valid()) {
    const RuleNodeId between = interval(tree, sentence.from, sentence.to, scope);
    if (!between.is_valid()) return between;
    within = within.is_valid() ? both(*book_, within, between) : between;
  }
  if (is_event(subject)) {
    if (!sentence.never) return wrong(tree, sentence.condition, "a condition");
    if (!within.is_valid()) return over_span(*book_, RuleOperator::AtMostTimes, subject, {}, {}, 0);
    return over_span(*book_, RuleOperator::NeverInside, subject, within);
  }
  if (sentence.never) subject = negation(*book_, subject);
  return within.is_valid() ? whilst(*book_, within, subject) : subject;
}

RuleNodeId RuleMaker::at_most(std::uint32_t tree, const Sentence& sentence, Scope& scope,
                              RuleNodeId subject) {
  Duration within = end_ - begin_;
  if (sentence.within.is_valid()) {
    const auto given = duration(tree, sentence.within, scope, "what follows `in any`");
    if (!given) return {};
    within = *given;
  }
  std::int64_t times = 1;
  if (!sentence.once) {
    const Value amount = evaluator_->evaluate(tree, sentence.amount, scope);
    if (!amount.is_usable()) return {};
    if (amount.kind == ValueKind::Duration && !sentence.times && !is_event(subject)) {
      const auto most = duration(tree, sentence.amount, scope, "what follows `no more than`");
      return most ? spent_at_most(*book_, subject, *most, within) : RuleNodeId{};
    }
    if (amount.kind != ValueKind::Count || amount.count < 0 || amount.count > 1'000'000'000) {
      const bool lasting = !sentence.times && !is_event(subject);
      diagnostics()
          .report(diagnostics::WrongType, at(tree, sentence.amount).span, "what follows `no more than`",
                  lasting ? "a Duration or a number of times" : "a number of times", type_name(amount))
          .hint("write `no more than 4 times`, or for a condition also `no more than 40 min`");
      return {};
    }
    times = amount.count;
  }
  if (!sentence.within.is_valid()) {
    return over_span(*book_, RuleOperator::AtMostTimes, subject, {}, {}, static_cast<double>(times));
  }
  return times_at_most(*book_, subject, static_cast<std::uint32_t>(times), within);
}

RuleNodeId RuleMaker::apart(std::uint32_t tree, const Sentence& sentence, Scope& scope) {
  const Expression& pair = at(tree, sentence.condition);
  const bool two = pair.kind == ExpressionKind::And;
  const RuleNodeId first = subject(tree, two ? pair.left : sentence.condition, scope);
  const RuleNodeId second = two ? subject(tree, pair.right, scope) : first;
  const auto by = duration(tree, sentence.amount, scope, "what follows `apart by`");
  if (!first.is_valid() || !second.is_valid() || !by) return {};
  return over_span(*book_, RuleOperator::Apart, first, second, *by);
}

RuleNodeId RuleMaker::only(std::uint32_t tree, const Sentence& sentence, Scope& scope,
                           RuleNodeId subject_node) {
  if (sentence.form == SentenceForm::OnlyBetween) {
    const RuleNodeId between = interval(tree, sentence.from, sentence.to, scope);
    return between.is_valid() ? over_span(*book_, RuleOperator::OnlyInside, subject_node, between) : between;
  }
  const bool events_too =
      sentence.form == SentenceForm::OnlyAfter || sentence.form == SentenceForm::OnlyBefore;
  const RuleNodeId other =
      events_too ? subject(tree, sentence.other, scope) : condition(tree, sentence.other, scope);
  if (!other.is_valid()) return other;
  switch (sentence.form) {
    case SentenceForm::OnlyOutside:
      return over_span(*book_, RuleOperator::NeverInside, subject_node, other);
    case SentenceForm::OnlyBefore:
      return over_span(*book_, RuleOperator::NeverAfter, subject_node, other);
    case SentenceForm::OnlyAfter: {
      Duration held{0};
      if (sentence.amount.is_valid()) {
        const auto given = duration(tree, sentence.amount, scope, "what stands before `of`");
        if (!given) return {};
        held = *given;
      }
      return over_span(*book_, RuleOperator::OnlyAfter, subject_node, other, held);
    }
    default:
      return over_span(*book_, RuleOperator::OnlyInside, subject_node, other);
  }
}

RuleNodeId RuleMaker::form(std::uint32_t tree, const Sentence& sentence, Scope& scope) {
  if (sentence.form == SentenceForm::Apart) return apart(tree, sentence, scope);
  const RuleNodeId subject_node = subject(tree, sentence.condition, scope);
  if (!subject_node.is_valid()) return subject_node;
  switch (sentence.form) {
    case SentenceForm::Plain:
    case SentenceForm::Apart:
      return scoped(tree, sentence, scope, subject_node);
    case SentenceForm::AtMost:
      return at_most(tree, sentence, scope, subject_node);
    case SentenceForm::LastsAtMost:
    case SentenceForm::LastsAtLeast: {
      if (is_event(subject_node)) return wrong(tree, sentence.condition, "a condition");
      const auto amount = duration(tree, sentence.amount, scope, "how long it lasts");
      const bool most = sentence.form == SentenceForm::LastsAtMost;
      return amount ? over_span(*book_, most ? RuleOperator::LastsAtMost : RuleOperator::LastsAtLeast,
                                subject_node, {}, *amount)
                    : RuleNodeId{};
    }
    case SentenceForm::Followed: {
      const RuleNodeId other = subject(tree, sentence.other, scope);
      const auto amount = duration(tree, sentence.amount, scope, "what follows `within`");
      return other.is_valid() && amount
                 ? over_span(*book_, RuleOperator::FollowedBy, subject_node, other, *amount)
                 : RuleNodeId{};
    }
    default:
      return only(tree, sentence, scope, subject_node);
  }
}

}  // namespace cairn
