// What verifying and gating answer: one row for each thing that was looked at. The rules' names are stable
// and stand in docs/gate.md, each with what it means.

#pragma once

#include <string>
#include <vector>

namespace cairn {

struct GateFinding {
  std::string rule;  // "file/changed"
  bool passed = false;
  std::string sentence;  // what was found; names in backticks
  std::string file;      // inside the plan's folder or the project; may be empty
};

using GateFindings = std::vector<GateFinding>;

inline void refuse(GateFindings& findings, std::string rule, std::string file, std::string sentence) {
  findings.push_back({std::move(rule), false, std::move(sentence), std::move(file)});
}

inline bool all_passed(const GateFindings& findings) {
  for (const GateFinding& finding : findings) {
    if (!finding.passed) return false;
  }
  return !findings.empty();
}

}  // namespace cairn
