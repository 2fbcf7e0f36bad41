// The forms that speak of the whole span: each gives one number, in nanoseconds or counts, and where it is
// least.

#pragma once

#include <array>
#include <vector>

#include "constraints/rules/occurrences.h"

namespace cairn {

// Where a form's margin is least, and the commands that bring it about.
struct FormWitness {
  Instant begin;
  Instant end;
  std::vector<TimedCommandId> commands;
};

struct FormValue {
  double value = surely;  // surely: there was nothing to judge
  FormWitness witness;
};
using FormValues = std::array<FormValue, 3>;  // by Band

struct FormOperand {
  const std::vector<Occurrence>* occurrences = nullptr;
  bool happens = false;            // events, not spells
  std::uint32_t times_before = 0;  // events: how often before the span
};

struct FormInput {
  RuleOperator kind = RuleOperator::Apart;
  FormOperand a;
  FormOperand b;
  bool same = false;  // `a` and `b` are one operand
  Duration first;
  double limit = 0;
  RuleSpan span;
  Duration tick;  // by how much each command may be displaced
};

// Every form but AtEach, which needs the course of its condition.
FormValues form_values(const FormInput& input, RuleEffort& effort);

}  // namespace cairn
