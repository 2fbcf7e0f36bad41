// Antennas on the Earth, and the windows in which they reach the station: given, or computed from their place
// and mask.

#include <algorithm>
#include <numbers>

#include "compiler/model/reader.h"
#include "constraints/sky/antenna.h"

namespace cairn {

namespace {

constexpr double quarter_turn = std::numbers::pi / 2;
constexpr double longest_search = 400 * 86'400.0;  // s

// The same elevation all around, or points.
std::vector<MaskPoint> read_antenna_mask(Reader& reader, const YamlNode& node) {
  if (node.kind == NodeKind::Sequence) return read_mask(reader, node, "`mask`");
  return {{0, reader.exact(node, "`mask`", dimensions::angle, {.low = -quarter_turn, .high = quarter_turn})}};
}

void read_antenna(Reader& reader, const YamlEntry& entry) {
  if (!reader.check_name(entry.key, entry.key_span)) return;
  const Fields fields(reader, entry.value, "antenna `" + entry.key + "`",
                      {"latitude", "longitude", "height", "mask", "refraction"});
  if (!fields.is_map()) return;
  AntennaPlace place;
  place.latitude =
      fields.need_exact("latitude", dimensions::angle, {.low = -quarter_turn, .high = quarter_turn});
  place.longitude =
      fields.need_exact("longitude", dimensions::angle, {.low = -2 * quarter_turn, .high = 4 * quarter_turn});
  place.height = fields.exact("height", dimensions::length, {.low = -1e3, .high = 10e3}, 0);
  if (const YamlNode* mask = fields.need("mask")) place.mask = read_antenna_mask(reader, *mask);
  if (const YamlNode* air = fields.get("refraction")) {
    place.refraction = reader.word(*air, "refraction", {"none", "standard"}) == 1U;
  }
  reader.station.antennas.add({entry.key, reader.origin(entry.key_span), std::move(place)});
}

// A window with the place it is shown by: its opening, since the map itself has no end that the text would
// tell.
struct Placed {
  Window window;
  Span span;
};

class WindowReader {
 public:
  explicit WindowReader(Reader& reader) : reader_(reader) {
    for (std::size_t i = 0; i < reader.station.antennas.size(); ++i) {
      const AntennaId id = reader.station.antennas.id_at(i);
      antennas_.emplace(reader.station.antennas[id].name, id);
    }
  }

  void read(const YamlNode& item) {
    const bool computed = item.find("from") != nullptr || item.find("to") != nullptr;
    const Fields fields =
        computed ? Fields(reader_, item, "a window that is computed", {"antenna", "from", "to", "shortest"})
                 : Fields(reader_, item, "a window", {"antenna", "opens", "closes"});
    if (!fields.is_map()) return;
    const YamlNode* antenna = fields.need("antenna");
    const YamlNode* first = fields.need(computed ? "from" : "opens");
    const YamlNode* last = fields.need(computed ? "to" : "closes");
    if (antenna == nullptr || first == nullptr || last == nullptr) return;
    const auto begin = reader_.instant(*first, computed ? "`from`" : "`opens`");
    const auto end = reader_.instant(*last, computed ? "`to`" : "`closes`");
    const std::string name = reader_.text(*antenna, "`antenna`");
    if (antenna->kind != NodeKind::Scalar || !reader_.check_name(name, reader_.inside(*antenna))) return;
    if (!begin || !end) return;
    if (*end <= *begin) {
      reader_
          .report(diagnostics::ModelWindows, last->span,
                  computed ? "the search for windows ends before or as it begins"
                           : "the window closes before or as it opens")
          .context(first->span, computed ? "it begins here" : "it opens here");
      return;
    }
    if (computed) {
      compute(*antenna, name, *first, *last, *begin, *end,
              fields.duration("shortest", not_negative, Duration{}));
      return;
    }
    auto known = antennas_.find(name);
    if (known == antennas_.end()) {
      const AntennaId id = reader_.station.antennas.add({name, reader_.origin(antenna->span), std::nullopt});
      known = antennas_.emplace(name, id).first;
    }
    windows_.push_back({{known->second, *begin, *end, reader_.origin(first->span)}, first->span});
  }

