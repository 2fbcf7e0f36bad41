// A plan's folder, and the files that follow from its plan.json; clock and policy as the gate needs them.

#pragma once

#include <optional>
#include <string>

#include "compiler/command/world.h"
#include "compiler/review/verify_plan.h"
#include "compiler/text/diagnostic.h"

namespace cairn {

// Plain files inside the folder, at most 4096 of them, 16 folders deep and 512 MiB in all; links are not
// followed. The error is one sentence.
std::expected<PlanFolder, std::string> read_plan_folder(const World& world, const std::string& folder);

// list.txt and report.html of a plan; empty when it cannot be read.
Views views_of(const std::string& plan_json);

// The policy and the keys beside it; nullopt when something is wrong with it, which is reported.
std::optional<PolicyFile> read_policy_file(const World& world, const std::string& path, SourceFiles& files,
                                           Diagnostics& diagnostics);

// The time given, or the clock's; nullopt when what was given is none, which is reported.
std::optional<Instant> gate_time(const std::string& given, Diagnostics& diagnostics);

}  // namespace cairn
