// Where the station stands, its clock, its command table, its link and the windows of the antennas.

#include <algorithm>
#include <numbers>

#include "compiler/model/reader.h"

namespace cairn {

namespace {

constexpr double quarter_turn = std::numbers::pi / 2;

void read_horizon(Reader& reader, const YamlNode& node) {
  if (!reader.is_list(node, "`horizon`")) return;
  struct Placed {
    MaskPoint point;
    Span span;
  };
  std::vector<Placed> points;
  for (const YamlNode& item : node.items) {
    const Fields fields(reader, item, "a point of `horizon`", {"azimuth", "elevation"});
    if (!fields.is_map()) continue;
    MaskPoint point;
    point.azimuth = fields.need_exact("azimuth", dimensions::angle, {.low = 0, .high = 4 * quarter_turn});
    point.elevation =
        fields.need_exact("elevation", dimensions::angle, {.low = -quarter_turn, .high = quarter_turn});
    const YamlNode* azimuth = fields.get("azimuth");
    points.push_back({point, azimuth != nullptr ? azimuth->span : item.span});
  }
  std::stable_sort(points.begin(), points.end(),
                   [](const Placed& a, const Placed& b) { return a.point.azimuth < b.point.azimuth; });
  for (std::size_t i = 0; i < points.size(); ++i) {
    if (i > 0 && points[i].point.azimuth == points[i - 1].point.azimuth) {
      reader
          .report(diagnostics::ModelOutOfRange, points[i].span, "`azimuth`",
                  show(points[i].point.azimuth, dimensions::angle),
                  "an azimuth no other point of `horizon` has")
          .context(points[i - 1].span, "the other point");
    }
    reader.station.site.horizon.push_back(points[i].point);
  }
}

}  // namespace

void read_site(Reader& reader, const YamlNode& node) {
  const Fields fields(reader, node, "`site`", {"body", "latitude", "longitude", "height", "horizon"});
  if (!fields.is_map()) return;
  Site& site = reader.station.site;
  if (const YamlNode* body = fields.need("body"))
    reader.word(*body, "body of the sky that stations stand on", {"moon"});
  site.latitude =
      fields.need_exact("latitude", dimensions::angle, {.low = -quarter_turn, .high = quarter_turn});
  site.longitude =
      fields.need_exact("longitude", dimensions::angle, {.low = -2 * quarter_turn, .high = 4 * quarter_turn});
  site.height = fields.exact("height", dimensions::length, {.low = -20e3, .high = 20e3}, 0);
  if (const YamlNode* horizon = fields.get("horizon")) read_horizon(reader, *horizon);
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

void read_windows(Reader& reader, const YamlNode& node) {
  if (!reader.is_list(node, "`windows`")) return;
  struct Placed {
    Window window;
    Span span;
  };
  std::vector<Placed> windows;
  std::unordered_map<std::string, AntennaId> antennas;
  for (const YamlNode& item : node.items) {
    const Fields fields(reader, item, "a window", {"antenna", "opens", "closes"});
    if (!fields.is_map()) continue;
    const YamlNode* antenna = fields.need("antenna");
    const YamlNode* opens = fields.need("opens");
    const YamlNode* closes = fields.need("closes");
    if (antenna == nullptr || opens == nullptr || closes == nullptr) continue;
    const auto from = reader.instant(*opens, "`opens`");
    const auto to = reader.instant(*closes, "`closes`");
    const std::string name = reader.text(*antenna, "`antenna`");
    if (antenna->kind != NodeKind::Scalar || !reader.check_name(name, reader.inside(*antenna))) continue;
    auto known = antennas.find(name);
    if (known == antennas.end()) {
      const AntennaId id = reader.station.antennas.add({name, reader.origin(antenna->span)});
      known = antennas.emplace(name, id).first;
    }
    if (!from || !to) continue;
    if (*to <= *from) {
      reader.report(diagnostics::ModelWindows, closes->span, "the window closes before or as it opens")
          .context(opens->span, "it opens here");
      continue;
    }
    // A window is shown by its opening: the map itself has no end that the text would tell.
    windows.push_back({{known->second, *from, *to, reader.origin(opens->span)}, opens->span});
  }
  std::stable_sort(windows.begin(), windows.end(), [](const Placed& a, const Placed& b) {
    return std::pair(a.window.opens, a.window.closes) < std::pair(b.window.opens, b.window.closes);
  });
  std::vector<const Placed*> longest(reader.station.antennas.size(), nullptr);
  for (const Placed& placed : windows) {
    const Placed*& earlier = longest[placed.window.antenna.value];
    if (earlier != nullptr && placed.window.opens < earlier->window.closes) {
      const std::string& name = reader.station.antennas[placed.window.antenna].name;
      reader.report(diagnostics::ModelWindows, placed.span, "two windows of `" + name + "` overlap")
          .context(earlier->span, "the other window");
    }
    if (earlier == nullptr || placed.window.closes > earlier->window.closes) earlier = &placed;
    reader.station.windows.add(placed.window);
  }
}

}  // namespace cairn
