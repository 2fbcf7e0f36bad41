// What a load says about itself: rules, what it requires, what people will see, what it accepts.
//
// Nothing here is decided yet; that needs the predictions. Each statement becomes one rule of the load's rule
// book, or a waiver with its times.

#include <algorithm>
#include <array>

#include "compiler/sequence/expand.h"
#include "compiler/sequence/rule_maker.h"
#include "compiler/syntax/formatter.h"
#include "compiler/text/catalogue.h"
#include "compiler/text/spelling.h"

namespace cairn {

namespace {

constexpr std::array<std::string_view, 5> check_areas{"power/", "heat/", "modes/", "table/", "rules/"};

std::vector<std::string> check_codes() {
  std::vector<std::string> codes;
  for (const CatalogueEntry& entry : catalogue()) {
    const auto begins = [&](std::string_view area) { return entry.code.starts_with(area); };
    if (std::any_of(check_areas.begin(), check_areas.end(), begins)) codes.emplace_back(entry.code);
  }
  return codes;
}

std::string written(const Waiver& waiver) {
  std::string check(waiver.area.text);
  if (waiver.word.is_present()) check += "/" + std::string(waiver.word.text);
  return check;
}

}  // namespace

void Expander::add_rule(RuleNodeId node, StatedRule stated) {
  if (!node.is_valid()) return;
  Rule rule;
  rule.name = stated.text;
  rule.why = stated.why;
  rule.condition = node;
  load_->rules.rules.add(std::move(rule));
  load_->stated.push_back(std::move(stated));
}

void Expander::state_rules() {
  RuleMaker maker(evaluator_, load_->rules, begin_, end_);
  for (std::uint32_t index = 0; index < program_->trees->size(); ++index) {
    for (const Item& item : tree(index).items) {
      if (item.kind != ItemKind::Rule || !item.first_child.is_valid()) continue;
      const Statement& holds = tree(index).statements[item.first_child];
      StatedRule stated;
      stated.kind = StatedKind::Rule;
      stated.text = std::string(item.name.text);
      stated.why = unescape(item.text.text);
      stated.source = holds.span;
      add_rule(maker.sentence(index, tree(index).sentences[holds.sentence], evaluator_.globals()),
               std::move(stated));
    }
  }
}

void Expander::require_over_span(const Statement& what, Scope& scope) {
  const Sentence& sentence = tree(0).sentences[what.sentence];
  RuleMaker maker(evaluator_, load_->rules, begin_, end_);
  StatedRule stated;
  stated.kind = StatedKind::Require;
  stated.text = in_one_line(program_->files->text(sentence.span));
  stated.source = sentence.span;
  add_rule(maker.sentence(0, sentence, scope), std::move(stated));
}

void Expander::require_now(std::size_t cursor, const Statement& what) {
  const Frame& frame = cursors_[cursor].frames.back();
  const Sentence& sentence = tree(frame.tree).sentences[what.sentence];
  RuleMaker maker(evaluator_, load_->rules, begin_, end_);
  StatedRule stated;
  stated.kind = StatedKind::Require;
  stated.text = in_one_line(program_->files->text(sentence.span));
  stated.source = sentence.span;
  stated.calls = frame.setting->calls;
  add_rule(maker.at_instant(frame.tree, sentence, *frame.scope, frame.now), std::move(stated));
}

void Expander::expect(std::size_t cursor, const Statement& what) {
  const Frame frame = cursors_[cursor].frames.back();
  const Value within = evaluator_.evaluate_as(ValueKind::Duration, frame.tree, what.second, *frame.scope,
                                              "what follows `within`");
  if (within.kind == ValueKind::Pending) note_pending(what.keyword);
  if (!within.is_usable()) return;
  const Span place = tree(frame.tree).expressions[what.second].span;
  if (within.duration <= Duration{0}) {
    diagnostics_->report(diagnostics::RuleDuration, place, to_text(within.duration))
        .hint("say how long people wait for it, such as `within 2 min`");
    return;
  }
  const std::size_t command = cursors_[cursor].last_command;
  if (command == SIZE_MAX) {
    diagnostics_->report(diagnostics::ExpectAlone, what.span, "")
        .hint(
            "write it after the `send` or `bring` whose effect is expected, in the same block; `require` "
            "asks "
            "without a command");
    return;
  }
  RuleMaker maker(evaluator_, load_->rules, begin_, end_);
  StatedRule stated;
  stated.kind = StatedKind::Expect;
  stated.text = in_one_line(program_->files->text(tree(frame.tree).expressions[what.value].span));
  stated.source = what.span;
  stated.calls = frame.setting->calls;
  stated.command = command;
  stated.within = within.duration;
  add_rule(
      maker.met_within(frame.tree, what.value, *frame.scope, load_->commands[command].time, within.duration),
      std::move(stated));
}

bool Expander::is_check(const Waiver& waiver) const {
  if (waiver.word.is_present()) {
    const auto codes = check_codes();
    return std::find(codes.begin(), codes.end(), written(waiver)) != codes.end();
  }
  for (const Tree& source : *program_->trees) {
    for (const Item& item : source.items) {
      if (item.kind == ItemKind::Rule && item.name.text == waiver.area.text) return true;
    }
  }
  return false;
}

void Expander::waive(std::uint32_t index, const Statement& what, Scope& scope) {
  const Waiver& waiver = tree(index).waivers[what.waiver];
  StatedWaiver stated;
  stated.check = written(waiver);
  stated.check_place =
      waiver.word.is_present() ? cover(waiver.area.span, waiver.word.span) : waiver.area.span;
  stated.source = what.span;
  if (!is_check(waiver)) {
    std::vector<std::string> known = check_codes();
    for (const Tree& source : *program_->trees) {
      for (const Item& item : source.items) {
        if (item.kind == ItemKind::Rule) known.emplace_back(item.name.text);
      }
    }
    auto builder = diagnostics_->report(diagnostics::WaiverCheck, stated.check_place, stated.check);
    if (const auto near = nearest_word(stated.check, known)) {
      builder.fix(stated.check_place, *near, FixKind::Guess, "did you mean `" + *near + "`?");
    } else {
      builder.hint("name a check by its code, such as `power/reserve`, or a rule by its name");
    }
    return;
  }
  const Value from =
      evaluator_.evaluate_as(ValueKind::Instant, index, waiver.from, scope, "what follows `from`");
  const Value to =
      evaluator_.evaluate_as(ValueKind::Instant, index, waiver.to, scope, "the end of the interval");
  const Value until =
      evaluator_.evaluate_as(ValueKind::Instant, index, waiver.until, scope, "what follows `until`");
  for (const Value* value : {&from, &to, &until}) {
    if (value->kind == ValueKind::Pending) note_pending(what.keyword);
    if (!value->is_usable()) return;
  }
  const auto& expressions = tree(index).expressions;
  if (to.instant < from.instant) {
    diagnostics_
        ->report(diagnostics::ReversedInterval, expressions[waiver.to].span, utc(to.instant),
                 utc(from.instant))
        .context(expressions[waiver.from].span, "it begins here")
        .hint("the earlier instant comes first: swap the two, or look at the marks they hang on");
    return;
  }
  if (until.instant < to.instant) {
    diagnostics_
        ->report(diagnostics::WaiverExpired, expressions[waiver.until].span, utc(until.instant),
                 utc(to.instant))
        .context(expressions[waiver.to].span, "the interval ends here")
        .hint(
            "what was agreed for a shorter time must be agreed again: ask for a new date, or shorten the "
            "interval");
    return;
  }
  if (waiver.margin.is_valid()) {
    const Value margin = evaluator_.evaluate(index, waiver.margin, scope);
    if (!margin.is_usable()) return;
    if (margin.kind == ValueKind::Count) {
      stated.accepted = static_cast<double>(margin.count);
      stated.dimension = dimensions::count;
    } else if (margin.kind == ValueKind::Duration) {
      stated.accepted = margin.duration.seconds();
      stated.dimension = dimensions::duration;
    } else if (margin.kind == ValueKind::Quantity) {
      stated.accepted = margin.number;
      stated.dimension = margin.dimension;
    } else {
      diagnostics_
          ->report(diagnostics::WrongType, expressions[waiver.margin].span, "what follows `to`",
                   "a quantity, a Duration or a Count", type_name(margin))
          .hint("say how far the checked value may go, such as `to 2 W` or `to 62 degC`");
      return;
    }
  }
  stated.subject = unescape(waiver.subject.text);
  stated.from = from.instant;
  stated.to = to.instant;
  stated.until = until.instant;
  stated.because = unescape(waiver.because.text);
  stated.reference = unescape(waiver.reference.text);
  load_->waivers.push_back(std::move(stated));
}

}  // namespace cairn
