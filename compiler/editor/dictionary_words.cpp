// The station's dictionary in words, for hover and completion.

#include <fmt/format.h>

#include "compiler/editor/features.h"
#include "compiler/meaning/argument_words.h"
#include "constraints/quantity/unit.h"

namespace cairn {

namespace {

std::string watts(const Bounded& load) { return show(load.nominal, dimensions::power, 4); }

std::string states_of(const Station& station, PartId part) {
  std::string list;
  for (const StateId state : station.parts[part].states) {
    list += (list.empty() ? "`" : ", `") + station.states[state].name + "`";
  }
  return list;
}

}  // namespace

std::string unit_words(const Station& station, UnitId unit) {
  const StationUnit& what = station.units[unit];
  std::string words = fmt::format("unit `{}`\n", what.name);
  if (!what.note.empty()) words += "\n" + what.note + "\n";
  for (const PartId part : what.parts) {
    words += fmt::format("\n* `{}`: {}", full_name(station, part), states_of(station, part));
  }
  return words;
}

std::string part_words(const Station& station, PartId part) {
  return fmt::format("part `{}`\n\nstates {}", full_name(station, part), states_of(station, part));
}

std::string state_words(const Station& station, StateId state) {
  const State& what = station.states[state];
  std::string words = fmt::format("state `{}` of `{}`\n\ndraws {}", what.name, full_name(station, what.part),
                                  watts(what.load));
  for (const HeatShare& share : what.heat) {
    words += fmt::format(", {:.0f} % of it heat in `{}`", share.share * 100,
                         station.thermal.nodes[share.node].name);
  }
  for (const CommandDefinition& command : station.commands) {
    for (const Move& move : command.moves) {
      if (move.to != state) continue;
      const std::string takes = show(move.takes.nominal, dimensions::duration, 4);
      words +=
          fmt::format("\n* `{}.{}` leads here in {}", station.units[command.unit].name, command.name, takes);
    }
  }
  return words;
}

std::string argument_words(const Station& station, CommandId command, std::uint32_t argument) {
  const ArgumentDefinition& what = station.commands[command].arguments[argument];
  std::string words = fmt::format("argument `{}`: {}", what.name, accepted_values(what));
  if (what.default_number) {
    words += fmt::format(", else {}", written_value(what, *what.default_number));
  } else if (what.default_choice) {
    words += fmt::format(", else {}", *what.default_choice);
  } else {
    words += ", must be given";
  }
  if (!what.note.empty()) words += "\n\n" + what.note;
  return words;
}

std::string command_words(const Station& station, CommandId command) {
  const CommandDefinition& what = station.commands[command];
  std::string words = fmt::format("command `{}`, number {}, {}\n", full_name(station, command), what.number,
                                  to_word(what.command_class));
  if (what.once) words += "\nonce in the station's life\n";
  if (!what.note.empty()) words += "\n" + what.note + "\n";
  if (what.duration > Duration{0}) words += fmt::format("\n* takes {}", to_text(what.duration));
  if (what.least_spacing > Duration{0})
    words += fmt::format("\n* at least {} apart", to_text(what.least_spacing));
  for (std::uint32_t i = 0; i < what.arguments.size(); ++i)
    words += "\n* " + argument_words(station, command, i);
  for (const StateCondition& need : what.needs) words += fmt::format("\n* needs {}", need.text);
  for (const Move& move : what.moves) {
    std::string when;
    for (const MoveCondition& condition : move.when) {
      const ArgumentDefinition& argument = what.arguments[condition.argument];
      when += fmt::format("{} {}={}", when.empty() ? " when" : " and", argument.name,
                          written_value(argument, condition.number));
    }
    words +=
        fmt::format("\n* brings `{}` to `{}` in {}{}", full_name(station, move.part),
                    station.states[move.to].name, show(move.takes.nominal, dimensions::duration, 4), when);
  }
  return words;
}

}  // namespace cairn
