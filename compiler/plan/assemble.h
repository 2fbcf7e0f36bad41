// From everything that was computed to the plan: one canonical JSON text.
//
// Views (text list, page, bytes files) are made from it or named in it with their digests. Same inputs, same
// bytes; times are UTC text, offsets are seconds since the load's begin, physical numbers are rounded (power
// to 1 mW, temperatures to 1 mK, offsets to 1 ms, margins to six digits) so that no last bit of a library
// shows.

#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "compiler/model/model.h"
#include "compiler/sequence/sequence.h"
#include "compiler/uplink/uplink.h"
#include "constraints/checks/checks.h"

namespace cairn {

inline constexpr std::string_view tool_name = "cairn 0.1.0";

struct PlanInput {
  const SequencedLoad* load = nullptr;
  const LoadedStation* station = nullptr;
  const SourceFiles* files = nullptr;
  std::vector<FileId> inputs;  // every file that went in: load, used files, station, included files
  const Timeline* timeline = nullptr;
  const CheckResults* results = nullptr;
  const Staging* staging = nullptr;
  const std::vector<CarriedEntry>* carried = nullptr;
  const Sky* sky = nullptr;
  const LeapSecondTable* leap_seconds = nullptr;
  std::string previous_digest;  // of the plan the start state came from; empty: the station's initial state
  std::string previous_state;   // digest of the state from reports that took the place of that plan's end
};

std::string assemble_plan(const PlanInput& input);

// The file a batch is written to, inside the plan's folder: "uplink/01-west-dish.bin".
std::string batch_file(const Station& station, const Staging& staging, std::size_t batch);
inline constexpr std::string_view backout_file = "uplink/backout.bin";

// "west-dish 2": the antenna and the window's number among that antenna's windows that meet the span; a
// window outside the span goes by its opening, "west-dish 2031-05-01T04:00Z".
std::string window_name(const Station& station, WindowId window, Instant begin, Instant end,
                        const LeapSecondTable& leap_seconds);

// Reads the staged bytes back with the independent decoder and compares them with the list. Each difference
// is one sentence; a plan with differences must not leave the tool.
std::vector<std::string> translation_check(const Station& station, const std::vector<TimedCommand>& commands,
                                           const Staging& staging, const LeapSecondTable& leap_seconds,
                                           const std::vector<CarriedEntry>& carried = {});

// What people must read before they act on a plan; shown at its head.
const std::vector<std::string>& cautions();

}  // namespace cairn
