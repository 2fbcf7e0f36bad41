// Many loads together: one table of verdicts, and the antennas that two of them want at the same time.

#pragma once

#include <expected>
#include <string>
#include <string_view>
#include <vector>

#include "compiler/review/reviewed_plan.h"

namespace cairn {

struct Transmission {
  std::string antenna;
  std::string window;  // its opening
  std::string begin;
  std::string end;
  friend bool operator==(const Transmission&, const Transmission&) = default;
};

// What is kept of one load's plan.
struct NetworkLoad {
  std::string file;  // inside the folder
  std::string name;  // empty: the load could not be compiled
  std::string station;
  std::string begin;
  std::string end;
  std::string verdict;
  std::size_t commands = 0;
  std::string least;    // the check that holds by least, or that fails: "power/reserve bus"
  std::string problem;  // of one that could not be compiled: the first error
  std::vector<Transmission> transmissions;
  std::vector<ReviewedInput> inputs;
  friend bool operator==(const NetworkLoad& a, const NetworkLoad& b) {
    return a.file == b.file && a.name == b.name && a.verdict == b.verdict && a.commands == b.commands &&
           a.transmissions == b.transmissions;
  }
};

// From the JSON of a plan; the error is one sentence.
std::expected<NetworkLoad, std::string> network_load(std::string file, std::string_view plan_json);

// Two transmissions over one antenna that overlap, for two stations, or for one station by two loads.
struct AntennaConflict {
  std::size_t first = 0;  // into the loads
  std::size_t second = 0;
  std::string antenna;
  std::string begin;  // of the time that both want
  std::string end;
};
std::vector<AntennaConflict> antenna_conflicts(const std::vector<NetworkLoad>& loads);

// Two loads of one station whose spans overlap.
std::vector<std::pair<std::size_t, std::size_t>> overlapping_spans(const std::vector<NetworkLoad>& loads);

std::string network_text(const std::vector<NetworkLoad>& loads, bool colour);
std::string network_json(const std::vector<NetworkLoad>& loads);

// What was answered before, to be used again when the digests of all inputs are still the same. `key` stands
// for all else that the answer depends on: tool, options. A text that is no cache gives none.
std::string network_cache(const std::vector<NetworkLoad>& loads, std::string_view key);
std::vector<NetworkLoad> read_network_cache(std::string_view json, std::string_view key);

}  // namespace cairn
