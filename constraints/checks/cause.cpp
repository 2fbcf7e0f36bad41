// Which commands bring a failure about, found by withholding them and checking again.
//
// Candidates are the commands whose draws are under way at the time of the least margin or ended within a day
// before it, greatest energy first. Each is tried alone; where none is enough they are withheld together, one
// more at a time, until the finding holds, and each is then given back unless the finding needs it (one pass
// of minimisation, after Zeller and Hildebrandt 2002); last, pairs of what is left. The result is minimal, in
// that every command left in it is needed, and no single command (nor pair of those left) would have done.

#include "constraints/checks/cause.h"

#include <algorithm>
#include <utility>

namespace cairn {

namespace {

constexpr std::size_t most_candidates = 12;
constexpr std::size_t most_solves = 60;  // over all findings of a load

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

}  // namespace

const CauseFinder::Answer* CauseFinder::solve(const Withheld& withheld) {
  const auto known = answers_.find(withheld);
  if (known != answers_.end()) return &known->second;
  if (answers_.size() == most_solves) return nullptr;
  const CheckInput& input = *input_;
  std::vector<TimedCommand> commands;
  const std::vector<TimedCommand>& all = input.timeline->commands;
  for (std::uint32_t i = 0; i < all.size(); ++i) {
    if (!std::binary_search(withheld.begin(), withheld.end(), TimedCommandId{i})) commands.push_back(all[i]);
  }
  const Timeline timeline =
      predict(*input.station, *input.start, input.timeline->begin, input.timeline->end, std::move(commands));
  HeatOptions options = input.heat;
  options.envelope = options.traces = false;
  HeatResult heat = check_heat(*input.station, *input.start, timeline, *input.sky, options);
  Answer answer;
  PowerInput power;
  power.station = input.station;
  power.timeline = &timeline;
  power.heaters = &heat.heaters;
  power.charge = input.start->charge;
  power.solar = solar_;
  PowerResult balance = check_power(power);
  answer.power = std::move(balance.finding);
  answer.storage = std::move(balance.storage);
  answer.heat = std::move(heat.findings);
  return &answers_.emplace(withheld, std::move(answer)).first->second;
}

bool CauseFinder::holds_without(const Finding& finding, Withheld withheld) {
  std::sort(withheld.begin(), withheld.end());
  const Answer* answer = solve(withheld);
  if (answer == nullptr) return false;
  if (finding.check == CheckKind::Power) {
    const Finding& other =
        finding.code == answer->power.code || !answer->storage ? answer->power : *answer->storage;
    return other.verdict == Verdict::Holds;
  }
  return std::any_of(answer->heat.begin(), answer->heat.end(), [&](const Finding& other) {
    return other.code == finding.code && other.subject == finding.subject &&
           other.limit_origin == finding.limit_origin && other.verdict == Verdict::Holds;
  });
}

void CauseFinder::find(Finding& finding) {
  const std::vector<TimedCommandId> tried = candidates(*input_->timeline, finding);
  for (const TimedCommandId candidate : tried) {
    if (holds_without(finding, {candidate})) {
      finding.cause = {candidate};
      return;
    }
  }
  Withheld withheld;
  bool mended = false;
  for (const TimedCommandId candidate : tried) {
    withheld.push_back(candidate);
    mended = withheld.size() > 1 && holds_without(finding, withheld);
    if (mended) break;
  }
  if (!mended) return;
  for (std::size_t i = 0; i + 1 < withheld.size() && withheld.size() > 2;) {
    Withheld fewer = withheld;
    fewer.erase(fewer.begin() + static_cast<std::ptrdiff_t>(i));
    if (holds_without(finding, fewer)) {
      withheld = std::move(fewer);
    } else {
      ++i;
    }
  }
  for (std::size_t i = 0; withheld.size() > 2 && i < withheld.size(); ++i) {
    for (std::size_t j = i + 1; j < withheld.size(); ++j) {
      if (!holds_without(finding, {withheld[i], withheld[j]})) continue;
      withheld = {withheld[i], withheld[j]};
      break;
    }
  }
  std::sort(withheld.begin(), withheld.end());
  finding.cause = std::move(withheld);
}

}  // namespace cairn
