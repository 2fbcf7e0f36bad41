// Sources, converter, reserve, and the order in which units are shed.

#include "compiler/model/reader.h"

namespace cairn {

namespace {

void read_source(Reader& reader, const YamlEntry& entry) {
  if (!reader.check_name(entry.key, entry.key_span)) return;
  const Fields fields(reader, entry.value, "source `" + entry.key + "`",
                      {"kind", "power", "at", "half_life", "ageing", "heat", "heat_node"});
  if (!fields.is_map()) return;
  if (const YamlNode* kind = fields.need("kind")) reader.word(*kind, "kind of source", {"isotope"});
  IsotopeSource source;
  source.name = entry.key;
  source.origin = reader.origin(entry.key_span);
  source.power = fields.need_bounded("power", dimensions::power, not_negative);
  if (const YamlNode* at = fields.need("at")) {
    if (const auto found = reader.instant(*at, "`at`")) source.reference = *found;
  }
  source.half_life = fields.need_exact("half_life", dimensions::duration, positive);
  source.ageing_per_year = fields.bounded("ageing", dimensions::ratio, {.low = 0, .high = 0.99}, {});
  source.heat = fields.bounded("heat", dimensions::power, not_negative, {});
  if (const YamlNode* node = fields.get("heat_node")) source.heat_node = reader.node(*node, "`heat_node`");
  if (fields.get("heat_node") != nullptr) fields.need("heat");
  reader.station.power.sources.push_back(std::move(source));
}

void read_shed_order(Reader& reader, const YamlNode& node) {
  if (!reader.is_list(node, "`shed_order`")) return;
  std::unordered_map<std::string, Span> seen;
  for (const YamlNode& item : node.items) {
    const UnitId unit = reader.unit(item, "an item of `shed_order`");
    if (!unit.is_valid()) continue;
    const auto [earlier, is_new] = seen.emplace(item.text, item.span);
    if (!is_new) {
      reader.report(diagnostics::ModelDuplicateName, item.span, item.text, "an earlier place in `shed_order`")
          .context(earlier->second, "it stands here first");
      continue;
    }
    reader.station.power.shed_order.push_back(unit);
  }
}

}  // namespace

void read_power(Reader& reader, const YamlNode& node) {
  const Fields fields(reader, node, "`power`",
                      {"sources", "converter", "reserve_floor", "shed_order", "dump_load"});
  if (!fields.is_map()) return;
  PowerSystem& power = reader.station.power;
  power.origin = reader.origin(node.span);
  if (const YamlNode* sources = fields.get("sources");
      sources != nullptr && reader.is_map(*sources, "`sources`")) {
    for (const YamlEntry& entry : sources->entries) read_source(reader, entry);
  }
  if (const YamlNode* converter = fields.get("converter")) {
    const Fields parts(reader, *converter, "`converter`", {"efficiency", "heat"});
    power.converter_efficiency =
        parts.bounded("efficiency", dimensions::ratio, {.low = 0, .high = 1, .above_low = true},
                      power.converter_efficiency);
    power.converter_heat = parts.heat("heat");
  }
  power.reserve_floor = fields.exact("reserve_floor", dimensions::power, not_negative, 0);
  if (const YamlNode* floor = fields.get("reserve_floor"))
    power.reserve_floor_origin = reader.origin(floor->span);
  if (const YamlNode* order = fields.get("shed_order")) read_shed_order(reader, *order);
  if (const YamlNode* dump = fields.get("dump_load")) {
    const Fields parts(reader, *dump, "`dump_load`", {"heat"});
    power.dump_heat = parts.heat("heat");
  }
}

}  // namespace cairn
