// A station made by hand for the tests of meaning and sequence: a camera with a cover, a probe, a mast.
//
// Invented values; nothing here is a published figure.

#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "compiler/sequence/sequence.h"
#include "compiler/text/render.h"

namespace cairn::test {

class StationBuilder {
 public:
  Station station;

  UnitId unit(const std::string& name) {
    StationUnit value;
    value.name = name;
    return station.units.add(value);
  }
  PartId part(UnitId unit, const std::string& name, const std::vector<std::string>& states, int initial) {
    Part made;
    made.name = name;
    made.unit = unit;
    const PartId id = station.parts.add(made);
    station.units[unit].parts.push_back(id);
    for (const std::string& state : states) {
      State value;
      value.name = state;
      value.part = id;
      station.parts[id].states.push_back(station.states.add(value));
    }
    if (initial >= 0) station.parts[id].initial = station.parts[id].states[static_cast<std::size_t>(initial)];
    return id;
  }
  StateId state(PartId part, std::size_t index) const { return station.parts[part].states[index]; }
  CommandId command(UnitId unit, const std::string& name, Duration duration) {
    CommandDefinition definition;
    definition.name = name;
    definition.unit = unit;
    definition.number = static_cast<std::uint16_t>(station.commands.size() + 1);
    definition.duration = duration;
    return station.commands.add(definition);
  }
};

inline Move move(PartId part, std::vector<StateId> from, StateId to, double takes) {
  Move result;
  result.part = part;
  result.from = std::move(from);
  result.to = to;
  result.takes = Bounded{takes, takes, takes};
  return result;
}

inline Station small_station() {
  StationBuilder builder;
  builder.station.name = "alder";
  builder.station.site.latitude = -0.349;
  builder.station.site.longitude = 0.5236;
  builder.station.table.least_spacing = seconds_to_duration(1);
  auto& commands = builder.station.commands;

  const UnitId camera = builder.unit("camera");
  const PartId mode = builder.part(camera, "", {"off", "standby", "imaging"}, 0);
  const PartId cover = builder.part(camera, "cover", {"open", "closed"}, 1);
  const auto mode_state = [&](std::size_t i) { return builder.state(mode, i); };
  const CommandId standby = builder.command(camera, "standby", seconds_to_duration(2));
  commands[standby].moves.push_back(move(mode, {mode_state(0), mode_state(2)}, mode_state(1), 30));
  const CommandId image = builder.command(camera, "image", seconds_to_duration(2));
  commands[image].moves.push_back(move(mode, {mode_state(1)}, mode_state(2), 5));
  StateCondition open;
  open.part = cover;
  open.states = {builder.state(cover, 0)};
  open.text = "camera.cover is open";
  commands[image].needs.push_back(open);

  const CommandId turn_cover = builder.command(camera, "cover", seconds_to_duration(20));
  ArgumentDefinition position;
  position.name = "position";
  position.type = ArgumentType::Choice;
  position.choices = {{"closed", 0}, {"open", 1}};
  commands[turn_cover].arguments.push_back(position);
  Move opening = move(cover, {}, builder.state(cover, 0), 18);
  opening.when = {{0, 1}};
  Move closing = move(cover, {}, builder.state(cover, 1), 18);
  closing.when = {{0, 0}};
  commands[turn_cover].moves = {opening, closing};

  const UnitId probe = builder.unit("probe");
  const CommandId sample = builder.command(probe, "sample", seconds_to_duration(10));
  ArgumentDefinition depth;
  depth.name = "depth";
  depth.type = ArgumentType::Quantity;
  depth.dimension = dimensions::length;
  depth.unit = "m";
  depth.minimum = 0;
  depth.maximum = 2;
  depth.encoding = {16, false, 0.1, 0};
  ArgumentDefinition gain;
  gain.name = "gain";
  gain.type = ArgumentType::Count;
  gain.minimum = 1;
  gain.maximum = 16;
  gain.default_number = 1;
  commands[sample].arguments = {depth, gain};
  builder.command(probe, "ping", seconds_to_duration(1));

  const UnitId mast = builder.unit("mast");
  const PartId mast_mode = builder.part(mast, "", {"low", "high"}, -1);
  const CommandId raise = builder.command(mast, "raise", seconds_to_duration(1));
  commands[raise].moves.push_back(
      move(mast_mode, {builder.state(mast_mode, 0)}, builder.state(mast_mode, 1), 5));

  Antenna dish;
  dish.name = "west-dish";
  const AntennaId antenna = builder.station.antennas.add(dish);
  const Instant opens = parse_utc("2031-05-14T04:00:00Z", published_leap_seconds()).value();
  for (const std::int64_t day : {0, 1}) {
    Window window;
    window.antenna = antenna;
    window.opens = opens + seconds_to_duration(86'400 * day);
    window.closes = window.opens + seconds_to_duration(7200);
    builder.station.windows.add(window);
  }
  return builder.station;
}

struct Outcome {
  std::optional<SequencedLoad> load;
  Diagnostics diagnostics;
  std::string text;  // rendered
  Station station;

  [[nodiscard]] std::vector<std::string> codes() const {
    std::vector<std::string> result;
    for (const Diagnostic& diagnostic : diagnostics.all()) {
      if (diagnostic.severity == Severity::Error) result.emplace_back(diagnostic.code);
    }
    return result;
  }
  // "06:00:00Z camera.cover" for each command.
  [[nodiscard]] std::vector<std::string> list() const {
    std::vector<std::string> result;
    if (!load) return result;
    for (const TimedCommand& command : load->commands) {
      result.push_back(format_utc_exact(command.time, published_leap_seconds()).substr(11) + " " +
                       full_name(station, command.command));
    }
    return result;
  }
};

inline Outcome compile_text(const std::string& text, SequenceLimits limits = {},
                            Station station = small_station()) {
  Outcome outcome;
  SourceFiles files;
  const FileId file = files.add("loads/evening.cairn", text);
  const ReadText read = [](const std::string& path) -> std::expected<std::string, std::string> {
    if (path == "routines/circle.cairn") return "use \"../loads/evening.cairn\"\n";
    if (path == "routines/ping.cairn") return "routine ping-twice() { send probe.ping send probe.ping }\n";
    return std::unexpected(std::string("there is no such file"));
  };
  const GatherResult gathered = gather(files, file, read, {}, outcome.diagnostics);
  LoadedStation loaded;
  loaded.station = std::move(station);
  outcome.load = compile_load(gathered.trees, files, loaded, initial_state(loaded.station),
                              published_leap_seconds(), limits, outcome.diagnostics);
  outcome.diagnostics.sort(files);
  outcome.text = render_text(outcome.diagnostics.all(), files, {});
  outcome.station = std::move(loaded.station);
  return outcome;
}

// A load over one day with this body.
inline Outcome compile_body(const std::string& body, const std::string& outside = "") {
  return compile_text(outside +
                      "load \"test\" for alder {\n  span 2031-05-14T00:00:00Z to 2031-05-15T00:00:00Z\n" +
                      body + "\n}\n");
}

}  // namespace cairn::test
