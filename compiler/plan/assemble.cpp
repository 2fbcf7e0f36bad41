// The plan's JSON, section by section.

#include "compiler/plan/assemble.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>

#include "compiler/plan/canonical_json.h"
#include "compiler/plan/courses.h"
#include "compiler/plan/digest.h"
#include "compiler/plan/end_state.h"

namespace cairn {

namespace {

// The unit a finding's numbers are in.
std::string_view unit_of(const Finding& finding) {
  if (finding.dimension == dimensions::power) return "W";
  if (finding.dimension == dimensions::energy) return "J";
  if (finding.dimension == dimensions::temperature_difference) return "K";
  if (finding.dimension == dimensions::duration) return "s";
  if (finding.dimension == dimensions::angle) return "deg";
  return "";
}

class Assembly {
 public:
  explicit Assembly(const PlanInput& input)
      : input_(input), load_(*input.load), station_(input.station->station), timeline_(*input.timeline) {
    for (const StatedRule& stated : load_.stated) {
      if (stated.kind == StatedKind::Expect) expects_.emplace(stated.command, &stated);
    }
  }

  std::string text() const {
    Json::Object plan;
    plan["format"] = "cairn-plan";
    plan["version"] = 1;
    plan["tool"] = tool_name;
    plan["load"] = load();
    plan["cautions"] = texts(cautions());
    plan["inputs"] = inputs();
    plan["leap_seconds"] = leap_seconds();
    plan["verdict"] = to_word(overall(input_.results->findings));
    plan["marks"] = marks();
    plan["nothing_sent"] = nothing_sent();
    plan["commands"] = commands();
    plan["carried"] = entries(*input_.carried);
    if (!input_.staging->withdrawals.empty()) plan["withdrawn"] = withdrawn();
    plan["windows"] = windows();
    plan["backout"] = Json::Object{{"file", backout_file},
                                   {"bytes", input_.staging->backout.size()},
                                   {"sha256", sha256(input_.staging->backout)}};
    plan["checks"] = checks();
    plan["waivers"] = waivers();
    const PlanCourses courses = plan_courses(input_);
    plan["power"] = courses.power;
    plan["temperatures"] = courses.temperatures;
    plan["table"] = courses.table;
    plan["states"] = states();
    plan["sun"] = courses.sun;
    plan["start_state"] =
        state_json(station_, input_.results->start_state, timeline_.begin, *input_.leap_seconds);
    plan["end_state"] = end_state();
    return Json(std::move(plan)).canonical();
  }

 private:
  [[nodiscard]] std::string utc(Instant time) const { return format_utc_exact(time, *input_.leap_seconds); }
  [[nodiscard]] double offset(Instant time) const { return rounded((time - timeline_.begin).seconds(), 3); }

  // The time code may stand a hair before the tick that is meant.
  [[nodiscard]] std::int64_t nearest_tick(Instant time) const {
    const std::int64_t tick = std::max<std::int64_t>(station_.clock.tick.nanoseconds, 1);
    return (time.tai_nanoseconds + tick / 2) / tick;
  }

  static Json texts(const std::vector<std::string>& values) {
    return Json::Array(values.begin(), values.end());
  }

  [[nodiscard]] Json place(Span span) const {
    if (!span.is_valid()) return nullptr;
    return Json::Object{{"file", input_.files->name(span.file)},
                        {"line", input_.files->position(span.file, span.begin).line}};
  }

  [[nodiscard]] Json load() const {
    Json::Object object{
        {"name", load_.name},
        {"station", station_.name},
        {"title", station_.title},
        {"address", static_cast<int>(station_.address)},
        {"begin", utc(timeline_.begin)},
        {"end", utc(timeline_.end)},
        {"previous_plan", input_.previous_digest.empty() ? Json() : Json(input_.previous_digest)},
        {"notes", texts(load_.notes)}};
    if (!input_.previous_state.empty()) object["previous_state"] = input_.previous_state;
    return object;
  }

