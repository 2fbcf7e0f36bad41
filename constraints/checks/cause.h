// The cause of failing power and heat findings: small sets of commands without which they would hold.
//
// A set is tried by checking again without its commands. One such re-solve answers for every finding at once,
// so that its answers are kept and shared, and it computes no more than findings: no traces, no bounds. How
// many are made is limited; together they cost less than ten times the check itself.

#pragma once

#include <cstddef>
#include <map>
#include <optional>
#include <utility>
#include <vector>

#include "constraints/checks/checks.h"

namespace cairn {

class CauseFinder {
 public:
  // `solar`: what the arrays give. Without some commands their cells may be cooler or warmer; that is left
  // out.
  CauseFinder(const CheckInput& input, SolarCourse solar) : input_(&input), solar_(std::move(solar)) {}

  // Fills `finding.cause`: a smallest set among those tried; leaves it empty when no set of the commands
  // tried mends the finding (the cause lies in the station or the start, not in the load).
  void find(Finding& finding);

  [[nodiscard]] std::size_t solves() const { return answers_.size(); }

 private:
  using Withheld = std::vector<TimedCommandId>;  // rising
  struct Answer {
    Finding power;
    std::optional<Finding> storage;
    std::vector<Finding> heat;
  };
  const Answer* solve(const Withheld& withheld);
  // Nothing when no more may be tried.
  [[nodiscard]] bool holds_without(const Finding& finding, Withheld withheld);

  const CheckInput* input_;
  SolarCourse solar_;
  std::map<Withheld, Answer> answers_;
};

}  // namespace cairn
