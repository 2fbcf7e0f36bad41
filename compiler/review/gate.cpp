// Times, counters and the rebuilt bytes, each against what the plan says of itself.

#include "compiler/review/gate.h"

#include <fmt/format.h>

#include "compiler/plan/digest.h"
#include "compiler/plan/end_state.h"
#include "compiler/plan/read_json.h"
#include "compiler/review/json_view.h"
#include "constraints/quantity/leap_seconds.h"

namespace cairn {

namespace {

// The first instant member of `view` named `key`.
std::optional<Instant> instant_at(const JsonView& view, std::string_view key) {
  const auto time = parse_utc(view.at(key).text(), published_leap_seconds());
  return time ? std::optional(*time) : std::nullopt;
}

}  // namespace

std::optional<LastSent::State> end_of_plan(std::string_view plan_json) {
  const auto parsed = read_json(plan_json);
  if (!parsed) return std::nullopt;
  std::string error;
  const JsonView whole(*parsed, "", error);
  LastSent::State state;
  state.station = whole.at("load").at("station").text();
  // A state from reports says on which plan they are.
  const JsonView format = whole.maybe("format");
  const bool is_reported = !format.is_null() && format.text() == state_format;
  state.plan_sha256 = is_reported ? whole.at("plan_sha256").text() : sha256(plan_json);
  state.sequence_count = whole.at("end_state").at("sequence_count").number();
  const JsonView frames = whole.at("end_state").maybe("frame_count");
  state.frame_count = frames.is_null() ? 0 : frames.number();
  state.end = whole.at("end_state").at("time").text();
  if (!error.empty()) return std::nullopt;
  return state;
}

std::vector<SourceName> sources_of(std::string_view plan_json) {
  std::vector<SourceName> sources;
  const auto parsed = read_json(plan_json);
  if (!parsed) return sources;
  std::string error;
  JsonView(*parsed, "", error).at("inputs").each([&](const JsonView& input) {
    sources.push_back({input.at("name").text(), input.at("sha256").text()});
  });
  if (!error.empty()) sources.clear();
  return sources;
}

std::string load_of(std::string_view plan_json) {
  const auto parsed = read_json(plan_json);
  if (!parsed) return {};
  std::string error;
  return JsonView(*parsed, "", error).at("load").at("name").text();
}

GateFindings gate_times(std::string_view plan_json, Instant now) {
  GateFindings findings;
  const auto parsed = read_json(plan_json);
  if (!parsed) return findings;
  std::string error;
  const JsonView whole(*parsed, "", error);
  std::size_t batches = 0;
  whole.at("windows").each([&](const JsonView& window) {
    const JsonView batch = window.at("batch");
    if (batch.is_null()) return;
    ++batches;
    const auto begin = instant_at(batch, "begin");
    if (begin && *begin > now) return;
    refuse(findings, "window/over", batch.at("file").text(),
           fmt::format("its transmission was to begin at {} in `{}`", batch.at("begin").text(),
                       window.at("name").text()));
  });
  std::size_t waivers = 0;
  const JsonView stated = whole.maybe("waivers");
  if (!stated.is_null()) {
    stated.each([&](const JsonView& waiver) {
      ++waivers;
      const auto until = instant_at(waiver, "until");
      if (until && *until > now) return;
      refuse(findings, "waiver/expired", "plan.json",
             fmt::format("the waiver of `{}` held until {}", waiver.at("check").text(),
                         waiver.at("until").text()));
    });
  }
  if (!error.empty()) refuse(findings, "plan/unreadable", "plan.json", error);
  if (findings.empty()) {
    findings.push_back({"window/ahead", true, fmt::format("all {} batches are still to come", batches), ""});
    if (waivers > 0)
      findings.push_back({"waiver/holds", true, fmt::format("all {} waivers still hold", waivers), ""});
  }
  return findings;
}

GateFindings gate_sequence(std::string_view plan_json, const LastSent& last) {
  GateFindings findings;
  const auto parsed = read_json(plan_json);
  if (!parsed) return findings;
  std::string error;
  const JsonView whole(*parsed, "", error);
  const JsonView load = whole.at("load");
  const std::string previous = load.at("previous_plan").is_null() ? "" : load.at("previous_plan").text();
  // Of the first request that goes up: a command's, or one that withdraws an entry.
  std::optional<double> first;
  const auto first_of = [&](const JsonView& numbers, const JsonView& list) {
    numbers.each([&](const JsonView& number) {
      const Json::Array* rows = list.json().array();
      if (first || rows == nullptr || number.count() < 1 || number.count() > rows->size()) return;
      first = JsonView((*rows)[number.count() - 1], "", error).at("sequence_count").number();
    });
  };
  whole.at("windows").each([&](const JsonView& window) {
    const JsonView batch = window.at("batch");
    if (first || batch.is_null()) return;
    const JsonView withdrawals = batch.maybe("withdrawals");
    if (!withdrawals.is_null()) first_of(withdrawals, whole.at("withdrawn"));
    first_of(batch.at("commands"), whole.at("commands"));
  });
  if (!error.empty()) {
    refuse(findings, "plan/unreadable", "plan.json", error);
    return findings;
  }
  const auto state = last.state();
  if (!state) {
    if (!previous.empty()) {
      refuse(findings, "sequence/no-plan-before", "plan.json",
             fmt::format("it follows the plan {}, which {}", previous.substr(0, 16), last.missing()));
    } else {
      findings.push_back({"sequence/first", true, "it is the station's first plan", ""});
    }
    return findings;
  }
  if (state->station != load.at("station").text()) {
    refuse(findings, "sequence/other-station", "plan.json",
           fmt::format("the plan before was for `{}`", state->station));
  } else if (previous != state->plan_sha256) {
    refuse(findings, "sequence/not-next", "plan.json",
           previous.empty() ? "it was made as the station's first plan, and another was sent"
                            : fmt::format("it follows the plan {}, and the last one was {}",
                                          previous.substr(0, 16), state->plan_sha256.substr(0, 16)));
  } else if (first && *first != state->sequence_count) {
    refuse(
        findings, "sequence/count", "plan.json",
        fmt::format("its first sequence count is {}, and the next one is {}", *first, state->sequence_count));
  } else {
    findings.push_back({"sequence/next", true, "it goes on where the plan before ends", ""});
  }
  return findings;
}

GateFindings gate_rebuilt(std::string_view plan_json, std::string_view rebuilt) {
  GateFindings findings;
  if (plan_json == rebuilt) {
    findings.push_back({"rebuild/same", true,
                        fmt::format("the sources give the same plan, SHA-256 {}", sha256(rebuilt)), ""});
  } else {
    refuse(findings, "rebuild/other", "plan.json",
           fmt::format("the sources give the plan {}, not {}", sha256(rebuilt), sha256(plan_json)));
  }
  return findings;
}

}  // namespace cairn
