// Between plans and the ledger.

#pragma once

#include <expected>
#include <optional>
#include <string>
#include <string_view>

#include "compiler/command/world.h"
#include "compiler/plan/read_plan.h"
#include "compiler/review/gate.h"
#include "compiler/review/ledger/ledger.h"
#include "compiler/text/diagnostic.h"

namespace cairn {

// The ledger of that file; it looks for folders that were announced as seen from where it lies.
std::expected<Ledger, std::string> open_ledger(const World& world, const std::string& path);

// A plan's folder as seen from where the ledger lies, so that both can be moved together. The error: the
// ledger would go with what is in the folder's place.
std::expected<std::string, std::string> seen_from_ledger(const std::string& ledger,
                                                         const std::string& folder);

// What the ledger keeps of a plan; `text` is its plan.json.
LedgerRow ledger_row(std::string_view text, const PlanDocument& plan, LedgerState state);

// Tells that a ledger cannot be used, and what mends it: a file that is there is rebuilt, for one that is not
// its folder is looked at.
void report_ledger(const std::string& path, const std::string& sentence, Diagnostics& diagnostics);

// What was last sent to the station of `plan_json`, as the ledger has it: of its rows that were sent, the one
// that none of them follows, or begins after. nullopt: nothing was. The error is one sentence.
std::expected<std::optional<LastSent::State>, std::string> last_sent(const Ledger& ledger,
                                                                     std::string_view plan_json);

}  // namespace cairn