  [[nodiscard]] Json inputs() const {
    std::vector<FileId> order = input_.inputs;
    std::sort(order.begin(), order.end(),
              [&](FileId a, FileId b) { return input_.files->name(a) < input_.files->name(b); });
    Json::Array rows;
    for (const FileId file : order) {
      const std::string_view text = input_.files->text(file);
      rows.push_back(
          Json::Object{{"name", input_.files->name(file)}, {"bytes", text.size()}, {"sha256", sha256(text)}});
    }
    return rows;
  }

  [[nodiscard]] Json leap_seconds() const {
    const LeapSecondTable& table = *input_.leap_seconds;
    const auto expiry = from_utc_day_time({table.expiry_utc_day, 0}, table);
    return Json::Object{{"expires", expiry ? Json(utc(*expiry)) : Json()},
                        {"assumed_after_expiry", is_after_expiry(timeline_.end, table)}};
  }

  [[nodiscard]] Json marks() const {
    Json::Array rows;
    for (const ResolvedMark& mark : load_.marks) {
      rows.push_back(
          Json::Object{{"name", mark.name}, {"time", utc(mark.time)}, {"source", place(mark.source)}});
    }
    return rows;
  }

  [[nodiscard]] Json nothing_sent() const {
    Json::Array rows;
    for (const NothingSent& nothing : load_.nothing_sent) {
      rows.push_back(Json::Object{{"unit", nothing.unit},
                                  {"state", nothing.state},
                                  {"time", utc(nothing.time)},
                                  {"source", place(nothing.source)}});
    }
    return rows;
  }

  // Windows that meet the load's span or carry a batch, in order; their indices are what commands refer to.
  // One that carries several batches is listed with each of them.
  struct ListedWindow {
    WindowId window;
    std::optional<std::size_t> batch;
    std::size_t part = 0;  // from 1, where there are several
  };
  [[nodiscard]] std::vector<ListedWindow> listed_windows() const {
    const std::vector<Batch>& batches = input_.staging->batches;
    std::vector<ListedWindow> list;
    for (std::size_t i = 0; i < station_.windows.size(); ++i) {
      const WindowId id = station_.windows.id_at(i);
      const Window& window = station_.windows[id];
      const std::size_t before = list.size();
      for (std::size_t b = 0; b < batches.size(); ++b) {
        if (batches[b].window == id) list.push_back({id, b, 0});
      }
      const std::size_t parts = list.size() - before;
      for (std::size_t part = 0; parts > 1 && part < parts; ++part) list[before + part].part = part + 1;
      const bool meets = window.closes > timeline_.begin && window.opens < timeline_.end;
      if (parts == 0 && meets) list.push_back({id, std::nullopt, 0});
    }
    return list;
  }
  // By command, the row of its window, from 1.
  [[nodiscard]] std::vector<std::optional<std::size_t>> window_rows() const {
    std::vector<std::optional<std::size_t>> rows(timeline_.commands.size());
    const std::vector<ListedWindow> list = listed_windows();
    for (std::size_t row = 0; row < list.size(); ++row) {
      if (!list[row].batch) continue;
      for (const TimedCommandId id : input_.staging->batches[*list[row].batch].commands)
        rows[id.value] = row + 1;
    }
    return rows;
  }

