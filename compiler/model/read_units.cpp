// Units, their parts and the states of these.

#include "compiler/model/reader.h"

namespace cairn {

namespace {

// `node` holds `initial` and one key per state. `name` is "" for the unit's own mode.
void read_part(Reader& reader, const YamlNode& node, UnitId unit, const std::string& name) {
  const std::string full =
      name.empty() ? reader.station.units[unit].name : reader.station.units[unit].name + "." + name;
  if (!reader.is_map(node, "`" + full + "`")) return;
  Part part;
  part.name = name;
  part.unit = unit;
  part.origin = reader.origin(node.span);
  const PartId id = reader.station.parts.add(std::move(part));
  reader.station.units[unit].parts.push_back(id);
  reader.name_part(full, id);
  const YamlNode* initial = nullptr;
  for (const YamlEntry& entry : node.entries) {
    if (entry.key == "initial") {
      initial = &entry.value;
      continue;
    }
    if (reader.station.parts[id].states.size() >= reader.limits.states_per_part) {
      reader.report(diagnostics::ModelTooLarge, entry.key_span, "the list of states",
                    reader.limits.states_per_part, "states");
      break;
    }
    if (!reader.check_name(entry.key, entry.key_span)) continue;
    const Fields fields(reader, entry.value, "state `" + entry.key + "`", {"load", "heat"});
    State state;
    state.name = entry.key;
    state.part = id;
    state.origin = reader.origin(entry.key_span);
    state.load = fields.bounded("load", dimensions::power, not_negative, {});
    state.heat = fields.heat("heat");
    const StateId added = reader.station.states.add(std::move(state));
    reader.station.parts[id].states.push_back(added);
    reader.name_state(id, entry.key, added);
  }
  if (reader.station.parts[id].states.empty()) {
    reader.report(diagnostics::ModelMissingKey, node.span, "`" + full + "`", "NAME of a state")
        .hint("a part has at least one state: write `off: {}`");
  }
  if (initial != nullptr && reader.is_text(*initial, "`initial`")) {
    reader.station.parts[id].initial = reader.state(id, initial->text, reader.inside(*initial));
  }
}

}  // namespace

void read_units(Reader& reader, const YamlNode& node) {
  if (!reader.is_map(node, "`units`")) return;
  for (const YamlEntry& entry : node.entries) {
    if (!reader.check_name(entry.key, entry.key_span)) continue;
    const Fields fields(reader, entry.value, "unit `" + entry.key + "`",
                        {"note", "states", "parts", "commands"});
    StationUnit unit;
    unit.name = entry.key;
    unit.note = fields.text("note");
    unit.origin = reader.origin(entry.key_span);
    const UnitId id = reader.station.units.add(std::move(unit));
    reader.name_unit(entry.key, id);
    if (const YamlNode* states = fields.get("states")) read_part(reader, *states, id, "");
    const YamlNode* parts = fields.get("parts");
    if (parts == nullptr || !reader.is_map(*parts, "`parts`")) continue;
    for (const YamlEntry& part : parts->entries) {
      if (reader.check_name(part.key, part.key_span)) read_part(reader, part.value, id, part.key);
    }
  }
}

}  // namespace cairn
