// Where the station stands, its clock and its command table.

#include <numbers>

#include "compiler/model/reader.h"
#include "constraints/sky/sky.h"

namespace cairn {

namespace {

constexpr double quarter_turn = std::numbers::pi / 2;

}  // namespace

void read_site(Reader& reader, const YamlNode& node) {
  const Fields fields(reader, node, "`site`", {"body", "latitude", "longitude", "height", "horizon"});
  if (!fields.is_map()) return;
  Site& site = reader.station.site;
  if (const YamlNode* body = fields.need("body")) {
    const auto found = reader.word(*body, "body of the sky that stations stand on", {"moon", "mars"});
    site.body = found == 1U ? Body::Mars : Body::Moon;
  }
  site.latitude =
      fields.need_exact("latitude", dimensions::angle, {.low = -quarter_turn, .high = quarter_turn});
  site.longitude =
      fields.need_exact("longitude", dimensions::angle, {.low = -2 * quarter_turn, .high = 4 * quarter_turn});
  site.height = fields.exact("height", dimensions::length, {.low = -20e3, .high = 20e3}, 0);
  if (const YamlNode* horizon = fields.get("horizon"))
    site.horizon = read_mask(reader, *horizon, "`horizon`");
}

void read_sky(Reader& reader, const YamlNode& node) {
  if (!reader.is_list(node, "`sky`")) return;
  std::vector<SkyRow>& rows = reader.station.site.sky;
  constexpr Accepted elevation{.low = -quarter_turn, .high = quarter_turn};
  constexpr Accepted azimuth{.low = -4 * quarter_turn, .high = 4 * quarter_turn};
  for (const YamlNode& item : node.items) {
    const Fields fields(reader, item, "a row of `sky`",
                        {"time", "sun_elevation", "sun_azimuth", "sun_distance", "earth_elevation",
                         "earth_azimuth", "light_time"});
    if (!fields.is_map()) continue;
    SkyRow row;
    const YamlNode* time = fields.need("time");
    const auto found = time != nullptr ? reader.instant(*time, "`time`") : std::nullopt;
    row.sun_elevation = fields.need_exact("sun_elevation", dimensions::angle, elevation);
    row.sun_azimuth = fields.need_exact("sun_azimuth", dimensions::angle, azimuth);
    row.sun_distance = fields.need_exact("sun_distance", dimensions::length, {.low = 1e9, .high = 1e13});
    row.earth_elevation = fields.need_exact("earth_elevation", dimensions::angle, elevation);
    row.earth_azimuth = fields.need_exact("earth_azimuth", dimensions::angle, azimuth);
    row.earth_distance =
        speed_of_light * fields.need_exact("light_time", dimensions::duration, {.low = 0, .high = 100'000});
    if (!found) continue;
    row.time = *found;
    if (!rows.empty() && row.time <= rows.back().time) {
      reader.report(diagnostics::ModelOutOfRange, time->span, "`time`", time->text,
                    "an instant after that of the row before it");
      continue;
    }
    rows.push_back(row);
  }
  if (node.items.size() >= 2) return;
  reader.report(diagnostics::ModelOutOfRange, node.span, "`sky`",
                std::to_string(node.items.size()) + (node.items.size() == 1 ? " row" : " rows"),
                "two rows or more");
}

void read_clock(Reader& reader, const YamlNode& node) {
  const Fields fields(reader, node, "`clock`", {"tick", "rate_error", "last_correlation", "time_code"});
  if (!fields.is_map()) return;
  StationClock& clock = reader.station.clock;
  clock.tick = fields.duration("tick", {.low = 0, .high = 3600, .above_low = true}, clock.tick);
  clock.rate_error = fields.exact("rate_error", dimensions::ratio, {.low = 0, .high = 0.01}, 0);
  if (const YamlNode* last = fields.get("last_correlation")) {
    clock.last_correlation = reader.instant(*last, "`last_correlation`");
  }
  const YamlNode* code = fields.get("time_code");
  if (code == nullptr) return;
  const Fields parts(reader, *code, "`time_code`", {"form", "coarse_octets", "fine_octets", "preamble"});
  const YamlNode* form = parts.need("form");
  if (form == nullptr) return;
  const auto found = reader.word(*form, "form of time code", {"unsegmented", "day-segmented"});
  clock.time_code = found == 1U ? TimeCodeForm::DaySegmented : TimeCodeForm::Unsegmented;
  clock.preamble = parts.flag("preamble", true);
  if (clock.time_code == TimeCodeForm::Unsegmented) {
    // Fewer than four octets of seconds since 1958 have run over long ago.
    clock.coarse_octets = static_cast<int>(parts.whole("coarse_octets", 4, 7, 4));
    clock.fine_octets = static_cast<int>(parts.whole("fine_octets", 0, 7, 2));
    return;
  }
  for (const char* key : {"coarse_octets", "fine_octets"}) {
    const YamlNode* octets = parts.get(key);
    if (octets == nullptr) continue;
    reader.report(diagnostics::ModelUnknownKey, octets->span, key, "`time_code` of the form `day-segmented`")
        .hint("its length is fixed: day, millisecond and microsecond");
  }
}

void read_table(Reader& reader, const YamlNode& node) {
  const Fields fields(reader, node, "`table`",
                      {"entries", "bytes", "least_spacing", "horizon", "load_guard"});
  if (!fields.is_map()) return;
  CommandTable& table = reader.station.table;
  table.origin = reader.origin(node.span);
  table.entries = static_cast<std::uint32_t>(fields.need_whole("entries", 1, 1'000'000));
  table.bytes = static_cast<std::uint32_t>(fields.whole("bytes", 0, 1'000'000'000, 0));
  table.least_spacing = fields.duration("least_spacing", not_negative, {});
  table.horizon = fields.duration("horizon", not_negative, {});
  table.load_guard = fields.duration("load_guard", not_negative, {});
}

}  // namespace cairn