  [[nodiscard]] Json commands() const {
    const std::vector<std::optional<std::size_t>> window_row = window_rows();
    Json::Array rows;
    for (std::size_t i = 0; i < timeline_.commands.size(); ++i) {
      const TimedCommand& command = timeline_.commands[i];
      const CommandDefinition& definition = station_.commands[command.command];
      const Provenance& from = load_.provenance[i];
      const StagedCommand& staged = input_.staging->commands[i];
      Json::Array arguments;
      for (std::size_t a = 0; a < definition.arguments.size(); ++a) {
        ArgumentValue value = command.arguments[a];
        const double rounding = quantisation_error(definition.arguments[a], value);
        // As sent: what lies between two steps has been rounded.
        value.number = decode_argument(definition.arguments[a], value.raw);
        // A raw value above 2^53 has no exact JSON number: then it is text.
        const Json raw = value.raw <= (std::uint64_t{1} << 53U) ? Json(static_cast<double>(value.raw))
                                                                : Json(std::to_string(value.raw));
        Json::Object argument{{"name", definition.arguments[a].name},
                              {"value", show_argument(definition.arguments[a], value)},
                              {"raw", raw}};
        if (rounding != 0) argument["rounding"] = show_difference(definition.arguments[a], rounding);
        arguments.emplace_back(std::move(argument));
      }
      Json::Array calls;
      for (const Span call : from.calls) calls.push_back(place(call));
      Json::Object row{{"number", i + 1},
                       {"time", utc(command.time)},
                       {"offset", offset(command.time)},
                       {"ticks", std::to_string(nearest_tick(command.time))},
                       {"unit", station_.units[definition.unit].name},
                       {"name", definition.name},
                       {"command_number", static_cast<int>(definition.number)},
                       {"class", to_word(definition.command_class)},
                       {"arguments", std::move(arguments)},
                       {"block", from.block},
                       {"source", place(from.source)},
                       {"calls", std::move(calls)},
                       {"notes", texts(from.notes)},
                       {"by", from.by_bring ? "bring" : "send"},
                       {"window", window_row[i] ? Json(*window_row[i]) : Json()},
                       {"sent", staged.window.is_valid() ? Json(utc(staged.transmit_begin)) : Json()},
                       {"aboard", staged.window.is_valid() ? Json(utc(staged.aboard)) : Json()},
                       {"sequence_count", static_cast<int>(staged.sequence_count)},
                       {"frame", staged.frame ? Json(static_cast<int>(*staged.frame)) : Json()},
                       {"entry_bytes", staged.entry_bytes},
                       {"expects", expects(i)},
                       {"packet", to_hex(staged.packet)}};
      if (command.immediate) row["immediate"] = true;
      rows.emplace_back(std::move(row));
    }
    return rows;
  }

  [[nodiscard]] Json windows() const {
    Json::Array rows;
    for (const ListedWindow& listed : listed_windows()) {
      const Window& window = station_.windows[listed.window];
      Json batch;
      if (listed.batch) {
        const Batch& found = input_.staging->batches[*listed.batch];
        Json::Array numbers;
        for (const TimedCommandId command : found.commands) numbers.push_back(std::size_t{command.value} + 1);
        Json::Object row{{"file", batch_file(station_, *input_.staging, *listed.batch)},
                         {"begin", utc(found.begin)},
                         {"end", utc(found.end)},
                         {"bytes", found.bytes.size()},
                         {"sha256", sha256(found.bytes)},
                         {"commands", std::move(numbers)}};
        if (found.immediate) row["immediate"] = true;
        if (!found.withdrawals.empty()) {
          Json::Array withdrawals;
          for (const std::uint32_t index : found.withdrawals) withdrawals.push_back(std::size_t{index} + 1);
          row["withdrawals"] = std::move(withdrawals);
        }
        batch = std::move(row);
      }
      std::string name =
          window_name(station_, listed.window, timeline_.begin, timeline_.end, *input_.leap_seconds);
      if (listed.part > 0) name += fmt::format(", part {}", listed.part);
      rows.push_back(Json::Object{{"name", std::move(name)},
                                  {"antenna", station_.antennas[window.antenna].name},
                                  {"opens", utc(window.opens)},
                                  {"closes", utc(window.closes)},
                                  {"from", offset(window.opens)},
                                  {"to", offset(window.closes)},
                                  {"batch", std::move(batch)}});
    }
    return rows;
  }

  // The worst inside the bounds.
  [[nodiscard]] Json guaranteed(const Finding& finding) const {
    if (!finding.has_guaranteed) return nullptr;
    return Json::Object{{"margin", significant(finding.guaranteed_margin, 6)},
                        {"value", significant(finding.guaranteed_value, 6)},
                        {"limit", significant(finding.guaranteed_limit, 6)},
                        {"time", format_utc(finding.guaranteed_time, *input_.leap_seconds, 3)},
                        {"offset", offset(finding.guaranteed_time)}};
  }

