// From the sentences of rules to what constraints/rules computes with.
//
// A sentence asks for states, commands, windows, marks and predicted quantities; each becomes a node of the
// rule book. Whatever cannot be asked is reported once, and gives no node.

#pragma once

#include <optional>

#include "compiler/meaning/program.h"
#include "constraints/rules/rule.h"

namespace cairn {

class RuleMaker {
 public:
  RuleMaker(Evaluator& evaluator, RuleBook& book, Instant begin, Instant end)
      : evaluator_(&evaluator), book_(&book), begin_(begin), end_(end) {}

  // What must hold over the whole span. Invalid: something was reported.
  RuleNodeId sentence(std::uint32_t tree, const Sentence& sentence, Scope& scope);
  // The same at one instant only. Forms that speak of the whole span are reported.
  RuleNodeId at_instant(std::uint32_t tree, const Sentence& sentence, Scope& scope, Instant time);
  // That the condition is met at some time from `time` on, within a duration.
  RuleNodeId met_within(std::uint32_t tree, ExpressionId condition, Scope& scope, Instant time,
                        Duration within);

 private:
  RuleNodeId form(std::uint32_t tree, const Sentence& sentence, Scope& scope);
  RuleNodeId scoped(std::uint32_t tree, const Sentence& sentence, Scope& scope, RuleNodeId subject);
  RuleNodeId at_most(std::uint32_t tree, const Sentence& sentence, Scope& scope, RuleNodeId subject);
  RuleNodeId apart(std::uint32_t tree, const Sentence& sentence, Scope& scope);
  RuleNodeId only(std::uint32_t tree, const Sentence& sentence, Scope& scope, RuleNodeId subject);

  // A condition, or something that happens.
  RuleNodeId subject(std::uint32_t tree, ExpressionId id, Scope& scope);
  RuleNodeId condition(std::uint32_t tree, ExpressionId id, Scope& scope);
  RuleNodeId state(std::uint32_t tree, const Expression& expression, Scope& scope);
  RuleNodeId compared(std::uint32_t tree, const Expression& expression, Scope& scope);
  RuleNodeId number(std::uint32_t tree, ExpressionId id, Scope& scope, Dimension& dimension);
  RuleNodeId quantity(const PathName& path, Dimension& dimension);
  RuleNodeId command(std::uint32_t tree, const Expression& expression, Scope& scope);
  RuleNodeId window(std::uint32_t tree, const Expression& expression);
  RuleNodeId named(std::uint32_t tree, ExpressionId id, Scope& scope);
  RuleNodeId joined(ExpressionKind kind, RuleNodeId left, RuleNodeId right);
  RuleNodeId interval(std::uint32_t tree, ExpressionId from, ExpressionId to, Scope& scope);

  std::optional<PartId> part_of(std::uint32_t tree, ExpressionId id, Scope& scope, bool report);
  bool add_state(std::uint32_t tree, PartId part, ExpressionId word, std::vector<StateId>& states,
                 bool& moving);
  std::optional<Duration> duration(std::uint32_t tree, ExpressionId id, Scope& scope, const char* what);
  std::optional<EventTime> time(std::uint32_t tree, ExpressionId id, Scope& scope, const char* what);
  // Whether an instant hangs on the load's own blocks, and so goes with the station's clock.
  bool is_inside(std::uint32_t tree, ExpressionId id, Scope& scope, int depth);
  bool is_quantity(std::uint32_t tree, ExpressionId id, Scope& scope);
  RuleNodeId wrong(std::uint32_t tree, ExpressionId id, const char* expected);
  bool is_event(RuleNodeId id) const { return sort_of(book_->nodes[id].kind) == RuleSort::Events; }
  const Expression& at(std::uint32_t tree, ExpressionId id) const {
    return (*evaluator_->program().trees)[tree].expressions[id];
  }
  const PathName& path_of(std::uint32_t tree, const Expression& expression) const {
    return (*evaluator_->program().trees)[tree].paths[expression.path];
  }
  const Station& station() const { return evaluator_->program().station->station; }
  Diagnostics& diagnostics() { return evaluator_->diagnostics(); }

  Evaluator* evaluator_;
  RuleBook* book_;
  Instant begin_;
  Instant end_;
};

}  // namespace cairn
