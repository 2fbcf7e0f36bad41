// From station YAML to constraints/station, with the place of every value.
//
// Checked by the loader itself: unknown keys (with the nearest known), duplicate keys, wrong kinds, wrong
// units, values out of range, names that lead nowhere. Many errors in one run; each has file, line and
// column. The same rules stand as a JSON Schema in docs/station.schema.json.

#pragma once

#include <expected>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "compiler/text/diagnostic.h"
#include "constraints/quantity/leap_seconds.h"
#include "constraints/station/station.h"

namespace cairn {

// Gives the text of an included file, or a sentence why not. `path` is as resolved by the loader: relative to
// the project folder, '/' between parts, never leaving the folder.
using ReadText = std::function<std::expected<std::string, std::string>(const std::string& path)>;

struct LoadedStation {
  Station station;
  std::vector<Span> origins;  // by Origin: the place in the YAML
  std::vector<FileId> files;  // the station file and all it includes, in reading order

  [[nodiscard]] Span place(Origin origin) const { return origin < origins.size() ? origins[origin] : Span{}; }
};

// `path` is the station file, already resolved. nullopt when anything was wrong (all of it is reported).
std::optional<LoadedStation> load_station(const std::string& path, const ReadText& read, SourceFiles& files,
                                          const LeapSecondTable& leap_seconds, Diagnostics& diagnostics);

}  // namespace cairn
