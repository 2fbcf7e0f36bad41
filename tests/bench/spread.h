// What both benchmarks share: processor time, and the middle and spread of several rounds.

#pragma once

#include <fmt/core.h>

#include <algorithm>
#include <cstddef>
#include <ctime>
#include <string>
#include <vector>

namespace cairn {

// Of this process, s: unlike time by the clock it does not count what other programs take from us.
inline double processor_seconds() {
  timespec time{};
  clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &time);
  return static_cast<double>(time.tv_sec) + 1e-9 * static_cast<double>(time.tv_nsec);
}

// "1.23 (1.10 to 1.40)": the median of the rounds, the least and the greatest.
inline std::string middle_and_spread(std::vector<double> rounds, int digits) {
  if (rounds.empty()) return "nothing";
  std::sort(rounds.begin(), rounds.end());
  return fmt::format("{:.{}f} ({:.{}f} to {:.{}f})", rounds[rounds.size() / 2], digits, rounds.front(),
                     digits, rounds.back(), digits);
}

}  // namespace cairn
