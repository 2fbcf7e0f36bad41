// The one door to the JSON reader; every member is checked for its kind, and named when it is wrong.

#include "compiler/plan/read_plan.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <nlohmann/json.hpp>
#include <set>

#include "compiler/plan/end_state.h"

namespace cairn {

namespace {

using nlohmann::json;

// Thrown and caught inside this file only.
struct Wrong {
  std::string sentence;
};

constexpr int deepest = 64;
constexpr std::size_t largest = std::size_t{512} << 20;

json parse(std::string_view text) {
  if (text.size() > largest) throw Wrong{"the file is larger than 512 MiB"};
  // A depth guard before the parser: brackets inside texts do not count.
  int depth = 0;
  bool quoted = false;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const char c = text[i];
    if (quoted) {
      if (c == '\\') ++i;
      quoted = c != '"';
    } else if (c == '"') {
      quoted = true;
    } else if (c == '[' || c == '{') {
      if (++depth > deepest) throw Wrong{fmt::format("nested deeper than {} levels", deepest)};
    } else if (c == ']' || c == '}') {
      --depth;
    }
  }
  // What is said twice would be read one way here and another way elsewhere.
  std::vector<std::set<std::string>> keys;
  const auto once = [&keys](int, json::parse_event_t event, json& value) {
    if (event == json::parse_event_t::object_start) keys.emplace_back();
    if (event == json::parse_event_t::object_end) keys.pop_back();
    if (event == json::parse_event_t::key && !keys.back().insert(value.get<std::string>()).second) {
      throw Wrong{fmt::format("`{}` is given twice in one object", value.get<std::string>())};
    }
    return true;
  };
  try {
    return json::parse(text, once);
  } catch (const json::parse_error& error) {
    throw Wrong{fmt::format("not JSON: something is wrong at byte {}", error.byte)};
  }
}

// A value with the path that led to it.
class Member {
 public:
  Member(const json& value, std::string path) : value_(&value), path_(std::move(path)) {}

  [[nodiscard]] Member at(std::string_view key) const {
    expect(value_->is_object(), "an object");
    const auto found = value_->find(std::string(key));
    if (found == value_->end()) throw Wrong{fmt::format("{}: missing", inside(key))};
    return {*found, inside(key)};
  }
  [[nodiscard]] bool has(std::string_view key) const {
    return value_->is_object() && value_->contains(std::string(key));
  }
  [[nodiscard]] std::string text() const {
    expect(value_->is_string(), "text");
    return value_->get<std::string>();
  }
  [[nodiscard]] double number() const {
    expect(value_->is_number(), "a number");
    return value_->get<double>();
  }
  [[nodiscard]] std::uint64_t count(std::uint64_t greatest = std::uint64_t{1} << 53U) const {
    const double value = number();
    if (!(value >= 0) || value > static_cast<double>(greatest) || value != std::floor(value)) {
      throw Wrong{fmt::format("{}: expected a whole number from 0 to {}, found {}", path_, greatest, value)};
    }
    return static_cast<std::uint64_t>(value);
  }
  [[nodiscard]] bool truth() const {
    expect(value_->is_boolean(), "true or false");
    return value_->get<bool>();
  }
  [[nodiscard]] bool is_null() const { return value_->is_null(); }
  [[nodiscard]] bool is_number() const { return value_->is_number(); }
  [[nodiscard]] std::optional<double> number_or_null() const {
    return is_null() ? std::nullopt : std::optional(number());
  }
  template <class Take>
  void each(Take take) const {
    expect(value_->is_array(), "a list");
    for (std::size_t i = 0; i < value_->size(); ++i)
      take(Member((*value_)[i], fmt::format("{}[{}]", path_, i)));
  }
  template <class Take>
  void each_pair(Take take) const {
    expect(value_->is_object(), "an object");
    for (const auto& [key, value] : value_->items()) take(key, Member(value, inside(key)));
  }
  [[noreturn]] void wrong(std::string_view sentence) const {
    throw Wrong{fmt::format("{}: {}", path_, sentence)};
  }

