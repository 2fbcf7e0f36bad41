// The prediction is run again over what really ran, stretch by stretch.

#include "compiler/command/reported_state.h"

#include <algorithm>

#include "compiler/plan/digest.h"
#include "compiler/plan/end_state.h"
#include "compiler/text/catalogue.h"
#include "constraints/checks/checks.h"

namespace cairn {

namespace {

StartState solved(const ReconcileInput& input, const Reconciliation& answer) {
  const auto sky = site_sky(input.station->site, input.begin, answer.end);
  return state_after(*input.station, *input.start, answer,
                     [&](const StartState& start, const Timeline& timeline) {
                       CheckInput check;
                       check.station = input.station;
                       check.start = &start;
                       check.timeline = &timeline;
                       check.sky = sky.get();
                       check.heat.trace_tolerance = 0.002;  // as in a plan, so that both give the same
                       return state_at_end(check);
                     });
}

// The station counts frames that it takes. Where one may not have come, only the station knows the count.
std::optional<std::uint8_t> frame_count(const ReportedStateInput& input, const PlanEndState& planned,
                                        std::vector<std::string>& notes) {
  if (input.next_frame) return static_cast<std::uint8_t>(*input.next_frame);
  const auto& frames = input.reconciled->station->link.frames;
  const std::vector<ReconciledCommand>& commands = input.answer->commands;
  const bool is_missing = std::any_of(commands.begin(), commands.end(), [](const ReconciledCommand& command) {
    return command.fate == Fate::NotArrived;
  });
  if (!frames || !frames->in_sequence || !is_missing) return planned.frame_count;
  notes.emplace_back(
      "the number of the next frame is not known, as not all has arrived; name it with --next-frame");
  return std::nullopt;
}

}  // namespace

std::optional<StateText> reported_state_text(const ReportedStateInput& input, Diagnostics& diagnostics) {
  const ReconcileInput& reconciled = *input.reconciled;
  const Station& station = *reconciled.station;
  if (input.answer->end <= reconciled.begin) {
    diagnostics.report(diagnostics::InputNotBegun, {}, input.plan_name, input.document->begin)
        .hint("the next load starts where this one was to start: give it the same --after");
    return std::nullopt;
  }
  const auto planned = read_end_state(*input.plan, station, *input.leap_seconds);
  if (!planned) {
    diagnostics.report(diagnostics::InputPlan, {}, input.plan_name, planned.error())
        .hint("give the plan.json that `cairn build` wrote");
    return std::nullopt;
  }
  StateText result;
  result.time = input.answer->end;
  result.notes = input.answer->notes;
  const StartState start = solved(reconciled, *input.answer);
  for (std::size_t i = 0; i < start.parts.size(); ++i) {
    if (!start.parts[i].is_valid()) result.unknown.push_back(full_name(station, station.parts.id_at(i)));
  }
  ReportedState state;
  state.carried = input.answer->carried;
  for (CarriedEntry& entry : still_to_run(reconciled, *input.answer))
    state.carried.push_back(std::move(entry));
  std::erase_if(state.carried, [&](const CarriedEntry& entry) { return entry.time <= reconciled.now; });
  state.end = {&station, input.leap_seconds, &start, result.time, state.carried, planned->sequence_count, {}};
  std::erase_if(state.end.table, [&](const CarriedEntry& entry) { return entry.time <= result.time; });
  state.end.frame_count = frame_count(input, *planned, result.notes);
  state.plan_sha256 = sha256(*input.plan);
  state.load = input.document->load;
  state.reported = reconciled.now;
  state.uplink_end = std::max(planned->uplink_end.value_or(reconciled.now), reconciled.now);
  state.notes = result.notes;
  result.text = reported_state(state);
  return result;
}

}  // namespace cairn
