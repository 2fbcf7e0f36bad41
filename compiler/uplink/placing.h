// When each command goes up, to the nanosecond: in order of execution, as early as table and windows allow.
//
// The step of staging that decides; no octet is made here.

#pragma once

#include <optional>

#include "compiler/uplink/assign.h"
#include "compiler/uplink/transmission.h"
#include "compiler/uplink/uplink.h"

namespace cairn {

struct UsableWindow {
  WindowId window;
  Instant from;  // first bit
  Instant to;    // last bit
};

// What is left of the windows for sending, rising by `from`.
std::vector<UsableWindow> usable_windows(const StagingInput& input);

struct PlacedCommand {
  std::size_t slot = no_window;  // into the usable windows
  Instant begin;
  Instant end;
  Instant aboard;
  RequestSize size;
  // An immediate command: see TableUse.
  std::optional<Duration> contact = std::nullopt;
};

// What withdraws an entry of an earlier load.
struct PlacedWithdrawal {
  std::size_t slot = no_window;
  Instant begin;
  Instant end;
  Instant received;
  std::size_t on_air = 0;  // octets
};

struct Placing {
  std::vector<UsableWindow> windows;
  std::vector<PlacedCommand> commands;  // one per timed command, in their order
  std::vector<std::uint32_t> order;     // of those that go up, in order of transmission
  std::vector<PlacedWithdrawal> withdrawals;
  std::size_t left = 0;            // stored commands that found no window
  std::uint64_t peak_entries = 0;  // of the table, carried entries included
  std::uint64_t peak_bytes = 0;
};

Duration air_time(const Station& station, std::size_t octets);

// `wanted`, by command: no window before this one is tried.
Placing place(const StagingInput& input, const std::vector<std::size_t>* wanted = nullptr);

// Every stored command finds a window, and the table holds them all.
bool fits(const StagingInput& input, const Placing& placing);

// The same question with windows as wholes: what is decided within a window is left out.
AssignProblem problem_of(const StagingInput& input, const Placing& placing);

}  // namespace cairn