  void finish() {
    std::stable_sort(windows_.begin(), windows_.end(), [](const Placed& a, const Placed& b) {
      return std::pair(a.window.opens, a.window.closes) < std::pair(b.window.opens, b.window.closes);
    });
    std::vector<const Placed*> longest(reader_.station.antennas.size(), nullptr);
    for (const Placed& placed : windows_) {
      const Placed*& earlier = longest[placed.window.antenna.value];
      if (earlier != nullptr && placed.window.opens < earlier->window.closes) {
        const std::string& name = reader_.station.antennas[placed.window.antenna].name;
        reader_.report(diagnostics::ModelWindows, placed.span, "two windows of `" + name + "` overlap")
            .context(earlier->span, "the other window");
      }
      if (earlier == nullptr || placed.window.closes > earlier->window.closes) earlier = &placed;
      reader_.station.windows.add(placed.window);
    }
  }

 private:
  void compute(const YamlNode& antenna, const std::string& name, const YamlNode& first, const YamlNode& last,
               Instant begin, Instant end, Duration shortest) {
    const auto known = antennas_.find(name);
    if (known == antennas_.end() || !reader_.station.antennas[known->second].place) {
      std::vector<std::string> placed;
      for (const Antenna& other : reader_.station.antennas) {
        if (other.place) placed.push_back(other.name);
      }
      reader_.suggest(reader_.report(diagnostics::ModelUnknownName, reader_.inside(antenna), name,
                                     "antenna of `antennas`"),
                      reader_.inside(antenna), name, placed);
      return;
    }
    if ((end - begin).seconds() > longest_search) {
      reader_.report(diagnostics::ModelOutOfRange, last.span, "the search for windows", to_text(end - begin),
                     "at most 400 d");
      return;
    }
    const AntennaPlace& place = *reader_.station.antennas[known->second].place;
    for (Pass pass : passes(place, reader_.station.site, begin, end, reader_.leap_seconds())) {
      // Whole seconds, inside what was found.
      const std::int64_t second = nanoseconds_per_second;
      const std::int64_t early = pass.begin.tai_nanoseconds % second;
      if (early != 0) pass.begin = pass.begin + Duration{second - early};
      pass.end = pass.end - Duration{pass.end.tai_nanoseconds % second};
      if (pass.end <= pass.begin || pass.end - pass.begin < shortest) continue;
      windows_.push_back({{known->second, pass.begin, pass.end, reader_.origin(first.span)}, first.span});
    }
  }

  Reader& reader_;
  std::vector<Placed> windows_;
  std::unordered_map<std::string, AntennaId> antennas_;
};

}  // namespace

std::vector<MaskPoint> read_mask(Reader& reader, const YamlNode& node, const std::string& what) {
  std::vector<MaskPoint> mask;
  if (!reader.is_list(node, what)) return mask;
  struct Placed {
    MaskPoint point;
    Span span;
  };
  std::vector<Placed> points;
  for (const YamlNode& item : node.items) {
    const Fields fields(reader, item, "a point of " + what, {"azimuth", "elevation"});
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
                  "an azimuth no other point of " + what + " has")
          .context(points[i - 1].span, "the other point");
    }
    mask.push_back(points[i].point);
  }
  return mask;
}

void read_antennas(Reader& reader, const YamlNode& node) {
  if (!reader.is_map(node, "`antennas`")) return;
  for (const YamlEntry& entry : node.entries) read_antenna(reader, entry);
}

void read_windows(Reader& reader, const YamlNode& node) {
  if (!reader.is_list(node, "`windows`")) return;
  WindowReader windows(reader);
  for (const YamlNode& item : node.items) windows.read(item);
  windows.finish();
}

}  // namespace cairn
