// The list of checks, run in the order in which they feed each other: heat gives power its heaters.

#include "constraints/checks/checks.h"

#include <algorithm>

#include "constraints/checks/cause.h"
#include "constraints/heat/balance.h"
#include "constraints/heat/solar_course.h"

namespace cairn {

CheckResults run_checks(const CheckInput& given) {
  CheckResults results;
  CheckInput input = given;
  StartState balanced;
  if (input.start->in_balance) {
    balanced = in_balance(*input.station, *input.start, *input.sky, input.timeline->begin);
    input.start = &balanced;
  }
  const Station& station = *input.station;
  const Timeline& timeline = *input.timeline;
  results.heat = check_heat(station, *input.start, timeline, *input.sky, input.heat);
  PowerInput power;
  power.station = &station;
  power.timeline = &timeline;
  power.heaters = &results.heat.heaters;
  power.may_be_on = input.heat.envelope ? &results.heat.envelope.may_be_on : nullptr;
  power.charge = input.start->charge;
  power.solar = solar_course(station, *input.sky, timeline, results.heat);
  results.power = check_power(power);
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

  StartState& end = results.end_state;
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
  return results;
}

Verdict overall(const std::vector<Finding>& findings) {
  Verdict worst = Verdict::Holds;
  for (const Finding& finding : findings) {
    if (finding.waiver == 0) worst = std::max(worst, finding.verdict);
  }
  return worst;
}

}  // namespace cairn
