#include "compiler/command/ledger_rows.h"

#include <algorithm>
#include <filesystem>
#include <system_error>

#include "compiler/plan/digest.h"
#include "compiler/text/catalogue.h"

namespace cairn {

namespace {

namespace fs = std::filesystem;

fs::path place_of(const std::string& path) {
  std::error_code error;
  fs::path place = fs::weakly_canonical(fs::absolute(path, error), error);
  if (error) place = fs::absolute(path, error).lexically_normal();
  return place.has_filename() ? place : place.parent_path();
}

}  // namespace

std::expected<Ledger, std::string> open_ledger(const World& world, const std::string& path) {
  const fs::path beside = place_of(path).parent_path();
  return Ledger::open(path, [&world, beside](const std::string& folder, const std::string& digest) {
    const auto plan = world.read((beside / folder / "plan.json").string());
    return plan && sha256(*plan) == digest;
  });
}

std::expected<std::string, std::string> seen_from_ledger(const std::string& ledger,
                                                         const std::string& folder) {
  const fs::path place = place_of(folder);
  const fs::path inside = place_of(ledger).lexically_relative(place);
  if (!inside.empty() && *inside.begin() != "..")
    return std::unexpected(std::string("it lies in the folder that the plan is to take the place of"));
  const fs::path seen = place.lexically_relative(place_of(ledger).parent_path());
  return (seen.empty() ? place : seen).generic_string();
}

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
