// A slow, obvious second way to answer a rule: the definitions themselves, at every quarter of a second.
//
// Shares only the book with the room under test. Where signals are steps at whole seconds, spells and events
// lie at whole seconds and so do windows, everything a rule can come to is linear within each quarter (lines
// rise and fall by 1 a second and meet at halves), so that the least over a window is among the quarters'
// ends.

#pragma once

#include <vector>

#include "constraints/rules/evaluate.h"

namespace cairn::test {

// A margin, and whether it is met: the two are kept apart here, where the room uses the sign of zero.
struct BruteValue {
  double margin = 0;
  bool met = false;
};

struct BruteAnswer {
  BruteValue worst;
  bool has_dimension = false;
  bool mixed = false;
};

// The book has no fault; values are exact, times whole seconds.
BruteAnswer brute_answer(const RuleBook& book, const RuleEvidence& evidence, RuleNodeId condition);

}  // namespace cairn::test
