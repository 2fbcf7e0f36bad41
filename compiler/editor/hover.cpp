// What stands under the pointer: the name there, and what the statement around it comes to.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "compiler/editor/features.h"
#include "constraints/quantity/unit.h"

namespace cairn {

namespace {

constexpr std::size_t most_times = 5;

// The whole line on which a definition stands, comments above it in front.
std::string definition_words(const Analysis& analysis, Span place) {
  const SourceFiles& files = analysis.files;
  const std::uint32_t line = files.position(place.file, place.begin).line;
  std::string text(files.line_text(place.file, line));
  text.erase(0, text.find_first_not_of(" \t"));
  std::string comments;
  for (std::uint32_t above = line - 1; above > 0; --above) {
    std::string_view row = files.line_text(place.file, above);
    row.remove_prefix(std::min(row.find_first_not_of(" \t"), row.size()));
    if (!row.starts_with('#')) break;
    row.remove_prefix(std::min(row.find_first_not_of("# "), row.size()));
    comments.insert(0, std::string(row) + "\n");
  }
  return fmt::format("```cairn\n{}\n```\n{}", text, comments);
}

std::string language_words(const Analysis& analysis, const NameUse& name,
                           const LeapSecondTable& leap_seconds) {
  std::string words = fmt::format("{} `{}`\n\n", to_word(name.kind), analysis.files.text(name.span));
  if (name.target.is_valid()) words += definition_words(analysis, name.target);
  if (name.kind != NameKind::Mark || !analysis.load) return words;
  for (const ResolvedMark& mark : analysis.load->marks) {
    const bool same = mark.source.file == name.target.file && mark.source.begin <= name.target.begin &&
                      name.target.end <= mark.source.end;
    if (!same) continue;
    words += fmt::format("\nis at **{}**\n\n{}", format_utc(mark.time, leap_seconds),
                         predicted_words(analysis, mark.time));
  }
  return words;
}

std::string name_words(const Analysis& analysis, const NameUse& name, const LeapSecondTable& leap_seconds) {
  if (is_of_language(name.kind)) return language_words(analysis, name, leap_seconds);
  const Station* station = analysis.station ? &analysis.station->station : nullptr;
  switch (name.kind) {
    case NameKind::Unit:
      return unit_words(*station, name.unit);
    case NameKind::Part:
      return part_words(*station, name.part);
    case NameKind::State:
      return state_words(*station, name.state);
    case NameKind::Command:
      return command_words(*station, name.command);
    case NameKind::Argument:
      return argument_words(*station, name.command, name.argument);
    case NameKind::Station:
      return fmt::format("station `{}`, address {}\n\n{}", station->name, station->address, station->title);
    default:
      return fmt::format("{} `{}`", to_word(name.kind), analysis.files.text(name.span));
  }
}

// The innermost statement around the place that sends something.
Span sending_at(const Analysis& analysis, FileId file, std::uint32_t offset) {
  Span best;
  for (const Provenance& from : analysis.load->provenance) {
    if (from.source.file != file || offset < from.source.begin || offset > from.source.end) continue;
    if (!best.is_valid() || from.source.begin > best.begin) best = from.source;
  }
  return best;
}

std::string sending_words(const Analysis& analysis, Span source, const LeapSecondTable& leap_seconds) {
  const SequencedLoad& load = *analysis.load;
  std::string words;
  std::size_t count = 0;
  std::optional<Instant> first;
  for (std::size_t i = 0; i < load.provenance.size(); ++i) {
    if (load.provenance[i].source != source) continue;
    const TimedCommand& command = load.commands[i];
    if (!first) first = command.time;
    if (++count > most_times) continue;
    words += fmt::format("* command {}, `{}` at **{}**\n", i + 1,
                         full_name(analysis.station->station, command.command),
                         format_utc(command.time, leap_seconds));
  }
  if (count > most_times) words += fmt::format("* and {} more\n", count - most_times);
  if (first) words += "\n" + predicted_words(analysis, *first);
  return words;
}

}  // namespace

std::string predicted_words(const Analysis& analysis, Instant time) {
  if (!analysis.checked || !analysis.station) return {};
  const CheckResults& results = analysis.checked->results;
  std::string words;
  const auto& points = results.power.points;
  const auto after = std::upper_bound(points.begin(), points.end(), time,
                                      [](Instant at, const PowerPoint& point) { return at < point.time; });
  if (after != points.begin()) {
    const PowerPoint& point = *(after - 1);
    words += fmt::format("power there: load {}, reserve {}\n", show(point.load, dimensions::power, 4),
                         show(point.reserve, dimensions::power, 4));
  }
  const ThermalNetwork& thermal = analysis.station->station.thermal;
  for (std::size_t i = 0; i < results.heat.traces.size() && i < thermal.nodes.size(); ++i) {
    const auto& trace = results.heat.traces[i];
    const auto next =
        std::upper_bound(trace.begin(), trace.end(), time,
                         [](Instant at, const TemperaturePoint& point) { return at < point.time; });
    if (next == trace.begin()) continue;
    const TemperaturePoint& before = *(next - 1);
    double kelvin = before.temperature;
    if (next != trace.end()) {
      const double part =
          (time - before.time).seconds() / std::max((next->time - before.time).seconds(), 1e-9);
      kelvin += part * (next->temperature - before.temperature);
    }
    words += fmt::format("{}{} {:.1f} degC", words.ends_with('\n') ? "\ntemperatures there: " : ", ",
                         thermal.nodes[thermal.nodes.id_at(i)].name, kelvin - 273.15);
  }
  return words;
}

std::optional<HoverAnswer> hover(const Analysis& analysis, const std::vector<NameUse>& names, FileId file,
                                 std::uint32_t offset, const LeapSecondTable& leap_seconds) {
  HoverAnswer answer;
  Span place;
  if (const NameUse* name = name_at(names, file, offset)) {
    place = name->span;
    answer.markdown = name_words(analysis, *name, leap_seconds);
  }
  if (analysis.load && analysis.station) {
    const Span source = sending_at(analysis, file, offset);
    if (source.is_valid()) {
      if (!place.is_valid()) place = source;
      if (!answer.markdown.empty()) answer.markdown += "\n\n---\n\n";
      answer.markdown += sending_words(analysis, source, leap_seconds);
    }
  }
  if (answer.markdown.empty()) return std::nullopt;
  answer.range = analysis.range(place);
  return answer;
}

}  // namespace cairn
