// The list of checks, run in the order in which they feed each other: heat gives power its heaters.

#include "constraints/checks/checks.h"

#include <algorithm>

#include "constraints/checks/cause.h"
#include "constraints/heat/balance.h"
#include "constraints/heat/solar_course.h"

namespace cairn {

namespace {

// A start in balance, worked out; `balanced` keeps it.
CheckInput with_start(const CheckInput& given, StartState& balanced) {
  CheckInput input = given;
  if (!input.start->in_balance) return input;
  balanced = in_balance(*input.station, *input.start, *input.sky, input.timeline->begin);
  input.start = &balanced;
  return input;
}

// Heat and power, whose end is the start of what comes after. Gives what the power check went by.
PowerInput solve(const CheckInput& input, CheckResults& results) {
  results.heat = check_heat(*input.station, *input.start, *input.timeline, *input.sky, input.heat);
  PowerInput power;
  power.station = input.station;
  power.timeline = input.timeline;
  power.heaters = &results.heat.heaters;
  power.may_be_on = input.heat.envelope ? &results.heat.envelope.may_be_on : nullptr;
  power.charge = input.start->charge;
  power.solar = solar_course(*input.station, *input.sky, *input.timeline, results.heat);
  results.power = check_power(power);
  return power;
}

StartState end_of(const Timeline& timeline, const CheckResults& results) {
  StartState end;
  for (const std::vector<Occupation>& rows : timeline.occupations) {
    // A move still under way at the end ends in its goal: the next load begins from where it leads.
    const Occupation& last = rows.back();
    end.parts.push_back(last.moving_to.is_valid() ? last.moving_to : last.state);
  }
  end.temperatures = results.heat.end_temperatures;
  end.heaters_on = results.heat.end_heaters_on;
  const HeatEnvelope& envelope = results.heat.envelope;
  end.lowest_temperatures = envelope.end_low;
  end.highest_temperatures = envelope.end_high;
  for (std::size_t i = 0; i < envelope.end_may_be_on.size(); ++i) {
    end.heaters_unsure.push_back(envelope.end_may_be_on[i] && envelope.end_may_be_off[i]);
  }
  end.once_spent = timeline.once_spent;
  end.charge = results.power.end_charge;
  return end;
}

}  // namespace

CheckResults run_checks(const CheckInput& given) {
  CheckResults results;
  StartState balanced;
  const CheckInput input = with_start(given, balanced);
  results.start_state = *input.start;
  const Station& station = *input.station;
  const Timeline& timeline = *input.timeline;
  const PowerInput power = solve(input, results);
  results.table = check_table(station, timeline, *input.table_uses);

  CauseFinder causes(input, power.solar);
  if (results.power.finding.verdict == Verdict::Fails) causes.find(results.power.finding);
  if (results.power.storage && results.power.storage->verdict == Verdict::Fails)
    causes.find(*results.power.storage);
  for (Finding& finding : results.heat.findings) {
    if (finding.verdict == Verdict::Fails) causes.find(finding);
  }

  results.findings.push_back(results.power.finding);
  if (results.power.storage) results.findings.push_back(*results.power.storage);
  const auto add = [&](const std::vector<Finding>& findings) {
    results.findings.insert(results.findings.end(), findings.begin(), findings.end());
  };
  add(results.heat.findings);
  add(check_modes(station, timeline));
  add(check_commanding({&station, &timeline, input.carried, input.marks, input.last_uplink}));
  add(results.table.findings);
  results.end_state = end_of(timeline, results);
  return results;
}

StartState state_at_end(const CheckInput& given) {
  CheckResults results;
  StartState balanced;
  const CheckInput input = with_start(given, balanced);
  solve(input, results);
  return end_of(*input.timeline, results);
}

Verdict overall(const std::vector<Finding>& findings) {
  Verdict worst = Verdict::Holds;
  for (const Finding& finding : findings) {
    if (finding.waiver == 0) worst = std::max(worst, finding.verdict);
  }
  return worst;
}

}  // namespace cairn
