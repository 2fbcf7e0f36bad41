// cairn ledger: which plans were built, approved and sent.

#include <fmt/format.h>

#include <map>

#include "compiler/command/commands.h"
#include "compiler/command/ledger_rows.h"
#include "compiler/plan/canonical_json.h"
#include "compiler/plan/read_plan.h"
#include "compiler/text/catalogue.h"

namespace cairn {

namespace {

std::string shown(const std::vector<LedgerRow>& rows) {
  std::string out = fmt::format("{:<12}  {:<24}  {:<28}  {:<8}  {:>7}  {:>10}  {}\n", "station", "load",
                                "begins", "state", "entries", "next count", "plan");
  for (const LedgerRow& row : rows) {
    out += fmt::format("{:<12}  {:<24}  {:<28}  {:<8}  {:>7}  {:>10}  {}\n", row.station, row.load, row.begin,
                       to_word(row.state), row.entries, row.next_sequence_count, row.digest.substr(0, 12));
  }
  return out;
}

std::string as_json(const std::vector<LedgerRow>& rows) {
  Json::Array list;
  for (const LedgerRow& row : rows) {
    list.push_back(Json::Object{{"digest", row.digest},
                                {"station", row.station},
                                {"load", row.load},
                                {"begin", row.begin},
                                {"previous", row.previous.empty() ? Json() : Json(row.previous)},
                                {"state", to_word(row.state)},
                                {"entries", static_cast<double>(row.entries)},
                                {"next_sequence_count", row.next_sequence_count}});
  }
  return Json(std::move(list)).canonical() + "\n";
}

}  // namespace

ExitCode run_ledger(const World& world, const LedgerOptions& options) {
  SourceFiles files;
  Diagnostics diagnostics;
  ShowOptions show = options.show;
  show.json = false;  // problems go to standard error in any case
  const auto wrong = [&] {
    show_diagnostics(world, diagnostics, files, show, "-");
    return ExitCode::WrongInput;
  };
  const auto state = ledger_state(options.state);
  if (!state) {
    diagnostics.report(diagnostics::InputLedgerState, {}, options.state).hint("`--as sent`, for example");
    return wrong();
  }
  std::vector<LedgerRow> rows;
  for (const std::string& path : options.plans) {
    const auto text = world.read(path);
    if (!text) {
      diagnostics.report(diagnostics::InputUnreadable, {}, path, text.error());
      return wrong();
    }
    const auto plan = read_plan(*text);
    if (!plan) {
      diagnostics.report(diagnostics::InputPlan, {}, path, plan.error())
          .hint("give the plan.json that `cairn build` wrote");
      return wrong();
    }
    rows.push_back(ledger_row(*text, *plan, *state));
  }
  const auto unusable = [&](const std::string& sentence) {
    report_ledger(options.ledger, sentence, diagnostics);
    return wrong();
  };
  auto ledger = open_ledger(world, options.ledger);
  if (!ledger) return unusable(ledger.error());
  if (options.rebuild) {
    if (const auto done = ledger->rebuild(rows); !done) return unusable(done.error());
  } else {
    for (const LedgerRow& row : rows) {
      if (const auto done = ledger->record(row); !done) return unusable(done.error());
    }
  }
  const auto all = ledger->rows();
  if (!all) return unusable(all.error());
  world.print(options.show.json ? as_json(*all) : shown(*all));
  show_diagnostics(world, diagnostics, files, show, "-");
  return ExitCode::Holds;
}

}  // namespace cairn
