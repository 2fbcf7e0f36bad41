// Sources, converter, storage, reserve, and the order in which units are shed.

#include "compiler/model/reader.h"

namespace cairn {

namespace {

constexpr Accepted share_above_zero{.low = 0, .high = 1, .above_low = true};

// {temperature: "28 degC", value: "27 % ± 1 %"}, rising by temperature.
std::vector<EfficiencyPoint> read_temperature_points(Reader& reader, const YamlNode& node) {
  std::vector<EfficiencyPoint> points;
  for (const YamlNode& item : node.items) {
    const Fields fields(reader, item, "a point of `efficiency`", {"temperature", "value"});
    if (!fields.is_map()) return {};
    EfficiencyPoint point;
    point.at = fields.need_exact("temperature", dimensions::temperature, positive);
    point.efficiency = fields.need_bounded("value", dimensions::ratio, share_above_zero);
    const YamlNode* temperature = fields.get("temperature");
    if (temperature == nullptr) return {};
    if (!points.empty() && point.at <= points.back().at) {
      reader.report(diagnostics::ModelOutOfRange, temperature->span, "`temperature`", temperature->text,
                    "more than that of the point before it");
      return {};
    }
    points.push_back(point);
  }
  if (points.size() < 2) {
    reader.report(diagnostics::ModelOutOfRange, node.span, "`efficiency`",
                  std::to_string(points.size()) + (points.size() == 1 ? " point" : " points"),
                  "two points or more");
  }
  return points;
}

void read_array(Reader& reader, const YamlEntry& entry) {
  const Fields fields(reader, entry.value, "solar source `" + entry.key + "`",
                      {"kind", "area", "efficiency", "node", "facing", "at", "ageing"});
  SolarArray array;
  array.name = entry.key;
  array.origin = reader.origin(entry.key_span);
  array.area = fields.need_bounded("area", dimensions::area, not_negative);
  const YamlNode* efficiency = fields.need("efficiency");
  const YamlNode* node = fields.get("node");
  if (efficiency != nullptr && efficiency->kind == NodeKind::Sequence) {
    array.efficiency = read_temperature_points(reader, *efficiency);
    node = fields.need("node");
  } else if (efficiency != nullptr) {
    array.efficiency = {
        {0, reader.bounded(*efficiency, "`efficiency`", dimensions::ratio, share_above_zero)}};
    if (node != nullptr) {
      reader.report(diagnostics::ModelUnknownKey, node->span, "node", "a solar source of one efficiency")
          .hint("give `efficiency` by points of temperature, or leave `node` out");
      node = nullptr;
    }
  }
  if (node != nullptr) array.node = reader.node(*node, "`node`");
  read_facing(reader, fields, array.normal_elevation, array.normal_azimuth);
  array.ageing_per_year = fields.bounded("ageing", dimensions::ratio, {.low = 0, .high = 0.99}, {});
  const YamlNode* at = fields.get("ageing") != nullptr ? fields.need("at") : fields.get("at");
  if (at != nullptr) {
    if (const auto found = reader.instant(*at, "`at`")) array.reference = *found;
  }
  reader.station.power.arrays.push_back(std::move(array));
}

void read_isotope(Reader& reader, const YamlEntry& entry) {
  const Fields fields(reader, entry.value, "source `" + entry.key + "`",
                      {"kind", "power", "at", "half_life", "ageing", "heat", "heat_node"});
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

// The other kind of source says which keys it has.
void read_source(Reader& reader, const YamlEntry& entry) {
  if (!reader.check_name(entry.key, entry.key_span)) return;
  const std::string what = "source `" + entry.key + "`";
  if (!reader.is_map(entry.value, what)) return;
  const YamlNode* kind = entry.value.find("kind");
  const auto found =
      kind != nullptr ? reader.word(*kind, "kind of source", {"isotope", "solar"}) : std::nullopt;
  if (found == 0U) read_isotope(reader, entry);
  if (found == 1U) read_array(reader, entry);
  if (kind == nullptr) {
    reader.report(diagnostics::ModelMissingKey, entry.key_span, what, "kind")
        .hint("a source is `isotope` or `solar`");
  }
}

// {load: "5 W", value: "80 % ± 2 %"}, rising by load.
void read_efficiency_points(Reader& reader, const YamlNode& node, PowerSystem& power) {
  std::vector<EfficiencyPoint> points;
  for (const YamlNode& item : node.items) {
    const Fields fields(reader, item, "a point of `efficiency`", {"load", "value"});
    if (!fields.is_map()) return;
    EfficiencyPoint point;
    point.at = fields.need_exact("load", dimensions::power, not_negative);
    point.efficiency = fields.need_bounded("value", dimensions::ratio, share_above_zero);
    const YamlNode* load = fields.get("load");
    const YamlNode* value = fields.get("value");
    if (load == nullptr || value == nullptr) return;
    if (!points.empty() && point.at <= points.back().at) {
      reader.report(diagnostics::ModelOutOfRange, load->span, "`load`", load->text,
                    "more than that of the point before it");
      return;
    }
    const auto falls = [&](double Bounded::*bound) {
      const EfficiencyPoint& before = points.back();
      return point.at * (before.efficiency.*bound) < before.at * (point.efficiency.*bound);
    };
    if (!points.empty() && (falls(&Bounded::low) || falls(&Bounded::nominal) || falls(&Bounded::high))) {
      reader
          .report(diagnostics::ModelOutOfRange, value->span, "the converter's efficiency at " + load->text,
                  value->text, "one by which more load draws more from the sources")
          .hint("load over efficiency rises from each point to the next");
      return;
    }
    points.push_back(point);
  }
  if (points.size() < 2) {
    reader.report(diagnostics::ModelOutOfRange, node.span, "`efficiency`",
                  std::to_string(points.size()) + (points.size() == 1 ? " point" : " points"),
                  "two points or more");
    return;
  }
  power.converter_points = std::move(points);
}

void read_converter(Reader& reader, const YamlNode& node, PowerSystem& power) {
  const Fields fields(reader, node, "`converter`", {"efficiency", "heat"});
  const YamlNode* efficiency = fields.get("efficiency");
  if (efficiency != nullptr && efficiency->kind == NodeKind::Sequence) {
    read_efficiency_points(reader, *efficiency, power);
  } else {
    power.converter_efficiency =
        fields.bounded("efficiency", dimensions::ratio, share_above_zero, power.converter_efficiency);
  }
  power.converter_heat = fields.heat("heat");
}

// One way through a storage: efficiency and greatest power.
void read_way(Reader& reader, const Fields& storage, const char* key, Bounded& efficiency, Bounded& limit) {
  const YamlNode* node = storage.need(key);
  if (node == nullptr) return;
  const Fields fields(reader, *node, std::string("`") + key + "`", {"efficiency", "limit"});
  if (!fields.is_map()) return;
  efficiency = fields.bounded("efficiency", dimensions::ratio, share_above_zero, efficiency);
  limit = fields.need_bounded("limit", dimensions::power, not_negative);
}

void read_storage(Reader& reader, const YamlNode& node, PowerSystem& power) {
  const Fields fields(reader, node, "`storage`",
                      {"capacity", "initial", "floor", "charge", "discharge", "self_discharge", "heat"});
  if (!fields.is_map()) return;
  Storage storage;
  storage.origin = storage.floor_origin = reader.origin(node.span);
  storage.capacity = fields.need_bounded("capacity", dimensions::energy, positive);
  storage.initial = fields.need_bounded("initial", dimensions::energy, not_negative);
  storage.floor = fields.exact("floor", dimensions::energy, not_negative, 0);
  const YamlNode* capacity = fields.get("capacity");
  const auto within = [&](const char* key, double value, double most, const char* expected) {
    const YamlNode* found = fields.get(key);
    if (found == nullptr || capacity == nullptr || storage.capacity.low <= 0 || value <= most) return;
    reader
        .report(diagnostics::ModelOutOfRange, found->span, std::string("`") + key + "`", found->text,
                expected)
        .context(capacity->span, "the capacity");
  };
  within("initial", storage.initial.nominal, storage.capacity.nominal, "at most the capacity");
  within("floor", storage.floor, storage.capacity.low, "at most what the capacity is at least");
  if (const YamlNode* floor = fields.get("floor")) storage.floor_origin = reader.origin(floor->span);
  read_way(reader, fields, "charge", storage.charge_efficiency, storage.charge_limit);
  read_way(reader, fields, "discharge", storage.discharge_efficiency, storage.discharge_limit);
  storage.self_discharge =
      fields.bounded("self_discharge", dimensions::ratio, {.low = 0, .high = 0.99}, storage.self_discharge);
  storage.heat = fields.heat("heat");
  power.storage = std::move(storage);
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
                      {"sources", "converter", "storage", "reserve_floor", "shed_order", "dump_load"});
  if (!fields.is_map()) return;
  PowerSystem& power = reader.station.power;
  power.origin = reader.origin(node.span);
  if (const YamlNode* sources = fields.get("sources");
      sources != nullptr && reader.is_map(*sources, "`sources`")) {
    for (const YamlEntry& entry : sources->entries) read_source(reader, entry);
  }
  if (const YamlNode* converter = fields.get("converter")) read_converter(reader, *converter, power);
  if (const YamlNode* storage = fields.get("storage")) read_storage(reader, *storage, power);
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
