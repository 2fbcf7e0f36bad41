// May this plan go up now? What the gate asks beyond verifying: that the sources give these very bytes, that
// windows and waivers are not over, and that the counters go on where the plan before left them.

#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "compiler/review/gate_finding.h"
#include "constraints/quantity/instant.h"

namespace cairn {

// What was last sent to a station: the plan before answers, or a ledger of what was sent.
class LastSent {
 public:
  LastSent() = default;
  LastSent(const LastSent&) = delete;
  LastSent& operator=(const LastSent&) = delete;
  virtual ~LastSent() = default;
  struct State {
    std::string station;
    std::string plan_sha256;
    double sequence_count = 0;
    double frame_count = 0;
    std::string end;  // instant
  };
  // Why there is none, when a plan says that it follows one.
  [[nodiscard]] virtual std::string missing() const { return "was not given with --after"; }
  // nullopt: nothing was ever sent.
  [[nodiscard]] virtual std::optional<State> state() const = 0;
};

// The state at the end of a plan's JSON; nullopt when it is no plan.
std::optional<LastSent::State> end_of_plan(std::string_view plan_json);

// A source that went in: its name and digest, as the plan says.
struct SourceName {
  std::string name;
  std::string sha256;
};
// The sources of a plan, and which of them is the load; empty when it cannot be read.
std::vector<SourceName> sources_of(std::string_view plan_json);
// The name of the plan's load, as the source says it.
std::string load_of(std::string_view plan_json);

GateFindings gate_times(std::string_view plan_json, Instant now);
GateFindings gate_sequence(std::string_view plan_json, const LastSent& last);
// `rebuilt`: plan.json made again from the sources.
GateFindings gate_rebuilt(std::string_view plan_json, std::string_view rebuilt);

// ---- views: one row a finding ----

std::string gate_text(const GateFindings& findings, bool colour);
std::string gate_json(const GateFindings& findings);
std::string gate_sarif(const GateFindings& findings);                         // SARIF 2.1.0
std::string gate_junit(const GateFindings& findings, std::string_view name);  // JUnit's XML
std::string gate_markdown(const GateFindings& findings, std::string_view name);

}  // namespace cairn