  [[nodiscard]] Json checks() const {
    Json::Array rows;
    for (const Finding& finding : input_.results->findings) {
      Json::Array cause;
      for (const TimedCommandId command : finding.cause) {
        if (command.is_valid()) cause.push_back(std::size_t{command.value} + 1);
      }
      const auto number = [&](double value) {
        const double said = finding.dimension == dimensions::angle ? value * 180 / std::numbers::pi : value;
        return finding.has_margin ? Json(significant(said, 6)) : Json();
      };
      rows.push_back(Json::Object{
          {"code", finding.code},
          {"check", to_word(finding.check)},
          {"subject", finding.subject},
          {"verdict", to_word(finding.verdict)},
          {"assurance", to_word(finding.assurance)},
          {"margin", number(finding.margin)},
          {"value", number(finding.value)},
          {"limit", number(finding.limit)},
          {"unit", unit_of(finding)},
          {"guaranteed", guaranteed(finding)},
          {"time", format_utc(finding.time, *input_.leap_seconds, 3)},
          {"offset", offset(finding.time)},
          {"interval", Json::Array{offset(finding.interval_begin), offset(finding.interval_end)}},
          {"cause", std::move(cause)},
          {"detail", finding.detail},
          {"limit_source", place(input_.station->place(finding.limit_origin))},
          {"waiver", finding.waiver > 0 ? Json(static_cast<int>(finding.waiver)) : Json()}});
    }
    return rows;
  }

  // What people will look for after a command.
  [[nodiscard]] Json expects(std::size_t command) const {
    Json::Array rows;
    for (auto [at, end] = expects_.equal_range(command); at != end; ++at) {
      const StatedRule& stated = *at->second;
      rows.push_back(Json::Object{{"condition", stated.text},
                                  {"until", utc(timeline_.commands[command].time + stated.within)},
                                  {"source", place(stated.source)}});
    }
    return rows;
  }

  [[nodiscard]] Json waivers() const {
    Json::Array rows;
    for (std::size_t i = 0; i < load_.waivers.size(); ++i) {
      const StatedWaiver& waiver = load_.waivers[i];
      const bool applies = std::any_of(input_.results->findings.begin(), input_.results->findings.end(),
                                       [i](const Finding& finding) { return finding.waiver == i + 1; });
      rows.push_back(
          Json::Object{{"check", waiver.check},
                       {"subject", waiver.subject},
                       {"accepts", waiver.accepted ? Json(show(*waiver.accepted, waiver.dimension)) : Json()},
                       {"from", utc(waiver.from)},
                       {"to", utc(waiver.to)},
                       {"until", utc(waiver.until)},
                       {"because", waiver.because},
                       {"reference", waiver.reference},
                       {"applies", applies},
                       {"source", place(waiver.source)}});
    }
    return rows;
  }

  [[nodiscard]] Json states() const {
    Json::Array parts;
    for (std::size_t i = 0; i < timeline_.occupations.size(); ++i) {
      Json::Array rows;
      for (const Occupation& row : timeline_.occupations[i]) {
        const auto name = [&](StateId state) {
          return state.is_valid() ? Json(station_.states[state].name) : Json();
        };
        // Cell by cell: the compiler's bounds check goes astray over a list of moved variants.
        Json::Array cells;
        cells.reserve(5);
        cells.emplace_back(offset(row.begin.nominal));
        cells.emplace_back(offset(row.end.nominal));
        cells.push_back(name(row.state));
        cells.push_back(name(row.moving_to));
        cells.push_back(row.cause.is_valid() ? Json(row.cause.value + 1) : Json());
        rows.emplace_back(std::move(cells));
      }
      parts.push_back(
          Json::Object{{"part", full_name(station_, station_.parts.id_at(i))}, {"rows", std::move(rows)}});
    }
    return parts;
  }

  // Entries of earlier loads.
  [[nodiscard]] Json entries(const std::vector<CarriedEntry>& list) const {
    return entries_json(station_, list, *input_.leap_seconds);
  }

