// Look-ups in a station, and the law between an argument's value and its raw bits.

#include "constraints/station/station.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "constraints/quantity/unit.h"

namespace cairn {

namespace {

template <class IdType, class Value>
IdType find_named(const Table<IdType, Value>& table, std::string_view name) {
  for (std::size_t i = 0; i < table.size(); ++i) {
    if (table[table.id_at(i)].name == name) return table.id_at(i);
  }
  return {};
}

// All ones in `width` bits.
std::uint64_t mask_of(int width) { return width >= 64 ? ~std::uint64_t{0} : (std::uint64_t{1} << width) - 1; }

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

std::optional<std::uint64_t> encode_argument(const ArgumentDefinition& argument, double number) {
  const ArgumentEncoding& encoding = argument.encoding;
  const double steps = argument.type == ArgumentType::Choice
                           ? number
                           : std::round((number - encoding.offset) / encoding.step);
  if (!std::isfinite(steps)) return std::nullopt;
  if (encoding.is_signed) {
    const double limit = std::ldexp(1.0, encoding.width - 1);
    if (steps < -limit || steps >= limit) return std::nullopt;
    return static_cast<std::uint64_t>(static_cast<std::int64_t>(steps)) & mask_of(encoding.width);
  }
  if (steps < 0 || steps >= std::ldexp(1.0, encoding.width)) return std::nullopt;
  return static_cast<std::uint64_t>(steps);
}

double decode_argument(const ArgumentDefinition& argument, std::uint64_t raw) {
  const ArgumentEncoding& encoding = argument.encoding;
  raw &= mask_of(encoding.width);
  double steps = static_cast<double>(raw);
  if (encoding.is_signed && ((raw >> (encoding.width - 1)) & 1U) != 0) {
    steps = static_cast<double>(static_cast<std::int64_t>(raw | ~mask_of(encoding.width)));
  }
  if (argument.type == ArgumentType::Choice) return steps;
  return steps * encoding.step + encoding.offset;
}

namespace {

// In the unit of the station file. Twelve digits: all that is sent, none of the rounding between units.
std::string show_in_unit(double value, const ArgumentDefinition& argument) {
  const Unit* unit = find_unit(argument.unit);
  if (unit == nullptr) return show(value, argument.dimension);
  char text[64];
  std::snprintf(text, sizeof text, "%.12g %s", (value - unit->offset) / unit->factor, argument.unit.c_str());
  return text;
}

}  // namespace

std::string show_argument(const ArgumentDefinition& argument, const ArgumentValue& value) {
  switch (argument.type) {
    case ArgumentType::Flag:
      return value.number != 0 ? "true" : "false";
    case ArgumentType::Choice:
      for (const Choice& choice : argument.choices) {
        if (choice.raw == value.raw) return choice.name;
      }
      return "raw " + std::to_string(value.raw);
    case ArgumentType::Count: {
      char text[32];
      std::snprintf(text, sizeof text, "%.0f", value.number);
      return text;
    }
    case ArgumentType::Quantity:
      return show_in_unit(value.number, argument);
  }
  return {};
}

}  // namespace cairn