 private:
  [[nodiscard]] std::string inside(std::string_view key) const {
    return path_.empty() ? std::string(key) : fmt::format("{}.{}", path_, key);
  }
  void expect(bool good, std::string_view what) const {
    if (!good) {
      throw Wrong{fmt::format("{}: expected {}, found {}", path_.empty() ? "the plan" : path_, what,
                              value_->is_null() ? "nothing" : value_->type_name())};
    }
  }
  const json* value_;
  std::string path_;
};

void check_version(const Member& plan) {
  if (plan.at("version").number() != 1) plan.at("version").wrong("only version 1 is known");
}

void check_format(const Member& plan) {
  const Member format = plan.at("format");
  if (format.text() != "cairn-plan") format.wrong("this is no plan of Cairn's");
  check_version(plan);
}

std::vector<std::string> texts(const Member& list) {
  std::vector<std::string> result;
  list.each([&](const Member& text) { result.push_back(text.text()); });
  return result;
}

std::vector<std::uint64_t> counts(const Member& list) {
  std::vector<std::uint64_t> result;
  list.each([&](const Member& number) { result.push_back(number.count()); });
  return result;
}

// Of a command, or of a batch. Only those that are have the member.
bool is_immediate(const Member& row) { return row.has("immediate") && row.at("immediate").truth(); }

PlanWithdrawal read_withdrawal(const Member& row, std::size_t windows) {
  PlanWithdrawal withdrawal;
  withdrawal.number = row.at("number").count();
  withdrawal.command = row.at("entry").at("command").text();
  withdrawal.time = row.at("entry").at("time").text();
  withdrawal.entry_count = static_cast<std::uint16_t>(row.at("entry").at("sequence_count").count(0x3FFF));
  withdrawal.request_count = static_cast<std::uint16_t>(row.at("sequence_count").count(0x3FFF));
  const Member window = row.at("window");
  if (window.is_null()) return withdrawal;
  withdrawal.window = window.count();
  if (*withdrawal.window < 1 || *withdrawal.window > windows) window.wrong("there is no such window");
  withdrawal.received = row.at("received").text();
  return withdrawal;
}

PlanCommand read_command(const Member& row, std::size_t windows) {
  PlanCommand command;
  command.number = row.at("number").count();
  command.time = row.at("time").text();
  command.unit = row.at("unit").text();
  command.name = row.at("name").text();
  command.command_number = row.at("command_number").count();
  command.command_class = row.at("class").text();
  row.at("arguments").each([&](const Member& argument) {
    command.arguments.push_back({argument.at("name").text(), argument.at("value").text(),
                                 argument.has("rounding") ? argument.at("rounding").text() : std::string()});
  });
  command.block = row.at("block").text();
  const Member source = row.at("source");
  if (!source.is_null())
    command.source = fmt::format("{}:{}", source.at("file").text(), source.at("line").count());
  command.notes = texts(row.at("notes"));
  command.by = row.at("by").text();
  command.immediate = is_immediate(row);
  const Member window = row.at("window");
  if (!window.is_null()) {
    command.window = window.count();
    if (*command.window < 1 || *command.window > windows) window.wrong("there is no window of this number");
  }
  const Member aboard = row.at("aboard");
  if (!aboard.is_null()) command.aboard = aboard.text();
  return command;
}

PlanDocument read(std::string_view text) {
  const json parsed = parse(text);
  const Member plan(parsed, "");
  check_format(plan);
  PlanDocument document;
  const Member load = plan.at("load");
  document.load = load.at("name").text();
  document.station = load.at("station").text();
  document.title = load.at("title").text();
  document.begin = load.at("begin").text();
  document.end = load.at("end").text();
  document.notes = texts(load.at("notes"));
  document.verdict = plan.at("verdict").text();
  const Member previous = load.at("previous_plan");
  if (!previous.is_null()) document.previous = previous.text();
  if (load.has("previous_state")) document.previous_state = load.at("previous_state").text();
  const Member end = plan.at("end_state");
  end.at("table").each([&](const Member&) { ++document.table_entries; });
  document.next_sequence_count = static_cast<std::uint32_t>(end.at("sequence_count").count(0x3FFF));
  document.cautions = texts(plan.at("cautions"));
  plan.at("windows").each([&](const Member& row) {
    PlanWindow window;
    window.name = row.at("name").text();
    window.antenna = row.at("antenna").text();
    window.opens = row.at("opens").text();
    window.closes = row.at("closes").text();
    const Member batch = row.at("batch");
    if (!batch.is_null()) {
      window.file = batch.at("file").text();
      window.begin = batch.at("begin").text();
      window.end = batch.at("end").text();
      window.bytes = batch.at("bytes").count();
      window.immediate = is_immediate(batch);
      window.commands = counts(batch.at("commands"));
      if (batch.has("withdrawals")) window.withdrawals = counts(batch.at("withdrawals"));
    }
    document.windows.push_back(std::move(window));
  });
  if (plan.has("withdrawn")) {
    plan.at("withdrawn").each([&](const Member& row) {
      document.withdrawn.push_back(read_withdrawal(row, document.windows.size()));
    });
  }
  plan.at("commands").each([&](const Member& row) {
    document.commands.push_back(read_command(row, document.windows.size()));
  });
  plan.at("checks").each([&](const Member& row) {
    PlanCheck check;
    check.code = row.at("code").text();
    check.subject = row.at("subject").text();
    check.verdict = row.at("verdict").text();
    check.assurance = row.at("assurance").text();
    check.margin = row.at("margin").number_or_null();
    check.value = row.at("value").number_or_null();
    check.limit = row.at("limit").number_or_null();
    check.unit = row.at("unit").text();
    if (const Member worst = row.at("guaranteed"); !worst.is_null()) {
      check.guaranteed_margin = worst.at("margin").number();
    }
    check.time = row.at("time").text();
    check.cause = counts(row.at("cause"));
    check.waived = row.at("waiver").number_or_null().has_value();
    check.detail = row.at("detail").text();
    document.checks.push_back(std::move(check));
  });
  return document;
}

Instant read_instant(const Member& member, const LeapSecondTable& leap_seconds) {
  const auto time = parse_utc(member.text(), leap_seconds);
  if (!time) member.wrong("expected an instant such as 2031-05-14T06:00:00Z");
  return *time;
}

// "camera.cover" as unit and the rest.
std::pair<std::string, std::string> split_name(const std::string& name) {
  const std::size_t dot = name.find('.');
  return dot == std::string::npos ? std::pair(name, std::string())
                                  : std::pair(name.substr(0, dot), name.substr(dot + 1));
}

CommandId read_command_name(const Member& member, const Station& station) {
  const auto [unit, name] = split_name(member.text());
  const UnitId found = find_unit(station, unit);
  const CommandId command = found.is_valid() ? find_command(station, found, name) : CommandId{};
  if (!command.is_valid()) member.wrong(fmt::format("the station has no command `{}`", member.text()));
  return command;
}

// A raw value: text, or a number where it is small enough to be exact.
ArgumentValue read_raw(const Member& member, const ArgumentDefinition& definition) {
  std::uint64_t value = 0;
  if (member.is_number()) {
    value = member.count();
  } else {
    const std::string text = member.text();
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (error != std::errc{} || end != text.data() + text.size())
      member.wrong("expected a whole number as text");
  }
  const int width = definition.encoding.width;
  if (width < 64 && value >> static_cast<unsigned>(width) != 0) {
    member.wrong(fmt::format("the argument has {} bits", width));
  }
  return {decode_argument(definition, value), value};
}

std::uint16_t read_sequence_count(const Member& member) {
  return static_cast<std::uint16_t>(member.count(0x3FFF));
}

CarriedEntry read_entry(const Member& row, const Station& station, const LeapSecondTable& leap_seconds) {
  CarriedEntry entry;
  entry.command = read_command_name(row.at("command"), station);
  entry.time = read_instant(row.at("time"), leap_seconds);
  entry.bytes = static_cast<std::uint32_t>(row.at("bytes").count(0xFFFFFFFFU));
  entry.sequence_count = read_sequence_count(row.at("sequence_count"));
  const std::vector<ArgumentDefinition>& definitions = station.commands[entry.command].arguments;
  const Member raws = row.at("raw");
  raws.each([&](const Member& raw) {
    if (entry.arguments.size() == definitions.size()) raw.wrong("the command has fewer arguments");
    entry.arguments.push_back(read_raw(raw, definitions[entry.arguments.size()]));
  });
  if (entry.arguments.size() != definitions.size()) raws.wrong("the command has more arguments");
  return entry;
}

// A command of the plan, as the entry that it is in the table of the station from its uplink on.
CarriedEntry read_loaded(const Member& row, const Station& station, const LeapSecondTable& leap_seconds) {
  CarriedEntry entry;
  const UnitId unit = find_unit(station, row.at("unit").text());
  entry.command = unit.is_valid() ? find_command(station, unit, row.at("name").text()) : CommandId{};
  if (!entry.command.is_valid()) {
    row.at("name").wrong(
        fmt::format("the station has no command `{}.{}`", row.at("unit").text(), row.at("name").text()));
  }
  entry.time = read_instant(row.at("time"), leap_seconds);
  entry.bytes = static_cast<std::uint32_t>(row.at("entry_bytes").count(0xFFFFFFFFU));
  entry.sequence_count = read_sequence_count(row.at("sequence_count"));
  const std::vector<ArgumentDefinition>& definitions = station.commands[entry.command].arguments;
  const Member arguments = row.at("arguments");
  arguments.each([&](const Member& argument) {
    const std::size_t index = entry.arguments.size();
    if (index == definitions.size() || argument.at("name").text() != definitions[index].name) {
      argument.at("name").wrong(
          fmt::format("the command has no argument `{}` here", argument.at("name").text()));
    }
    entry.arguments.push_back(read_raw(argument.at("raw"), definitions[index]));
  });
  if (entry.arguments.size() != definitions.size()) arguments.wrong("the command has more arguments");
  return entry;
}

std::string read_digest(const Member& member) {
  std::string digest = member.text();
  constexpr std::size_t digits = 64;
  if (digest.size() != digits || digest.find_first_not_of("0123456789abcdef") != std::string::npos)
    member.wrong("expected the SHA-256 of a plan, in 64 hexadecimal digits");
  return digest;
}

void check_station(const Member& plan, const Station& station, std::string_view other = "load") {
  const Member of_station = plan.at("load").at("station");
  if (of_station.text() == station.name) return;
  of_station.wrong(
      fmt::format("this plan is for `{}`, the {} for `{}`", of_station.text(), other, station.name));
}

// Where everything stands at one instant.
StartState read_state(const Member& end, const Station& station, std::vector<std::string>& gaps) {
  StartState start = initial_state(station);
  start.in_balance = false;
  // What the plan does not name was not in the station file then: nothing is known of it.
  std::vector<bool> part_given(station.parts.size(), false);
  std::vector<bool> node_given(station.thermal.nodes.size(), false);
  std::fill(start.parts.begin(), start.parts.end(), StateId{});
  end.at("parts").each_pair([&](const std::string& key, const Member& state) {
    const auto [unit, part] = split_name(key);
    const UnitId found = find_unit(station, unit);
    const PartId id = found.is_valid() ? find_part(station, found, part) : PartId{};
    if (!id.is_valid()) state.wrong("the station has no such part");
    StateId value;
    if (!state.is_null()) {
      value = find_state(station, id, state.text());
      if (!value.is_valid()) state.wrong(fmt::format("`{}` has no state `{}`", key, state.text()));
    }
    start.parts[id.value] = value;
    part_given[id.value] = true;
  });
  end.at("temperatures").each_pair([&](const std::string& key, const Member& kelvin) {
    const NodeId node = find_node(station, key);
    if (!node.is_valid()) kelvin.wrong("the station has no such node");
    if (!(kelvin.number() > 0) || kelvin.number() > 5000) kelvin.wrong("no temperature in kelvin");
    start.temperatures[node.value] = kelvin.number();
    node_given[node.value] = true;
  });
  for (std::size_t i = 0; i < part_given.size(); ++i) {
    if (!part_given[i]) {
      gaps.push_back(fmt::format("the state of `{}` is missing and counts as unknown",
                                 full_name(station, station.parts.id_at(i))));
    }
  }
  for (std::size_t i = 0; i < node_given.size(); ++i) {
    if (!node_given[i]) {
      gaps.push_back(fmt::format("the temperature of `{}` is missing and is taken from the station file",
                                 station.thermal.nodes[station.thermal.nodes.id_at(i)].name));
    }
  }
  // What the bounds were then; a node without them is as uncertain as the station file says.
  end.at("temperature_bounds").each_pair([&](const std::string& key, const Member& bounds) {
    const NodeId node = find_node(station, key);
    if (!node.is_valid()) bounds.wrong("the station has no such node");
    if (!node_given[node.value]) return;
    std::vector<double> values;
    bounds.each([&](const Member& kelvin) { values.push_back(kelvin.number()); });
    const double nominal = start.temperatures[node.value];
    if (values.size() != 2 ||
        !(values[0] > 0 && values[0] <= nominal && nominal <= values[1] && values[1] <= 1e4)) {
      bounds.wrong("expected two temperatures in kelvin, the nominal one between them");
    }
    start.lowest_temperatures[node.value] = values[0];
    start.highest_temperatures[node.value] = values[1];
  });
  if (end.has("charge") && !end.at("charge").is_null()) {
    const Member charge = end.at("charge");
    std::vector<double> values;
    charge.each([&](const Member& joules) { values.push_back(joules.number()); });
    if (values.size() != 2 || !(values[1] >= 0 && values[1] <= values[0] && values[0] <= 1e12)) {
      charge.wrong("expected the charge in joules, nominal and at least");
    }
    if (station.power.storage) {
      // A plan doesn't tell how much it may hold at most.
      start.charge = HeldCharge{values[0], values[1], station.power.storage->capacity.high};
    }
  } else if (station.power.storage) {
    gaps.push_back("the charge of the storage is missing and is taken from the station file");
  }
  const auto read_heaters = [&](const Member& names, std::vector<bool>& marks) {
    marks.assign(station.thermal.heaters.size(), false);
    names.each([&](const Member& name) {
      bool found = false;
      for (std::size_t i = 0; i < station.thermal.heaters.size(); ++i) {
        if (station.thermal.heaters[station.thermal.heaters.id_at(i)].name != name.text()) continue;
        marks[i] = true;
        found = true;
      }
      if (!found) name.wrong("the station has no such heater");
    });
  };
  read_heaters(end.at("heaters_on"), start.heaters_on);
  read_heaters(end.at("heaters_unsure"), start.heaters_unsure);
  end.at("once_spent").each([&](const Member& name) {
    start.once_spent.push_back(read_command_name(name, station));
  });
  return start;
}

std::optional<Instant> read_last_uplink(const Member& plan, const LeapSecondTable& leap_seconds) {
  std::optional<Instant> last;
  plan.at("windows").each([&](const Member& row) {
    if (row.at("batch").is_null()) return;
    const Instant sent = read_instant(row.at("batch").at("end"), leap_seconds);
    last = std::max(last.value_or(sent), sent);
  });
  return last;
}

PlanEndState read_end(std::string_view text, const Station& station, const LeapSecondTable& leap_seconds) {
  const json parsed = parse(text);
  const Member plan(parsed, "");
  const bool is_reported = plan.at("format").text() == state_format;
  if (is_reported) {
    check_version(plan);
  } else {
    check_format(plan);
  }
  check_station(plan, station);
  const Member end = plan.at("end_state");
  PlanEndState result;
  result.time = read_instant(end.at("time"), leap_seconds);
  result.start = read_state(end, station, result.gaps);
  // The next load may go up while this one still lies in the table: all that was ever loaded counts, and
  // whoever stages leaves out what has run by then. `end_state.table` is a part of `carried`.
  plan.at("carried").each(
      [&](const Member& row) { result.carried.push_back(read_entry(row, station, leap_seconds)); });
  if (is_reported) {
    result.plan_sha256 = read_digest(plan.at("plan_sha256"));
    const Member uplink_end = plan.at("uplink_end");
    if (!uplink_end.is_null()) result.uplink_end = read_instant(uplink_end, leap_seconds);
  } else {
    plan.at("commands").each([&](const Member& row) {
      if (row.at("window").is_null() || is_immediate(row)) return;  // never in the table
      result.carried.push_back(read_loaded(row, station, leap_seconds));
    });
    result.uplink_end = read_last_uplink(plan, leap_seconds);
  }
  result.sequence_count = read_sequence_count(end.at("sequence_count"));
  if (end.has("frame_count")) {
    result.frame_count = static_cast<std::uint8_t>(end.at("frame_count").count(0xFF));
  } else if (station.link.frames && station.link.frames->in_sequence) {
    result.gaps.emplace_back("the number of the next frame is missing and counts as 0");
  }
  return result;
}

EarlierLoad read_earlier(std::string_view text, const Station& station, const LeapSecondTable& leap_seconds) {
  const json parsed = parse(text);
  const Member plan(parsed, "");
  check_format(plan);
  check_station(plan, station);
  EarlierLoad result;
  result.begin = read_instant(plan.at("load").at("begin"), leap_seconds);
  result.end = read_instant(plan.at("load").at("end"), leap_seconds);
  std::vector<std::string> gaps;  // said of the end state already
  result.start = read_state(plan.at("start_state"), station, gaps);
  plan.at("carried").each(
      [&](const Member& row) { result.carried.push_back(read_entry(row, station, leap_seconds)); });
  plan.at("commands").each([&](const Member& row) {
    result.commands.push_back(read_loaded(row, station, leap_seconds));
    result.is_immediate.push_back(is_immediate(row));
  });
  plan.at("marks").each([&](const Member& row) {
    result.marks.emplace_back(row.at("name").text(), read_instant(row.at("time"), leap_seconds));
  });
  plan.at("checks").each([&](const Member& row) {
    const std::string verdict = row.at("verdict").text();
    if (verdict == "holds") return;
    result.failing.push_back({row.at("code").text(), row.at("subject").text(), verdict});
  });
  result.last_uplink = read_last_uplink(plan, leap_seconds);
  return result;
}

PlanEntries read_all_entries(std::string_view text, const Station& station,
                             const LeapSecondTable& leap_seconds) {
  const json parsed = parse(text);
  const Member plan(parsed, "");
  check_format(plan);
  check_station(plan, station, "station file");
  const Member load = plan.at("load");
  PlanEntries result;
  result.begin = read_instant(load.at("begin"), leap_seconds);
  result.end = read_instant(load.at("end"), leap_seconds);
  plan.at("commands").each([&](const Member& row) {
    result.commands.push_back(read_loaded(row, station, leap_seconds));
    const bool has_window = !row.at("window").is_null();
    result.has_window.push_back(has_window);
    result.is_immediate.push_back(is_immediate(row));
    result.aboard.push_back(has_window ? read_instant(row.at("aboard"), leap_seconds) : Instant{});
  });
  plan.at("carried").each(
      [&](const Member& row) { result.carried.push_back(read_entry(row, station, leap_seconds)); });
  return result;
}

// What is thrown behind this door comes out as a sentence.
template <class Reading>
auto caught(const Reading& reading) -> std::expected<decltype(reading()), std::string> {
  try {
    return reading();
  } catch (const Wrong& wrong) {
    return std::unexpected(wrong.sentence);
  } catch (const json::exception&) {
    return std::unexpected(std::string("not a plan: a value is of a wrong kind"));
  }
}

}  // namespace

std::expected<PlanDocument, std::string> read_plan(std::string_view text) {
  return caught([&] { return read(text); });
}

std::expected<PlanEndState, std::string> read_end_state(std::string_view text, const Station& station,
                                                        const LeapSecondTable& leap_seconds) {
  return caught([&] { return read_end(text, station, leap_seconds); });
}

std::expected<EarlierLoad, std::string> read_earlier_load(std::string_view text, const Station& station,
                                                          const LeapSecondTable& leap_seconds) {
  return caught([&] { return read_earlier(text, station, leap_seconds); });
}

std::expected<PlanEntries, std::string> read_entries(std::string_view text, const Station& station,
                                                     const LeapSecondTable& leap_seconds) {
  return caught([&] { return read_all_entries(text, station, leap_seconds); });
}

}  // namespace cairn
