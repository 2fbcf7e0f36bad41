// The station file from text to values: include, then each section in an order in which names are known
// first.

#include "compiler/model/include.h"
#include "compiler/model/reader.h"

namespace cairn {

std::optional<LoadedStation> load_station(const std::string& path, const ReadText& read, SourceFiles& files,
                                          const LeapSecondTable& leap_seconds, Diagnostics& diagnostics) {
  const std::size_t errors_before = diagnostics.error_count();
  std::optional<MergedTree> tree = read_with_includes(path, read, files, IncludeLimits{}, diagnostics);
  if (!tree) return std::nullopt;
  LoadedStation loaded;
  loaded.files = std::move(tree->files);
  const YamlNode& root = tree->root;
  Reader reader(loaded, files, leap_seconds, diagnostics);
  const Fields fields(reader, root, "the station file",
                      {"cairn-station", "include", "name", "title", "address", "site", "clock", "units",
                       "exclusions", "events", "inhibits", "last_resort", "power", "thermal", "table", "link",
                       "antennas", "windows", "sky"});
  fields.need("cairn-station");
  if (const YamlNode* name = fields.need("name"); name != nullptr && reader.is_text(*name, "`name`")) {
    if (reader.check_name(name->text, reader.inside(*name))) loaded.station.name = name->text;
  }
  loaded.station.title = fields.text("title");
  loaded.station.address = static_cast<std::uint16_t>(fields.need_whole("address", 0, 65535));

  const YamlNode* thermal = fields.get("thermal");
  const YamlNode* units = fields.need("units");
  if (const YamlNode* site = fields.need("site")) read_site(reader, *site);
  if (const YamlNode* sky = fields.get("sky")) read_sky(reader, *sky);
  if (const YamlNode* clock = fields.get("clock")) read_clock(reader, *clock);
  if (thermal != nullptr) read_thermal_names(reader, *thermal);
  if (units != nullptr) read_units(reader, *units);
  if (units != nullptr && units->kind == NodeKind::Map) read_commands(reader, *units);
  if (units != nullptr && units->kind == NodeKind::Map) read_two_steps(reader, *units);
  if (const YamlNode* exclusions = fields.get("exclusions")) read_exclusions(reader, *exclusions);
  if (const YamlNode* power = fields.get("power")) read_power(reader, *power);
  if (thermal != nullptr) read_thermal(reader, *thermal);
  if (const YamlNode* table = fields.need("table")) read_table(reader, *table);
  const YamlNode* link = fields.need("link");
  if (link != nullptr) read_link(reader, *link);
  if (const YamlNode* antennas = fields.get("antennas")) read_antennas(reader, *antennas);
  if (const YamlNode* windows = fields.get("windows")) read_windows(reader, *windows);
  if (const YamlNode* events = fields.get("events")) read_events(reader, *events);
  if (const YamlNode* inhibits = fields.get("inhibits")) read_inhibits(reader, *inhibits);
  if (const YamlNode* resort = fields.get("last_resort")) read_last_resort(reader, *resort);
  if (diagnostics.error_count() > errors_before) return std::nullopt;
  if (link != nullptr) check_link(reader, *link);
  if (diagnostics.error_count() > errors_before) return std::nullopt;
  return loaded;
}

}  // namespace cairn
