// Both forms of a next load's start, from the same values in the same way.

#include "compiler/plan/end_state.h"

#include <algorithm>

#include "compiler/plan/assemble.h"
#include "compiler/plan/courses.h"

namespace cairn {

Json entry_json(const Station& station, const CarriedEntry& entry, const LeapSecondTable& leap_seconds) {
  Json::Array raw;
  for (const ArgumentValue& value : entry.arguments) raw.push_back(std::to_string(value.raw));
  return Json::Object{{"command", full_name(station, entry.command)},
                      {"time", format_utc_exact(entry.time, leap_seconds)},
                      {"bytes", entry.bytes},
                      {"sequence_count", static_cast<int>(entry.sequence_count)},
                      {"raw", std::move(raw)}};
}

Json entries_json(const Station& station, const std::vector<CarriedEntry>& entries,
                  const LeapSecondTable& leap_seconds) {
  Json::Array rows;
  for (const CarriedEntry& entry : entries) rows.push_back(entry_json(station, entry, leap_seconds));
  return rows;
}

Json::Object state_json(const Station& station, const StartState& end, Instant time,
                        const LeapSecondTable& leap_seconds) {
  Json::Object parts;
  for (std::size_t i = 0; i < end.parts.size(); ++i) {
    parts[full_name(station, station.parts.id_at(i))] =
        end.parts[i].is_valid() ? Json(station.states[end.parts[i]].name) : Json();
  }
  const auto node_name = [&](std::size_t i) {
    return station.thermal.nodes[station.thermal.nodes.id_at(i)].name;
  };
  Json::Object temperatures;
  for (std::size_t i = 0; i < end.temperatures.size(); ++i)
    temperatures[node_name(i)] = rounded(end.temperatures[i], 6);
  Json::Object bounds;
  for (std::size_t i = 0; i < end.lowest_temperatures.size(); ++i) {
    bounds[node_name(i)] = Json::Array{rounded_outward(end.lowest_temperatures[i], -1),
                                       rounded_outward(end.highest_temperatures[i], 1)};
  }
  const auto heaters = [&](const std::vector<bool>& marks) {
    Json::Array names;
    for (std::size_t i = 0; i < marks.size(); ++i) {
      if (marks[i]) names.push_back(station.thermal.heaters[station.thermal.heaters.id_at(i)].name);
    }
    return names;
  };
  Json::Array once;
  for (const CommandId command : end.once_spent) once.push_back(full_name(station, command));
  Json charge;
  if (end.charge) {
    charge = Json::Array{rounded(std::max(0.0, end.charge->nominal), 3),
                         rounded_outward(std::max(0.0, end.charge->least), -1)};
  }
  return Json::Object{{"time", format_utc_exact(time, leap_seconds)},
                      {"charge", std::move(charge)},
                      {"parts", std::move(parts)},
                      {"temperatures", std::move(temperatures)},
                      {"temperature_bounds", std::move(bounds)},
                      {"heaters_on", heaters(end.heaters_on)},
                      {"heaters_unsure", heaters(end.heaters_unsure)},
                      {"once_spent", std::move(once)}};
}

Json end_state_json(const EndStateInput& input) {
  Json::Object object = state_json(*input.station, *input.state, input.time, *input.leap_seconds);
  object["table"] = entries_json(*input.station, input.table, *input.leap_seconds);
  object["sequence_count"] = static_cast<int>(input.sequence_count);
  if (input.frame_count) object["frame_count"] = static_cast<int>(*input.frame_count);
  return object;
}

std::string reported_state(const ReportedState& state) {
  const LeapSecondTable& leap_seconds = *state.end.leap_seconds;
  const auto utc = [&](Instant time) { return Json(format_utc_exact(time, leap_seconds)); };
  Json::Array notes(state.notes.begin(), state.notes.end());
  return Json(Json::Object{{"format", state_format},
                           {"version", 1},
                           {"tool", tool_name},
                           {"load", Json::Object{{"name", state.load}, {"station", state.end.station->name}}},
                           {"plan_sha256", state.plan_sha256},
                           {"reported", utc(state.reported)},
                           {"uplink_end", state.uplink_end ? utc(*state.uplink_end) : Json()},
                           {"notes", std::move(notes)},
                           {"carried", entries_json(*state.end.station, state.carried, leap_seconds)},
                           {"end_state", end_state_json(state.end)}})
      .canonical();
}

}  // namespace cairn