  // Entries of earlier loads that this one takes out of the table, and how.
  [[nodiscard]] Json withdrawn() const {
    std::map<std::uint32_t, std::size_t> window_rows;
    const std::vector<ListedWindow> list = listed_windows();
    for (std::size_t row = 0; row < list.size(); ++row) {
      if (!list[row].batch) continue;
      for (const std::uint32_t index : input_.staging->batches[*list[row].batch].withdrawals)
        window_rows[index] = row + 1;
    }
    Json::Array rows;
    for (std::uint32_t i = 0; i < input_.staging->withdrawals.size(); ++i) {
      const StagedWithdrawal& staged = input_.staging->withdrawals[i];
      const bool sent = staged.window.is_valid();
      const bool is_stated = i < load_.withdrawals.size();
      rows.push_back(Json::Object{{"number", std::size_t{i} + 1},
                                  {"entry", entry_json(station_, staged.entry, *input_.leap_seconds)},
                                  {"source", is_stated ? place(load_.withdrawals[i].source) : Json()},
                                  {"window", sent ? Json(window_rows.at(i)) : Json()},
                                  {"sent", sent ? Json(utc(staged.transmit_begin)) : Json()},
                                  {"received", sent ? Json(utc(staged.received)) : Json()},
                                  {"sequence_count", static_cast<int>(staged.sequence_count)},
                                  {"frame", staged.frame ? Json(static_cast<int>(*staged.frame)) : Json()},
                                  {"packet", to_hex(staged.packet)}});
    }
    return rows;
  }

  [[nodiscard]] Json end_state() const {
    EndStateInput end{&station_, input_.leap_seconds, &input_.results->end_state, timeline_.end,
                      *input_.carried};
    std::erase_if(end.table, [&](const CarriedEntry& entry) { return entry.time <= timeline_.end; });
    end.sequence_count = input_.staging->next_sequence_count;
    end.frame_count = input_.staging->next_frame_count;
    return end_state_json(end);
  }

  std::multimap<std::size_t, const StatedRule*> expects_;  // by command
  const PlanInput& input_;
  const SequencedLoad& load_;
  const Station& station_;
  const Timeline& timeline_;
};

}  // namespace

const std::vector<std::string>& cautions() {
  static const std::vector<std::string> list{
      "A clean check is no permission to transmit: the operating authority gives that.",
      "Hazardous and irreversible commands need the operating authority's own procedures and licensed staff.",
      "Limits come from the owner of the hardware; Cairn only holds the load against them.",
      // One string in brackets: a comma missing by mistake would look the same otherwise.
      ("Hot isotope sources (the capsule's surface may be about 1,000 degrees), pyrotechnics and "
       "transmitters "
       "can hurt people near them: nobody commands those while people are at the station without that "
       "authority's clearance."),
      "Radio transmission follows the local licence."};
  return list;
}

std::string batch_file(const Station& station, const Staging& staging, std::size_t batch) {
  const Window& window = station.windows[staging.batches[batch].window];
  return fmt::format("uplink/{:02}-{}.bin", batch + 1, station.antennas[window.antenna].name);
}

std::string window_name(const Station& station, WindowId id, Instant begin, Instant end,
                        const LeapSecondTable& leap_seconds) {
  const Window& window = station.windows[id];
  const std::string& antenna = station.antennas[window.antenna].name;
  // Counted exactly as a mark counts them.
  const auto meets = [&](const Window& other) { return other.closes >= begin && other.opens <= end; };
  if (!meets(window)) {
    // To the minute: 2031-05-01T04:00Z.
    return fmt::format("{} {}Z", antenna, format_utc(window.opens, leap_seconds).substr(0, 16));
  }
  std::size_t number = 0;
  for (std::size_t i = 0; i < station.windows.size(); ++i) {
    const Window& other = station.windows[station.windows.id_at(i)];
    if (meets(other) && other.antenna == window.antenna && other.opens <= window.opens) ++number;
  }
  return fmt::format("{} {}", antenna, number);
}

std::string assemble_plan(const PlanInput& input) { return Assembly(input).text(); }

}  // namespace cairn
