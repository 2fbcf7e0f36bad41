// From the plan's JSON, member by member.

#include "compiler/review/reviewed_plan.h"

#include <algorithm>

#include "compiler/plan/digest.h"
#include "compiler/plan/read_json.h"
#include "compiler/review/json_view.h"
#include "constraints/quantity/leap_seconds.h"

namespace cairn {

namespace {

Place read_place(const JsonView& place) {
  if (place.is_null()) return {};
  return {place.at("file").text(), place.at("line").count()};
}

Instant read_instant(const JsonView& time) {
  const auto instant = parse_utc(time.text(), published_leap_seconds());
  if (!instant) {
    time.fail("expected an instant");
    return {};
  }
  return *instant;
}

std::string text_or_number(const JsonView& value) {
  return value.json().number() != nullptr ? ecmascript_number(value.number()) : value.text();
}

std::string text_or_empty(const JsonView& value) { return value.is_null() ? std::string() : value.text(); }

ReviewedCommand read_command(const JsonView& row, const std::vector<ReviewedWindow>& windows) {
  ReviewedCommand command;
  command.number = row.at("number").count();
  command.time = row.at("time").text();
  command.instant = read_instant(row.at("time"));
  command.command = row.at("unit").text() + "." + row.at("name").text();
  command.command_number = row.at("command_number").count();
  command.command_class = row.at("class").text();
  row.at("arguments").each([&](const JsonView& argument) {
    const std::string gap = command.arguments.empty() ? "" : " ";
    command.arguments += gap + argument.at("name").text() + "=" + argument.at("value").text();
    command.raw += gap + text_or_number(argument.at("raw"));
  });
  command.block = row.at("block").text();
  command.source = read_place(row.at("source"));
  row.at("calls").each([&](const JsonView& call) { command.calls.push_back(read_place(call)); });
  row.at("notes").each([&](const JsonView& note) { command.notes.push_back(note.text()); });
  command.by = row.at("by").text();
  if (const JsonView now = row.maybe("immediate"); !now.is_null()) command.immediate = now.flag();
  const JsonView window = row.at("window");
  if (!window.is_null()) {
    const std::size_t index = window.count();
    if (index < 1 || index > windows.size()) {
      window.fail("there is no such window");
    } else {
      command.window = windows[index - 1].antenna + " " + windows[index - 1].opens;
    }
  }
  command.sequence_count = row.at("sequence_count").count();
  command.entry_bytes = row.at("entry_bytes").count();
  return command;
}

ReviewedWindow read_window(const JsonView& row) {
  ReviewedWindow window;
  window.name = row.at("name").text();
  window.antenna = row.at("antenna").text();
  window.opens = row.at("opens").text();
  window.closes = row.at("closes").text();
  const JsonView batch = row.at("batch");
  if (batch.is_null()) return window;
  window.file = batch.at("file").text();
  window.begin = batch.at("begin").text();
  window.sha256 = batch.at("sha256").text();
  window.bytes = batch.at("bytes").count();
  batch.at("commands").each([&](const JsonView& number) { window.commands.push_back(number.count()); });
  return window;
}

ReviewedCheck read_check(const JsonView& row) {
  ReviewedCheck check;
  check.code = row.at("code").text();
  check.subject = row.at("subject").text();
  check.detail = row.at("detail").text();
  check.verdict = row.at("verdict").text();
  check.assurance = row.at("assurance").text();
  check.margin = row.at("margin").number_or_null();
  check.value = row.at("value").number_or_null();
  check.limit = row.at("limit").number_or_null();
  check.unit = row.at("unit").text();
  check.time = row.at("time").text();
  check.limit_source = read_place(row.at("limit_source"));
  return check;
}

ReviewedWaiver read_waiver(const JsonView& row) {
  ReviewedWaiver waiver;
  waiver.of = row.at("check").text();
  if (const std::string subject = row.at("subject").text(); !subject.empty()) waiver.of += " of " + subject;
  const JsonView accepts = row.at("accepts");
  if (!accepts.is_null()) waiver.says = "to " + accepts.text() + " ";
  waiver.says += "from " + row.at("from").text() + " to " + row.at("to").text() + " until " +
                 row.at("until").text() + " because \"" + row.at("because").text() + "\" reference \"" +
                 row.at("reference").text() + "\", " +
                 (row.at("applies").flag() ? "accepts a failure" : "accepts nothing");
  waiver.source = read_place(row.at("source"));
  return waiver;
}

void read_end_state(const JsonView& end, ReviewedPlan& plan) {
  end.at("parts").each_pair([&](const std::string& part, const JsonView& state) {
    plan.end_state["part " + part] = state.is_null() ? "unknown" : state.text();
  });
  end.at("temperatures").each_pair([&](const std::string& node, const JsonView& kelvin) {
    plan.end_temperatures[node] = kelvin.number();
  });
  end.at("heaters_on").each([&](const JsonView& name) { plan.end_state["heater " + name.text()] = "on"; });
  end.at("once_spent").each([&](const JsonView& name) {
    plan.end_state["one-shot " + name.text()] = "spent";
  });
  end.at("table").each([&](const JsonView& entry) {
    plan.end_state["table entry " + entry.at("command").text() + " at " + entry.at("time").text()] =
        "waiting";
  });
  plan.end_state["sequence count"] = ecmascript_number(end.at("sequence_count").number());
  const JsonView frame = end.maybe("frame_count");
  if (!frame.is_null()) plan.end_state["frame count"] = ecmascript_number(frame.number());
}

// A list of numbers: [offset, ...].
std::vector<double> read_numbers(const JsonView& list) {
  std::vector<double> numbers;
  list.each([&](const JsonView& number) { numbers.push_back(number.number()); });
  return numbers;
}

void read_courses(const JsonView& whole, ReviewedPlan& plan) {
  const JsonView table = whole.at("table");
  plan.entries_cap = table.at("entries_cap").number();
  plan.bytes_cap = table.at("bytes_cap").number();
  table.at("points").each([&](const JsonView& point) {
    const std::vector<double> numbers = read_numbers(point);
    if (numbers.size() < 3) return point.fail("expected three numbers");
    if (numbers[1] > plan.peak.entries) {
      plan.peak.entries = numbers[1];
      plan.peak.entries_offset = numbers[0];
    }
    plan.peak.bytes = std::max(plan.peak.bytes, numbers[2]);
  });
  const JsonView power = whole.at("power");
  plan.floor = power.at("floor").number_or_null();
  power.at("points").each([&](const JsonView& point) {
    const std::vector<double> numbers = read_numbers(point);
    if (numbers.size() < 4) return point.fail("expected four numbers");
    plan.least_reserve = std::min(plan.least_reserve.value_or(numbers[3]), numbers[3]);
  });
}

}  // namespace

std::expected<ReviewedPlan, std::string> read_reviewed_plan(std::string_view json) {
  const auto parsed = read_json(json);
  if (!parsed) return std::unexpected(parsed.error());
  std::string error;
  const JsonView whole(*parsed, "", error);
  if (whole.at("format").text() != "cairn-plan") whole.fail("this is no plan of Cairn's");
  if (whole.at("version").number() != 1) whole.at("version").fail("only version 1 is known");
  if (!error.empty()) return std::unexpected(error);
  ReviewedPlan plan;
  plan.digest = sha256(json);
  plan.tool = whole.at("tool").text();
  const JsonView load = whole.at("load");
  plan.load = load.at("name").text();
  plan.station = load.at("station").text();
  plan.begin = load.at("begin").text();
  plan.end = load.at("end").text();
  plan.previous_plan = text_or_empty(load.at("previous_plan"));
  plan.verdict = whole.at("verdict").text();
  whole.at("inputs").each([&](const JsonView& input) {
    plan.inputs.push_back({input.at("name").text(), input.at("sha256").text()});
  });
  whole.at("marks").each(
      [&](const JsonView& mark) { plan.marks[mark.at("name").text()] = mark.at("time").text(); });
  whole.at("windows").each([&](const JsonView& row) { plan.windows.push_back(read_window(row)); });
  whole.at("commands").each([&](const JsonView& row) {
    plan.commands.push_back(read_command(row, plan.windows));
  });
  whole.at("checks").each([&](const JsonView& row) { plan.checks.push_back(read_check(row)); });
  whole.at("waivers").each([&](const JsonView& row) { plan.waivers.push_back(read_waiver(row)); });
  if (const JsonView withdrawn = whole.maybe("withdrawn"); !withdrawn.is_null()) {
    withdrawn.each([&](const JsonView& row) {
      const JsonView entry = row.at("entry");
      std::string name = "withdrawn " + entry.at("command").text();
      entry.at("raw").each([&](const JsonView& raw) { name += " " + text_or_number(raw); });
      plan.withdrawn[name + " at " + entry.at("time").text()] =
          row.at("window").is_null() ? "in no window" : "yes";
    });
  }
  plan.backout_sha256 = whole.at("backout").at("sha256").text();
  read_end_state(whole.at("end_state"), plan);
  read_courses(whole, plan);
  if (!error.empty()) return std::unexpected(error);
  for (std::size_t i = 0; i < plan.commands.size(); ++i) {
    if (plan.commands[i].number != i + 1) return std::unexpected("commands: numbers must rise by one from 1");
  }
  return plan;
}

}  // namespace cairn
