// Which commands bring a failure about, found by withholding them and checking again.
//
// Candidates are the commands whose draws are under way at the time of the least margin or ended within a day
// before it, greatest energy first. They are withheld one by one until the finding holds, then each is given
// back unless the finding needs it (one pass of minimisation, after Zeller and Hildebrandt 2002): the result is
// minimal, in that every command left in it is needed.

#include "constraints/checks/cause.h"

#include <algorithm>
#include <map>

namespace cairn {

namespace {

constexpr std::size_t most_candidates = 12;  // each costs one complete check

// Commands in order of the energy they draw in the day before the failure.
std::vector<TimedCommandId> candidates(const Timeline& timeline, const Finding& finding) {
  const Instant to = std::max(finding.time, finding.interval_begin);
  const Instant from = to - seconds_to_duration(86'400);
  std::map<TimedCommandId, double> energy;
  for (const Draw& draw : timeline.draws) {
    if (!draw.cause.is_valid()) continue;
    const Instant begin = std::max(draw.begin.nominal, from);
    const Instant end = std::min(draw.end.nominal, to);
    const bool at_failure = draw.begin.nominal <= to && to <= draw.end.nominal;
    if (begin > end || (begin == end && !at_failure)) continue;
    // What draws at the very time counts more than what has drawn long before.
    const double weight = at_failure ? 86'400.0 : 0.0;
    energy[draw.cause] += draw.load.nominal * ((end - begin).seconds() + weight);
  }
  std::vector<std::pair<double, TimedCommandId>> order;
  for (const auto& [command, joules] : energy) order.emplace_back(-joules, command);
  std::sort(order.begin(), order.end());
  std::vector<TimedCommandId> result;
  for (const auto& [joules, command] : order) {
    if (result.size() == most_candidates) break;
    result.push_back(command);
  }
  return result;
}

bool holds_without(const CheckInput& input, const Finding& finding, const std::vector<TimedCommandId>& withheld) {
  std::vector<TimedCommand> commands;
  const std::vector<TimedCommand>& all = input.timeline->commands;
  for (std::uint32_t i = 0; i < all.size(); ++i) {
    if (std::find(withheld.begin(), withheld.end(), TimedCommandId{i}) == withheld.end()) {
      commands.push_back(all[i]);
    }
  }
  const Timeline timeline =
      predict(*input.station, *input.start, input.timeline->begin, input.timeline->end, std::move(commands));
  const HeatResult heat = check_heat(*input.station, *input.start, timeline, *input.sky, input.heat);
  if (finding.check == CheckKind::Power) {
    return check_power(*input.station, timeline, heat.heaters).finding.verdict == Verdict::Holds;
  }
  return std::any_of(heat.findings.begin(), heat.findings.end(), [&](const Finding& other) {
    return other.code == finding.code && other.subject == finding.subject &&
           other.limit_origin == finding.limit_origin && other.verdict == Verdict::Holds;
  });
}

}  // namespace

void find_cause(const CheckInput& input, Finding& finding) {
  std::vector<TimedCommandId> withheld;
  bool mended = false;
  for (TimedCommandId candidate : candidates(*input.timeline, finding)) {
    withheld.push_back(candidate);
    mended = holds_without(input, finding, withheld);
    if (mended) break;
  }
  if (!mended) return;
  for (std::size_t i = 0; i + 1 < withheld.size();) {
    std::vector<TimedCommandId> fewer = withheld;
    fewer.erase(fewer.begin() + static_cast<std::ptrdiff_t>(i));
    if (holds_without(input, finding, fewer)) {
      withheld = std::move(fewer);
    } else {
      ++i;
    }
  }
  std::sort(withheld.begin(), withheld.end());
  finding.cause = std::move(withheld);
}

}  // namespace cairn
