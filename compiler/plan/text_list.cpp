// Columns as wide as their widest cell; nothing is cut, since what is cut is not reviewed.

#include "compiler/plan/text_list.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "constraints/quantity/instant.h"

namespace cairn {

namespace {

// Characters, not octets: names may hold accents.
std::size_t width_of(std::string_view text) {
  return static_cast<std::size_t>(std::count_if(
      text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; }));
}

using Row = std::vector<std::string>;

std::string columns(const std::vector<Row>& rows, std::string_view right_aligned) {
  std::vector<std::size_t> widths;
  for (const Row& row : rows) {
    widths.resize(std::max(widths.size(), row.size()));
    for (std::size_t i = 0; i < row.size(); ++i) widths[i] = std::max(widths[i], width_of(row[i]));
  }
  std::string out;
  for (const Row& row : rows) {
    std::string line;
    for (std::size_t i = 0; i < row.size(); ++i) {
      const std::string padding(widths[i] - width_of(row[i]), ' ');
      const bool right = i < right_aligned.size() && right_aligned[i] == 'r';
      line += (i > 0 ? "  " : "") + (right ? padding + row[i] : row[i] + padding);
    }
    while (!line.empty() && line.back() == ' ') line.pop_back();
    out += line + '\n';
  }
  return out;
}

std::string number_with_unit(std::optional<double> value, const std::string& unit, bool sign) {
  if (!value) return "";
  if (unit == "s") {
    // Long ones to the minute, short ones to the millisecond: as exact as anyone acts on.
    const double step = std::abs(*value) > 86'400 ? 60 : std::abs(*value) > 60 ? 1 : 0.001;
    const auto duration = duration_from_seconds(std::round(*value / step) * step);
    if (duration) return (sign && *value > 0 ? "+" : "") + to_text(*duration);
  }
  std::string text = fmt::format("{:.5g}", *value);
  if (sign && *value > 0) text = "+" + text;
  return unit.empty() ? text : text + " " + unit;
}

// A time as people read it: whole seconds; the plan itself has the rest.
std::string whole_seconds(const std::string& utc) {
  const std::size_t dot = utc.find('.');
  return dot == std::string::npos ? utc : utc.substr(0, dot) + "Z";
}

// Rising numbers: "1 to 4, 7".
std::string ranges(const std::vector<std::uint64_t>& numbers) {
  std::string out;
  for (std::size_t i = 0; i < numbers.size();) {
    std::size_t last = i;
    while (last + 1 < numbers.size() && numbers[last + 1] == numbers[last] + 1) ++last;
    if (i > 0) out += ", ";
    out += last == i ? std::to_string(numbers[i]) : fmt::format("{} to {}", numbers[i], numbers[last]);
    i = last + 1;
  }
  return out;
}

// The limits of heat are readings, shown in the degrees that people read.
std::string reading(std::optional<double> value, const PlanCheck& check) {
  if (value && check.unit == "K") return fmt::format("{:.1f} degC", *value - 273.15);
  return number_with_unit(value, check.unit, false);
}

}  // namespace

std::string text_list(const PlanDocument& plan) {
  std::string out = fmt::format("load {} for {} ({})\n{} to {}\nverdict: {}\n", plan.load, plan.station,
                                plan.title, plan.begin, plan.end, plan.verdict);
  for (const std::string& note : plan.notes) out += fmt::format("note: {}\n", note);
  out += '\n';
  for (const std::string& caution : plan.cautions) out += fmt::format("! {}\n", caution);
  out += '\n';
  std::vector<Row> rows{{"no.", "executes (UTC)", "number", "command", "class", "window", "block", "source"}};
  for (const PlanCommand& command : plan.commands) {
    std::string call = (command.immediate ? "now " : "") + command.unit + "." + command.name;
    for (const PlanArgument& argument : command.arguments) {
      call += fmt::format(" {}={}", argument.name, argument.value);
      if (!argument.rounding.empty()) call += fmt::format(" (rounded by {})", argument.rounding);
    }
    rows.push_back({std::to_string(command.number), command.time, std::to_string(command.command_number),
                    call, command.command_class,
                    command.window ? plan.windows[*command.window - 1].name : std::string("none"),
                    command.block, command.source});
  }
  out += columns(rows, "r.r");
  bool any = false;
  for (const PlanWindow& window : plan.windows) {
    if (window.file.empty()) continue;
    if (!any) out += '\n';
    any = true;
    const bool withdraws = !window.withdrawals.empty();
    const std::size_t number = withdraws ? window.withdrawals.size() : window.commands.size();
    const std::string_view what = withdraws ? "withdrawal" : "command";
    out += fmt::format("{}  {} to {}  {} {}{}, {} bytes in {}{}\n", window.name, window.opens, window.closes,
                       number, what, number == 1 ? "" : "s", window.bytes, window.file,
                       window.immediate ? ", sent from exactly " + window.begin : std::string());
  }
  if (!plan.withdrawn.empty()) out += '\n';
  for (const PlanWithdrawal& one : plan.withdrawn) {
    out += fmt::format(
        "withdraw {}: {} at {}, left by an earlier load: {}\n", one.number, one.command, one.time,
        one.window
            ? fmt::format("out of the table at {}, {}", one.received, plan.windows[*one.window - 1].name)
            : std::string("no window can carry the request in time"));
  }
  // Notes once each, with the commands they speak of.
  std::vector<std::pair<std::string, std::vector<std::uint64_t>>> notes;
  for (const PlanCommand& command : plan.commands) {
    for (const std::string& note : command.notes) {
      const auto known =
          std::find_if(notes.begin(), notes.end(), [&](const auto& n) { return n.first == note; });
      if (known == notes.end()) {
        notes.push_back({note, {command.number}});
      } else {
        known->second.push_back(command.number);
      }
    }
  }
  if (!notes.empty()) out += '\n';
  for (const auto& [note, numbers] : notes) out += fmt::format("note on {}: {}\n", ranges(numbers), note);
  return out;
}

std::string verdict_table(const PlanDocument& plan, bool colour) {
  std::vector<Row> rows{{"verdict", "check", "of", "margin", "guaranteed", "found", "limit", "when (UTC)"}};
  for (const PlanCheck& check : plan.checks) {
    std::string subject = check.subject;
    if (!check.detail.empty()) subject += " (" + check.detail + ")";
    if (check.waived) subject += " (accepted by a waiver)";
    rows.push_back({check.verdict, check.code, subject, number_with_unit(check.margin, check.unit, true),
                    number_with_unit(check.guaranteed_margin, check.unit, true), reading(check.value, check),
                    check.margin ? reading(check.limit, check) : "",
                    check.margin || check.verdict != "holds" ? whole_seconds(check.time) : ""});
  }
  std::string table = columns(rows, "...rrrr");
  if (colour) {
    const std::array<std::pair<std::string_view, std::string_view>, 3> paints{
        {{"fails", "1;31"}, {"unproven", "1;33"}, {"holds", "32"}}};
    std::string painted;
    for (std::size_t begin = 0; begin < table.size();) {
      const std::size_t end = table.find('\n', begin);
      std::string line = table.substr(begin, end - begin);
      for (const auto& [word, code] : paints) {
        if (line.starts_with(word)) {
          line = fmt::format("\x1b[{}m{}\x1b[0m{}", code, word, line.substr(word.size()));
          break;
        }
      }
      painted += line + '\n';
      begin = end + 1;
    }
    table = painted;
  }
  return table;
}

}  // namespace cairn
