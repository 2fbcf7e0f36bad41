// When not to command: two-step commands, events near by, inhibits, and what waits in the table for the last
// resort.

#include <algorithm>

#include "compiler/model/reader.h"

namespace cairn {

namespace {

// "unit.command", or "command" of the unit that is spoken of.
CommandId command_named(Reader& reader, const YamlNode& node, UnitId own, const std::string& what) {
  if (!reader.is_text(node, what)) return {};
  const Station& station = reader.station;
  const std::size_t dot = node.text.find('.');
  const UnitId unit = dot == std::string::npos ? own : find_unit(station, node.text.substr(0, dot));
  const std::string name = dot == std::string::npos ? node.text : node.text.substr(dot + 1);
  const CommandId found = unit.is_valid() ? find_command(station, unit, name) : CommandId{};
  if (found.is_valid()) return found;
  std::vector<std::string> known;
  for (std::size_t i = 0; i < station.commands.size(); ++i) {
    const CommandId id = station.commands.id_at(i);
    known.push_back(dot == std::string::npos && station.commands[id].unit == own ? station.commands[id].name
                                                                                 : full_name(station, id));
  }
  reader.suggest(reader.report(diagnostics::ModelUnknownName, reader.inside(node), node.text, "command"),
                 reader.inside(node), node.text, known);
  return {};
}

std::vector<CommandId> commands_named(Reader& reader, const YamlNode& node, const std::string& what) {
  std::vector<CommandId> commands;
  if (!reader.is_list(node, what)) return commands;
  for (const YamlNode& item : node.items) {
    const CommandId found = command_named(reader, item, {}, "an item of " + what);
    if (found.is_valid()) commands.push_back(found);
  }
  if (node.items.empty()) {
    reader.report(diagnostics::ModelOutOfRange, node.span, what, "an empty list", "at least one command");
  }
  return commands;
}

}  // namespace

void read_two_steps(Reader& reader, const YamlNode& units) {
  for (const YamlEntry& unit : units.entries) {
    const UnitId own = find_unit(reader.station, unit.key);
    const YamlNode* commands = unit.value.find("commands");
    if (!own.is_valid() || commands == nullptr) continue;
    for (const YamlEntry& entry : commands->entries) {
      const YamlNode* node = entry.value.find("two_step");
      const CommandId act = find_command(reader.station, own, entry.key);
      if (node == nullptr || !act.is_valid()) continue;
      const Fields fields(reader, *node, "`two_step`", {"arm", "within", "disarm"});
      if (!fields.is_map()) continue;
      TwoStep step;
      const YamlNode* arm = fields.need("arm");
      if (arm != nullptr) step.arm = command_named(reader, *arm, own, "`arm`");
      if (fields.need("within") != nullptr) step.within = fields.duration("within", positive, {});
      if (const YamlNode* disarm = fields.get("disarm"))
        step.disarm = command_named(reader, *disarm, own, "`disarm`");
      if (arm != nullptr && step.arm == act) {
        reader.report(diagnostics::ModelOutOfRange, reader.inside(*arm), "`arm`", "the command itself",
                      "another one");
      }
      if (step.arm.is_valid()) reader.station.commands[act].two_step = step;
    }
  }
}

void read_events(Reader& reader, const YamlNode& node) {
  if (!reader.is_map(node, "`events`")) return;
  for (const YamlEntry& entry : node.entries) {
    if (!reader.check_name(entry.key, entry.key_span)) continue;
    const Fields fields(reader, entry.value, "event `" + entry.key + "`", {"at"});
    const YamlNode* at = fields.need("at");
    if (at == nullptr) continue;
    if (const auto time = reader.instant(*at, "`at`")) {
      reader.station.events.push_back({entry.key, *time, reader.origin(entry.key_span)});
    }
  }
}

void read_inhibits(Reader& reader, const YamlNode& node) {
  if (!reader.is_map(node, "`inhibits`")) return;
  Station& station = reader.station;
  for (const YamlEntry& entry : node.entries) {
    if (!reader.check_name(entry.key, entry.key_span)) continue;
    const Fields fields(reader, entry.value, "inhibit `" + entry.key + "`",
                        {"windows", "mark", "event", "before", "after", "commands", "why"});
    if (!fields.is_map()) continue;
    Inhibit inhibit;
    inhibit.name = entry.key;
    inhibit.origin = reader.origin(entry.key_span);
    inhibit.before = fields.duration("before", not_negative, {});
    inhibit.after = fields.duration("after", not_negative, {});
    inhibit.why = fields.text("why");
    const YamlNode* windows = fields.get("windows");
    const YamlNode* mark = fields.get("mark");
    const YamlNode* event = fields.get("event");
    if ((windows != nullptr) + (mark != nullptr) + (event != nullptr) != 1) {
      reader.report(diagnostics::ModelMissingKey, entry.key_span, "inhibit `" + entry.key + "`", "windows")
          .hint("give one of `windows` (`any` or an antenna), `mark` and `event`");
      continue;
    }
    const YamlNode* target = windows != nullptr ? windows : mark != nullptr ? mark : event;
    if (!reader.is_text(*target, "what it is around")) continue;
    inhibit.target = target->text;
    if (windows != nullptr) {
      inhibit.kind = InhibitKind::Windows;
      if (inhibit.target == "any") {
        inhibit.target.clear();
      } else if (!find_antenna(station, inhibit.target).is_valid()) {
        std::vector<std::string> known{"any"};
        for (std::size_t i = 0; i < station.antennas.size(); ++i) {
          known.push_back(station.antennas[station.antennas.id_at(i)].name);
        }
        reader.suggest(
            reader.report(diagnostics::ModelUnknownName, reader.inside(*target), target->text, "antenna"),
            reader.inside(*target), target->text, known);
      }
    } else if (mark != nullptr) {
      inhibit.kind = InhibitKind::Mark;
      reader.check_name(inhibit.target, reader.inside(*target));
    } else {
      inhibit.kind = InhibitKind::Event;
      std::vector<std::string> known;
      for (const StationEvent& one : station.events) known.push_back(one.name);
      if (std::find(known.begin(), known.end(), inhibit.target) == known.end()) {
        reader.suggest(
            reader.report(diagnostics::ModelUnknownName, reader.inside(*target), target->text, "event"),
            reader.inside(*target), target->text, known);
      }
    }
    if (const YamlNode* commands = fields.need("commands")) {
      inhibit.commands = commands_named(reader, *commands, "`commands`");
    }
    station.inhibits.push_back(std::move(inhibit));
  }
}

void read_last_resort(Reader& reader, const YamlNode& node) {
  const Fields fields(reader, node, "`last_resort`", {"after", "commands"});
  if (!fields.is_map()) return;
  LastResort resort;
  resort.origin = reader.origin(node.span);
  if (fields.need("after") != nullptr) resort.after = fields.duration("after", not_negative, {});
  if (const YamlNode* commands = fields.need("commands")) {
    resort.commands = commands_named(reader, *commands, "`commands`");
  }
  if (!resort.commands.empty()) reader.station.last_resort = std::move(resort);
}

}  // namespace cairn
