// Commands of all units, what they do, and the combinations that must never be.

#include <algorithm>

#include "compiler/model/reader.h"

namespace cairn {

namespace {

struct PlacedCommand {
  CommandDefinition command;
  Span number;
};

std::vector<StateCondition> read_conditions(Reader& reader, const YamlNode& node, const std::string& what) {
  std::vector<StateCondition> out;
  if (!reader.is_list(node, what)) return out;
  for (const YamlNode& item : node.items) {
    if (auto condition = reader.condition(item, "an item of " + what)) out.push_back(std::move(*condition));
  }
  return out;
}

void read_when(Reader& reader, const YamlNode& node, const CommandDefinition& command, Move& move) {
  if (!reader.is_map(node, "`when`")) return;
  std::vector<std::string> names;
  for (const ArgumentDefinition& argument : command.arguments) names.push_back(argument.name);
  for (const YamlEntry& entry : node.entries) {
    const auto found = std::find(names.begin(), names.end(), entry.key);
    if (found == names.end()) {
      reader.suggest(reader.report(diagnostics::ModelUnknownName, entry.key_span, entry.key,
                                   "argument of `" + command.name + "`"),
                     entry.key_span, entry.key, names);
      continue;
    }
    const auto index = static_cast<std::uint32_t>(found - names.begin());
    const auto value = read_argument_value(reader, entry.value, command.arguments[index]);
    if (value) move.when.push_back({index, *value});
  }
}

// The part a move is about: one of the command's own unit, its mode when `part` is left out.
PartId move_part(Reader& reader, const Fields& fields, const YamlNode& node, UnitId unit) {
  const StationUnit& own = reader.station.units[unit];
  std::vector<std::string> names;
  for (const PartId id : own.parts) {
    if (!reader.station.parts[id].name.empty()) names.push_back(reader.station.parts[id].name);
  }
  const YamlNode* written = fields.get("part");
  if (written == nullptr) {
    const PartId mode = find_part(reader.station, unit, "");
    if (!mode.is_valid()) {
      auto builder = reader.report(diagnostics::ModelMissingKey, node.span, "a move", "part");
      if (!names.empty())
        builder.hint("unit `" + own.name + "` has no `states` of its own; name one of its parts");
    }
    return mode;
  }
  if (!reader.is_text(*written, "`part`")) return {};
  const auto found = std::find(names.begin(), names.end(), written->text);
  if (found != names.end()) return find_part(reader.station, unit, written->text);
  reader.suggest(reader.report(diagnostics::ModelUnknownName, reader.inside(*written), written->text,
                               "part of `" + own.name + "`"),
                 reader.inside(*written), written->text, names);
  return {};
}

void read_move(Reader& reader, const YamlNode& node, CommandDefinition& command) {
  const Fields fields(reader, node, "a move", {"part", "to", "from", "when", "takes", "load"});
  if (!fields.is_map()) return;
  Move move;
  move.part = move_part(reader, fields, node, command.unit);
  const YamlNode* to = fields.need("to");
  if (to != nullptr && reader.is_text(*to, "`to`"))
    move.to = reader.state(move.part, to->text, reader.inside(*to));
  if (const YamlNode* from = fields.get("from"); from != nullptr && reader.is_list(*from, "`from`")) {
    for (const YamlNode& item : from->items) {
      if (!reader.is_text(item, "an item of `from`")) continue;
      move.from.push_back(reader.state(move.part, item.text, reader.inside(item)));
    }
    // Nothing to start from would read as "from any state", the opposite of what it says.
    if (from->items.empty()) {
      reader.report(diagnostics::ModelOutOfRange, from->span, "`from`", "an empty list", "at least one state")
          .hint("leave `from` out to mean any state");
    }
  }
  if (const YamlNode* when = fields.get("when")) read_when(reader, *when, command, move);
  move.takes = fields.bounded("takes", dimensions::duration, not_negative, {});
  if (fields.get("load") != nullptr) move.load = fields.bounded("load", dimensions::power, not_negative, {});
  // A move is shown by where it leads: the map itself has no name.
  move.origin = reader.origin(to != nullptr ? to->span : node.span);
  command.moves.push_back(std::move(move));
}

void read_pulse(Reader& reader, const YamlNode& node, CommandDefinition& command) {
  const Fields fields(reader, node, "a pulse", {"load", "length", "heat"});
  if (!fields.is_map()) return;
  Pulse pulse;
  pulse.load = fields.need_bounded("load", dimensions::power, not_negative);
  pulse.length = fields.need_bounded("length", dimensions::duration, positive);
  pulse.heat = fields.heat("heat");
  command.pulses.push_back(std::move(pulse));
}

template <class Read>
void read_list(Reader& reader, const Fields& fields, const std::string& key, CommandDefinition& command,
               Read read) {
  const YamlNode* list = fields.get(key);
  if (list == nullptr || !reader.is_list(*list, "`" + key + "`")) return;
  for (const YamlNode& item : list->items) read(reader, item, command);
}

void read_command(Reader& reader, const YamlEntry& entry, UnitId unit, std::vector<PlacedCommand>& commands) {
  if (!reader.check_name(entry.key, entry.key_span)) return;
  const Fields fields(reader, entry.value, "command `" + entry.key + "`",
                      {"number", "class", "duration", "least_spacing", "arguments", "needs", "moves",
                       "pulses", "once", "two_step", "only_in_window", "table", "note"});
  if (!fields.is_map()) return;
  PlacedCommand placed;
  CommandDefinition& command = placed.command;
  command.name = entry.key;
  command.unit = unit;
  command.origin = reader.origin(entry.key_span);
  command.number = static_cast<std::uint16_t>(fields.need_whole("number", 0, 65535));
  if (const YamlNode* number = fields.get("number")) placed.number = number->span;
  if (const YamlNode* kind = fields.get("class")) {
    const auto found =
        reader.word(*kind, "class of command", {"routine", "caution", "hazardous", "irreversible"});
    if (found) command.command_class = static_cast<CommandClass>(*found);
  }
  command.duration = fields.duration("duration", not_negative, {});
  command.least_spacing = fields.duration("least_spacing", not_negative, {});
  command.once = fields.flag("once", false);
  if (const YamlNode* table = fields.get("table")) {
    const auto found = reader.word(*table, "operation on the command table", {"clear", "disable", "enable"});
    if (found) command.table = static_cast<TableOperation>(*found + 1);
  }
  command.only_in_window = fields.flag("only_in_window", false);
  command.note = fields.text("note");
  if (const YamlNode* arguments = fields.get("arguments")) read_arguments(reader, *arguments, command);
  if (const YamlNode* needs = fields.get("needs")) command.needs = read_conditions(reader, *needs, "`needs`");
  read_list(reader, fields, "moves", command, read_move);
  read_list(reader, fields, "pulses", command, read_pulse);
  commands.push_back(std::move(placed));
}

}  // namespace

void read_commands(Reader& reader, const YamlNode& units) {
  std::vector<PlacedCommand> commands;
  std::uint32_t next = 0;
  for (const YamlEntry& entry : units.entries) {
    if (next >= reader.station.units.size()) break;
    const UnitId unit{next};
    if (reader.station.units[unit].name != entry.key) continue;  // its name was refused
    ++next;
    const YamlNode* list = entry.value.kind == NodeKind::Map ? entry.value.find("commands") : nullptr;
    if (list == nullptr || !reader.is_map(*list, "`commands`")) continue;
    for (const YamlEntry& command : list->entries) read_command(reader, command, unit, commands);
  }
  std::stable_sort(commands.begin(), commands.end(), [](const PlacedCommand& a, const PlacedCommand& b) {
    return a.command.number < b.command.number;
  });
  const PlacedCommand* first = nullptr;
  for (PlacedCommand& placed : commands) {
    const bool same =
        first != nullptr && placed.number.is_valid() && first->command.number == placed.command.number;
    if (same) {
      reader
          .report(diagnostics::ModelDuplicateNumber, placed.number, std::to_string(placed.command.number),
                  reader.station.units[first->command.unit].name + "." + first->command.name)
          .context(first->number, "given here first");
    } else if (placed.number.is_valid()) {
      first = &placed;
    }
  }
  for (PlacedCommand& placed : commands) reader.station.commands.add(std::move(placed.command));
}

void read_exclusions(Reader& reader, const YamlNode& node) {
  if (!reader.is_map(node, "`exclusions`")) return;
  for (const YamlEntry& entry : node.entries) {
    if (!reader.check_name(entry.key, entry.key_span)) continue;
    const Fields fields(reader, entry.value, "exclusion `" + entry.key + "`", {"kind", "of", "why"});
    if (!fields.is_map()) continue;
    Exclusion exclusion;
    exclusion.name = entry.key;
    exclusion.origin = reader.origin(entry.key_span);
    if (const YamlNode* kind = fields.need("kind")) {
      const auto found = reader.word(*kind, "kind of exclusion", {"at-most-one", "never-together", "needs"});
      if (found) exclusion.kind = static_cast<ExclusionKind>(*found);
    }
    exclusion.why = fields.text("why");
    if (const YamlNode* conditions = fields.need("of")) {
      exclusion.conditions = read_conditions(reader, *conditions, "`of`");
      if (conditions->kind == NodeKind::Sequence && conditions->items.size() < 2) {
        reader.report(diagnostics::ModelOutOfRange, conditions->span, "`of`",
                      std::to_string(conditions->items.size()) + " long", "at least 2 conditions");
      }
    }
    reader.station.exclusions.push_back(std::move(exclusion));
  }
}

}  // namespace cairn
