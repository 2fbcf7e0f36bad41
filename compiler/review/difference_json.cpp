// The difference for programs: canonical JSON, the words of the plan's own members.

#include "compiler/plan/canonical_json.h"
#include "compiler/review/difference.h"

namespace cairn {

namespace {

Json place(const Place& place) {
  if (place.file.empty()) return nullptr;
  return Json::Object{{"file", place.file}, {"line", place.line}};
}

Json plan_head(const ReviewedPlan& plan) {
  return Json::Object{{"sha256", plan.digest},
                      {"load", plan.load},
                      {"station", plan.station},
                      {"begin", plan.begin},
                      {"end", plan.end},
                      {"verdict", plan.verdict},
                      {"commands", plan.commands.size()}};
}

Json command(const ReviewedCommand& command) {
  Json::Object row{{"number", command.number},
                   {"time", command.time},
                   {"command", command.command},
                   {"command_number", command.command_number},
                   {"class", command.command_class},
                   {"arguments", command.arguments},
                   {"block", command.block},
                   {"source", place(command.source)},
                   {"window", command.window.empty() ? Json(nullptr) : Json(command.window)}};
  if (command.immediate) row["immediate"] = true;
  return row;
}

Json commands(const Difference& difference, const ReviewedPlan& before, const ReviewedPlan& after) {
  Json::Array rows;
  for (const CommandDifference& change : difference.commands) {
    Json::Array kinds;
    if (!change.before) kinds.emplace_back("added");
    if (!change.after) kinds.emplace_back("removed");
    if (change.moved) kinds.emplace_back("moved");
    if (change.reargued) kinds.emplace_back("re-argued");
    if (change.redefined) kinds.emplace_back("redefined");
    if (change.restaged) kinds.emplace_back("restaged");
    if (change.renoted) kinds.emplace_back("renoted");
    Json::Object row{{"changes", std::move(kinds)},
                     {"old", change.before ? command(before.commands[*change.before]) : Json(nullptr)},
                     {"new", change.after ? command(after.commands[*change.after]) : Json(nullptr)}};
    if (change.moved) row.emplace("shift", change.shift.seconds());
    rows.emplace_back(std::move(row));
  }
  return rows;
}

Json check(const ReviewedCheck& check) {
  const auto number = [](std::optional<double> value) { return value ? Json(*value) : Json(nullptr); };
  return Json::Object{{"verdict", check.verdict},
                      {"assurance", check.assurance},
                      {"margin", number(check.margin)},
                      {"value", number(check.value)},
                      {"limit", number(check.limit)},
                      {"unit", check.unit},
                      {"time", check.time},
                      {"limit_source", place(check.limit_source)}};
}

Json checks(const Difference& difference, const ReviewedPlan& before, const ReviewedPlan& after) {
  Json::Array rows;
  for (const CheckDifference& change : difference.checks) {
    const ReviewedCheck& one = change.after ? after.checks[*change.after] : before.checks[*change.before];
    rows.emplace_back(
        Json::Object{{"code", one.code},
                     {"subject", one.subject},
                     {"detail", one.detail},
                     {"old", change.before ? check(before.checks[*change.before]) : Json(nullptr)},
                     {"new", change.after ? check(after.checks[*change.after]) : Json(nullptr)}});
  }
  return rows;
}

Json numbers(const std::vector<std::size_t>& list) {
  Json::Array rows;
  for (const std::size_t number : list) rows.emplace_back(number);
  return rows;
}

Json window(const ReviewedWindow& window) {
  return Json::Object{{"closes", window.closes},
                      {"file", window.file.empty() ? Json(nullptr) : Json(window.file)},
                      {"bytes", window.bytes},
                      {"commands", window.commands.size()}};
}

Json windows(const Difference& difference, const ReviewedPlan& before, const ReviewedPlan& after) {
  Json::Array rows;
  for (const WindowDifference& change : difference.windows) {
    const ReviewedWindow& one = change.after ? after.windows[*change.after] : before.windows[*change.before];
    rows.emplace_back(
        Json::Object{{"antenna", one.antenna},
                     {"opens", one.opens},
                     {"old", change.before ? window(before.windows[*change.before]) : Json(nullptr)},
                     {"new", change.after ? window(after.windows[*change.after]) : Json(nullptr)},
                     {"left", numbers(change.left)},
                     {"joined", numbers(change.joined)}});
  }
  return rows;
}

Json values(const std::vector<ValueDifference>& list) {
  const auto side = [](const std::string& text) { return text.empty() ? Json(nullptr) : Json(text); };
  Json::Array rows;
  for (const ValueDifference& change : list) {
    Json::Object row{{"what", change.what}, {"old", side(change.before)}, {"new", side(change.after)}};
    if (!change.place.file.empty()) row["source"] = place(change.place);
    rows.emplace_back(std::move(row));
  }
  return rows;
}

Json texts(const std::vector<std::string>& lines) {
  Json::Array rows;
  for (const std::string& line : lines) rows.emplace_back(line);
  return rows;
}

Json inputs(const std::vector<InputDifference>& list) {
  const auto side = [](const std::string& text) { return text.empty() ? Json(nullptr) : Json(text); };
  Json::Array rows;
  for (const InputDifference& input : list) {
    Json::Array runs;
    for (const LineDifference& run : input.lines) {
      runs.emplace_back(Json::Object{{"old_line", run.old_first},
                                     {"new_line", run.new_first},
                                     {"old", texts(run.old_lines)},
                                     {"new", texts(run.new_lines)},
                                     {"within", run.within}});
    }
    rows.emplace_back(Json::Object{{"name", input.name},
                                   {"old", side(input.old_sha256)},
                                   {"new", side(input.new_sha256)},
                                   {"lines", input.texts ? Json(std::move(runs)) : Json(nullptr)}});
  }
  return rows;
}

}  // namespace

std::string difference_json(const Difference& difference, const ReviewedPlan& before,
                            const ReviewedPlan& after) {
  Json::Array renamed;
  for (const auto& [old_name, new_name] : difference.renamed_blocks) {
    renamed.emplace_back(Json::Object{{"old", old_name}, {"new", new_name}});
  }
  return Json(Json::Object{{"format", "cairn-difference"},
                           {"version", 1},
                           {"matters", difference.matters()},
                           {"old", plan_head(before)},
                           {"new", plan_head(after)},
                           {"head", values(difference.head)},
                           {"commands", commands(difference, before, after)},
                           {"same", difference.same},
                           {"renumbered", difference.renumbered},
                           {"renamed_blocks", std::move(renamed)},
                           {"checks", checks(difference, before, after)},
                           {"table", values(difference.table)},
                           {"windows", windows(difference, before, after)},
                           {"end_state", values(difference.end_state)},
                           {"marks", values(difference.marks)},
                           {"waivers", values(difference.waivers)},
                           {"rules", values(difference.rules)},
                           {"inputs", inputs(difference.inputs)}})
      .canonical();
}

}  // namespace cairn
