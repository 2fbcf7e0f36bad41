// Look-ups in a station.

#include "constraints/station/station.h"

#include <algorithm>

namespace cairn {

namespace {

template <class IdType, class Value>
IdType find_named(const Table<IdType, Value>& table, std::string_view name) {
  for (std::size_t i = 0; i < table.size(); ++i) {
    if (table[table.id_at(i)].name == name) return table.id_at(i);
  }
  return {};
}

}  // namespace

UnitId find_unit(const Station& station, std::string_view name) { return find_named(station.units, name); }

PartId find_part(const Station& station, UnitId unit, std::string_view part) {
  if (!unit.is_valid()) return {};
  for (PartId id : station.units[unit].parts) {
    if (station.parts[id].name == part) return id;
  }
  return {};
}

StateId find_state(const Station& station, PartId part, std::string_view name) {
  if (!part.is_valid()) return {};
  for (StateId id : station.parts[part].states) {
    if (station.states[id].name == name) return id;
  }
  return {};
}

CommandId find_command(const Station& station, UnitId unit, std::string_view name) {
  for (std::size_t i = 0; i < station.commands.size(); ++i) {
    const CommandId id = station.commands.id_at(i);
    if (station.commands[id].unit == unit && station.commands[id].name == name) return id;
  }
  return {};
}

CommandId find_command_by_number(const Station& station, std::uint16_t number) {
  for (std::size_t i = 0; i < station.commands.size(); ++i) {
    const CommandId id = station.commands.id_at(i);
    if (station.commands[id].number == number) return id;
  }
  return {};
}

NodeId find_node(const Station& station, std::string_view name) {
  return find_named(station.thermal.nodes, name);
}

AntennaId find_antenna(const Station& station, std::string_view name) {
  return find_named(station.antennas, name);
}

std::string full_name(const Station& station, PartId part) {
  const Part& found = station.parts[part];
  const std::string& unit = station.units[found.unit].name;
  return found.name.empty() ? unit : unit + "." + found.name;
}

std::string full_name(const Station& station, CommandId command) {
  const CommandDefinition& found = station.commands[command];
  return station.units[found.unit].name + "." + found.name;
}

bool contains(const StateCondition& condition, StateId state) {
  return std::find(condition.states.begin(), condition.states.end(), state) != condition.states.end();
}

std::string_view to_word(CommandClass command_class) {
  switch (command_class) {
    case CommandClass::Routine:
      return "routine";
    case CommandClass::Caution:
      return "caution";
    case CommandClass::Hazardous:
      return "hazardous";
    case CommandClass::Irreversible:
      return "irreversible";
  }
  return {};
}

}  // namespace cairn
