#include "compiler/command/ledger_rows.h"

#include <algorithm>
#include <filesystem>
#include <system_error>

#include "compiler/plan/digest.h"
#include "compiler/text/catalogue.h"

namespace cairn {

LedgerRow ledger_row(std::string_view text, const PlanDocument& plan, LedgerState state) {
  return {sha256(text),  plan.station, plan.load,          plan.begin,
          plan.previous, state,        plan.table_entries, plan.next_sequence_count};
}

void report_ledger(const std::string& path, const std::string& sentence, Diagnostics& diagnostics) {
  std::error_code none;
  const bool there = std::filesystem::exists(path, none);
  diagnostics.report(diagnostics::InputLedger, {}, path, sentence)
      .hint(there ? "take it away, and rebuild it from the plans with `cairn ledger --rebuild`"
                  : "there is no such file: look at its name, and whether its folder is there; `cairn "
                    "ledger` makes one");
}

std::expected<std::optional<LastSent::State>, std::string> last_sent(const Ledger& ledger,
                                                                     std::string_view plan_json) {
  const auto plan = read_plan(plan_json);
  if (!plan) return std::unexpected(plan.error());
  const auto rows = ledger.rows();
  if (!rows) return std::unexpected(rows.error());
  const LedgerRow* last = nullptr;
  for (const LedgerRow& row : *rows) {
    if (row.station != plan->station || row.state != LedgerState::Sent) continue;
    const bool followed = std::any_of(rows->begin(), rows->end(), [&row](const LedgerRow& other) {
      return other.state == LedgerState::Sent && other.previous == row.digest;
    });
    if (!followed && (last == nullptr || last->begin <= row.begin)) last = &row;
  }
  if (last == nullptr) return std::nullopt;
  LastSent::State state;
  state.station = last->station;
  state.plan_sha256 = last->digest;
  state.sequence_count = last->next_sequence_count;
  return state;
}

}  // namespace cairn
