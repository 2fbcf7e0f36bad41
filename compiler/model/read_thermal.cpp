// The thermal network: nodes, sinks, links, sunlit faces, heaters.

#include <numbers>

#include "compiler/model/reader.h"

namespace cairn {

namespace {

// A temperature of zero kelvin or less is a slip of the sign or the unit.
constexpr Accepted above_absolute_zero{.low = 0, .above_low = true};

const YamlNode* section(const YamlNode& thermal, std::string_view key) {
  return thermal.kind == NodeKind::Map ? thermal.find(key) : nullptr;
}

void read_limit(Reader& reader, const YamlNode& item, ThermalNode& node) {
  const Fields fields(reader, item, "a limit", {"kind", "range", "alert", "while"});
  if (!fields.is_map()) return;
  TemperatureLimit limit;
  if (const YamlNode* kind = fields.need("kind")) {
    const auto found = reader.word(*kind, "kind of limit", {"survival", "operating"});
    limit.kind = found == 1U ? LimitKind::Operating : LimitKind::Survival;
  }
  const YamlNode* range = fields.need("range");
  if (range != nullptr) {
    if (const auto found = reader.range(*range, "`range`", dimensions::temperature)) {
      limit.low = found->low;
      limit.high = found->high;
      if (limit.low <= 0) {
        reader.report(diagnostics::ModelOutOfRange, reader.inside(*range), "the lower end of `range`",
                      show(limit.low, dimensions::temperature), "a temperature above absolute zero");
      }
    }
    limit.origin = reader.origin(range->span);
  } else {
    limit.origin = reader.origin(item.span);
  }
  limit.alert = fields.exact("alert", dimensions::temperature_difference, not_negative, 0);
  if (const YamlNode* alert = fields.get("alert");
      alert != nullptr && limit.high > limit.low && 2 * limit.alert > limit.high - limit.low) {
    reader.report(diagnostics::ModelOutOfRange, alert->span, "`alert`",
                  show(limit.alert, dimensions::temperature_difference),
                  "at most half of the range, " +
                      show((limit.high - limit.low) / 2, dimensions::temperature_difference));
  }
  limit.while_state = fields.condition("while");
  if (const YamlNode* condition = fields.get("while");
      condition != nullptr && limit.kind == LimitKind::Survival) {
    reader.report(diagnostics::ModelUnknownKey, condition->span, "while", "a limit of the kind `survival`")
        .hint("a survival limit holds always; a limit that depends on a state is `kind: operating`");
  }
  node.limits.push_back(std::move(limit));
}

void read_sink(Reader& reader, const YamlEntry& entry, const YamlNode* nodes) {
  if (!reader.check_name(entry.key, entry.key_span)) return;
  const std::string what = "sink `" + entry.key + "`";
  if (!reader.is_map(entry.value, what)) return;
  if (nodes != nullptr && nodes->find(entry.key) != nullptr) {
    auto builder = reader.report(diagnostics::ModelDuplicateName, entry.key_span, entry.key, "a node");
    for (const YamlEntry& node : nodes->entries) {
      if (node.key == entry.key) builder.context(node.key_span, "the node");
    }
  }
  Sink sink;
  sink.name = entry.key;
  const YamlNode* kind = entry.value.find("kind");
  const auto found =
      kind != nullptr ? reader.word(*kind, "kind of sink", {"space", "ground", "fixed"}) : std::nullopt;
  if (kind == nullptr) {
    reader.report(diagnostics::ModelMissingKey, entry.value.span, what, "kind");
  }
  if (!found) return;
  sink.kind = static_cast<SinkKind>(*found);
  if (sink.kind == SinkKind::Ground) {
    const Fields fields(reader, entry.value, what, {"kind", "night", "albedo", "emissivity"});
    sink.temperature = fields.need_bounded("night", dimensions::temperature, above_absolute_zero);
    if (const YamlNode* albedo = fields.need("albedo")) {
      sink.albedo = reader.share(*albedo, "`albedo`", {.low = 0, .high = 1});
    }
    if (const YamlNode* emissivity = fields.need("emissivity")) {
      sink.emissivity = reader.share(*emissivity, "`emissivity`", {.low = 0, .high = 1, .above_low = true});
    }
  } else {
    const Fields fields(reader, entry.value, what, {"kind", "temperature"});
    sink.temperature = fields.need_bounded("temperature", dimensions::temperature, above_absolute_zero);
  }
  reader.name_sink(entry.key, reader.station.thermal.sinks.add(std::move(sink)));
}

void read_link_between(Reader& reader, const YamlNode& item) {
  const Fields fields(reader, item, "a link", {"between", "conductance", "radiative"});
  if (!fields.is_map()) return;
  ThermalLink link;
  const YamlNode* between = fields.need("between");
  if (between != nullptr && reader.is_list(*between, "`between`")) {
    if (between->items.size() != 2) {
      reader.report(diagnostics::ModelOutOfRange, between->span, "`between`",
                    std::to_string(between->items.size()) + " long", "2 names");
    } else {
      const auto from = reader.link_end(between->items[0]);
      const auto to = reader.link_end(between->items[1]);
      if (from && to) {
        link.from = *from;
        link.to = *to;
        if (!from->node.is_valid() && !to->node.is_valid()) {
          reader.report(diagnostics::ModelUnknownName, between->items[0].span, between->items[0].text, "node")
              .context(between->items[1].span, "nor is this one")
              .hint("a link between two sinks has no effect; one end must be a node");
        } else if (between->items[0].text == between->items[1].text) {
          reader
              .report(diagnostics::ModelDuplicateName, between->items[1].span, between->items[1].text,
                      "the other end of this link")
              .context(between->items[0].span, "the other end");
        }
      }
    }
  }
  link.origin =
      reader.origin(between != nullptr && !between->items.empty() ? between->items[0].span : item.span);
  const YamlNode* conductance = fields.get("conductance");
  const YamlNode* radiative = fields.get("radiative");
  if (conductance != nullptr && radiative != nullptr) {
    reader.report(diagnostics::ModelUnknownKey, radiative->span, "radiative", "a link with `conductance`")
        .context(conductance->span, "the other one")
        .hint("write two links when both ways of heat exist");
  } else if (conductance == nullptr && radiative == nullptr) {
    reader.report(diagnostics::ModelMissingKey, item.span, "a link", "conductance")
        .hint("or `radiative`, an area in `m2`");
  }
  link.radiative = radiative != nullptr;
  link.value = link.radiative ? fields.bounded("radiative", dimensions::area, not_negative, {})
                              : fields.bounded("conductance", dimensions::conductance, not_negative, {});
  reader.station.thermal.links.push_back(link);
}

void read_face(Reader& reader, const YamlNode& item) {
  const Fields fields(reader, item, "a face in sunlight", {"node", "area", "facing"});
  if (!fields.is_map()) return;
  SunlitFace face;
  const YamlNode* node = fields.need("node");
  if (node != nullptr) face.node = reader.node(*node, "`node`");
  face.origin = reader.origin(node != nullptr ? node->span : item.span);
  face.area = fields.need_bounded("area", dimensions::area, not_negative);
  read_facing(reader, fields, face.normal_elevation, face.normal_azimuth);
  reader.station.thermal.faces.push_back(face);
}

void read_heater(Reader& reader, const YamlEntry& entry) {
  if (!reader.check_name(entry.key, entry.key_span)) return;
  const Fields fields(reader, entry.value, "heater `" + entry.key + "`",
                      {"node", "sensor", "power", "on_below", "off_above", "enabled_while", "initially_on"});
  if (!fields.is_map()) return;
  Heater heater;
  heater.name = entry.key;
  heater.origin = reader.origin(entry.key_span);
  if (const YamlNode* node = fields.need("node")) heater.node = reader.node(*node, "`node`");
  const YamlNode* sensor = fields.get("sensor");
  heater.sensor = sensor != nullptr ? reader.node(*sensor, "`sensor`") : heater.node;
  heater.power = fields.need_bounded("power", dimensions::power, not_negative);
  heater.on_below = fields.need_bounded("on_below", dimensions::temperature, above_absolute_zero);
  heater.off_above = fields.need_bounded("off_above", dimensions::temperature, above_absolute_zero);
  const YamlNode* on = fields.get("on_below");
  const YamlNode* off = fields.get("off_above");
  const bool both = on != nullptr && off != nullptr && heater.on_below.low > 0 && heater.off_above.low > 0;
  if (both && heater.on_below.high >= heater.off_above.low) {
    reader
        .report(diagnostics::ModelOutOfRange, reader.inside(*on), "`on_below`",
                "`" + on->text.substr(0, 60) + "`", "less than `off_above`, bounds counted")
        .context(off->span, "it goes off here");
  }
  heater.enabled_while = fields.condition("enabled_while");
  heater.initially_on = fields.flag("initially_on", false);
  reader.station.thermal.heaters.add(std::move(heater));
}

}  // namespace

void read_thermal_names(Reader& reader, const YamlNode& thermal) {
  const Fields fields(reader, thermal, "`thermal`",
                      {"begin", "nodes", "sinks", "links", "sunlight", "heaters"});
  if (const YamlNode* begin = fields.get("begin")) {
    const auto found = reader.word(*begin, "begin of the temperatures", {"initial", "balance"});
    reader.station.thermal.begins_in_balance = found == 1U;
  }
  const YamlNode* nodes = fields.get("nodes");
  if (nodes != nullptr && reader.is_map(*nodes, "`nodes`")) {
    for (const YamlEntry& entry : nodes->entries) {
      if (!reader.check_name(entry.key, entry.key_span)) continue;
      const Fields parts(reader, entry.value, "node `" + entry.key + "`", {"capacity", "initial", "limits"});
      if (!parts.is_map()) continue;
      ThermalNode node;
      node.name = entry.key;
      node.origin = reader.origin(entry.key_span);
      node.capacity = parts.need_bounded("capacity", dimensions::heat_capacity, positive);
      node.initial = parts.need_bounded("initial", dimensions::temperature, above_absolute_zero);
      reader.name_node(entry.key, reader.station.thermal.nodes.add(std::move(node)));
    }
  }
  const YamlNode* sinks = fields.get("sinks");
  if (sinks == nullptr || !reader.is_map(*sinks, "`sinks`")) return;
  const YamlNode* named = nodes != nullptr && nodes->kind == NodeKind::Map ? nodes : nullptr;
  for (const YamlEntry& entry : sinks->entries) read_sink(reader, entry, named);
}

void read_thermal(Reader& reader, const YamlNode& thermal) {
  // Limits wait until here, since they may hang on the state of a unit.
  if (const YamlNode* nodes = section(thermal, "nodes"); nodes != nullptr && nodes->kind == NodeKind::Map) {
    for (std::size_t i = 0, next = 0; i < nodes->entries.size() && next < reader.station.thermal.nodes.size();
         ++i) {
      ThermalNode& node = reader.station.thermal.nodes[reader.station.thermal.nodes.id_at(next)];
      if (node.name != nodes->entries[i].key) continue;
      ++next;
      const YamlNode* limits = nodes->entries[i].value.find("limits");
      if (limits == nullptr || !reader.is_list(*limits, "`limits`")) continue;
      for (const YamlNode& item : limits->items) read_limit(reader, item, node);
    }
  }
  if (const YamlNode* links = section(thermal, "links");
      links != nullptr && reader.is_list(*links, "`links`")) {
    for (const YamlNode& item : links->items) read_link_between(reader, item);
  }
  if (const YamlNode* faces = section(thermal, "sunlight");
      faces != nullptr && reader.is_list(*faces, "`sunlight`")) {
    for (const YamlNode& item : faces->items) read_face(reader, item);
  }
  if (const YamlNode* heaters = section(thermal, "heaters");
      heaters != nullptr && reader.is_map(*heaters, "`heaters`")) {
    for (const YamlEntry& entry : heaters->entries) read_heater(reader, entry);
  }
}

void read_facing(Reader& reader, const Fields& fields, double& elevation, double& azimuth) {
  constexpr double quarter_turn = std::numbers::pi / 2;
  elevation = quarter_turn;
  azimuth = 0;
  const YamlNode* facing = fields.get("facing");
  if (facing == nullptr) return;
  const Fields angles(reader, *facing, "`facing`", {"elevation", "azimuth"});
  elevation = angles.exact("elevation", dimensions::angle, {.low = -quarter_turn, .high = quarter_turn},
                           quarter_turn);
  azimuth = angles.exact("azimuth", dimensions::angle, {.low = 0, .high = 4 * quarter_turn}, 0);
}

}  // namespace cairn
