// Random evidence and random rules over it.

#pragma once

#include <random>
#include <vector>

#include "tests/rules/sample.h"

namespace cairn::test {

// Two step signals in W, one in K, three rows of spells and three of events; all at whole seconds.
class RandomRules {
 public:
  // `bounds`: values and times are uncertain. `direct`: forms speak of spells and events as they are
  // predicted, not of conditions made from them.
  RandomRules(unsigned seed, bool bounds, bool direct);

  Sample& sample() { return sample_; }
  RuleNodeId condition(int depth);
  // The same, with nothing in it that lies between whole seconds.
  RuleNodeId steps_only(int depth);
  // One of the possible courses: exact values and times inside the bounds.
  RuleEvidence inside_bounds();

  int below(int count) { return std::uniform_int_distribution<int>(0, count - 1)(random_); }

 private:
  Existence some_existence();
  std::vector<Occurrence> some_spells();
  std::vector<Occurrence> some_events();
  Signal some_signal(Dimension dimension);
  RuleNodeId number(int depth);
  RuleNodeId comparison(RuleNodeId number, int most);
  RuleNodeId event(int depth);
  RuleNodeId operand(int depth);
  RuleNodeId form(int depth);

  std::mt19937 random_;
  bool bounds_;
  bool direct_;
  int length_;
  Sample sample_;
  std::vector<RuleNodeId> signals_;
  std::vector<RuleNodeId> spells_;
  std::vector<RuleNodeId> events_;
};

}  // namespace cairn::test
