// One book held against one timeline: what each node comes to, computed once, and what decided it.

#pragma once

#include <array>
#include <optional>
#include <utility>
#include <vector>

#include "constraints/rules/forms.h"
#include "constraints/rules/occurrences.h"

namespace cairn {

// What the margin of a node is measured in.
enum class Measure : std::uint8_t {
  Bare,   // it has no distance: true or false
  Known,  // in a dimension
  Mixed,  // of several dimensions: only true or false is left
};

struct NodeValue {
  Bands bands;                          // of numbers and conditions
  std::vector<Occurrence> occurrences;  // of events; of conditions once they are asked for
  bool has_occurrences = false;
  Measure measure = Measure::Bare;
  Dimension dimension;
  bool guaranteed = true;
  FormValues form;  // of forms
};

// Why a node has its value at a time.
struct Explanation {
  RuleNodeId decisive;
  Instant time;
  Instant begin;
  Instant end;
  bool is_form = false;
  std::vector<TimedCommandId> commands;
};

class Evaluation {
 public:
  // The book has no fault and the evidence is usable.
  Evaluation(const RuleBook& book, const RuleEvidence& evidence);

  RuleAnswer answer(RuleNodeId condition);

 private:
  struct Moment {
    RuleTime time = 0;
    bool just_before = false;
  };
  const NodeValue& value(RuleNodeId id);
  void require(RuleNodeId id);
  NodeValue compute(const RuleNode& node);
  NodeValue predicted(const RuleNode& node);
  NodeValue compared(const RuleNode& node);
  NodeValue joined(const RuleNode& node);
  NodeValue windowed(const RuleNode& node);
  NodeValue number(const RuleNode& node);
  NodeValue form(const RuleNode& node);
  FormValues at_each(const RuleNode& node);
  const std::vector<Occurrence>& occurrences(RuleNodeId id);
  void name_commands(RuleNodeId id, std::vector<Occurrence>& occurrences) const;
  FormOperand operand(RuleNodeId id);

  void explain(RuleNodeId id, Band band, Moment moment, Explanation& result);
  void explain_number(const RuleNode& node, Moment moment, Explanation& result);
  void explain_spells(RuleNodeId id, Moment moment, Explanation& result);
  void add_commands_around(RuleNodeId id, RuleTime from, RuleTime to, Explanation& result);
  RuleAnswer answer_one(RuleNodeId condition);
  void conjuncts(RuleNodeId condition, std::vector<RuleNodeId>& result) const;

  const RuleBook* book_;
  const RuleEvidence* evidence_;
  RuleSpan span_;
  RuleEffort effort_;
  std::vector<std::optional<NodeValue>> values_;
};

// Whether a node is one of the forms on the whole span.
bool is_form(RuleOperator kind);

}  // namespace cairn
