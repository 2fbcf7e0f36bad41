// Why a load cannot be staged: the commands in conflict, and mends that were tried.
//
// The conflict is found by leaving commands out, first many at once, then fewer, down to one (after Zeller
// and Hildebrandt 2002): what stays cannot be staged, and could without any single one of it. Each mend is
// the least change of one thing with which the whole load can be staged, by halving; where no change of that
// thing helps, there is none.

#include <algorithm>
#include <numeric>

#include "compiler/uplink/placing.h"

namespace cairn {

namespace {

bool fits(const StagingInput& input) { return fits(input, place(input)); }

bool fits_without_others(const StagingInput& input, const std::vector<std::size_t>& kept) {
  std::vector<TimedCommand> commands;
  commands.reserve(kept.size());
  for (const std::size_t i : kept) commands.push_back((*input.commands)[i]);
  StagingInput less = input;
  less.commands = &commands;
  less.blocks = nullptr;
  return fits(less);
}

std::vector<std::size_t> smallest_conflict(const StagingInput& input) {
  // Only what runs up to the first trouble can be its cause.
  std::size_t low = 0;
  std::size_t high = input.commands->size();
  const auto first = [](std::size_t count) {
    std::vector<std::size_t> kept(count);
    std::iota(kept.begin(), kept.end(), std::size_t{0});
    return kept;
  };
  while (high - low > 1) {
    const std::size_t middle = low + (high - low) / 2;
    (fits_without_others(input, first(middle)) ? low : high) = middle;
  }
  std::vector<std::size_t> kept = first(high);
  for (std::size_t chunk = std::max<std::size_t>(kept.size() / 2, 1);; chunk /= 2) {
    bool changed = true;
    while (changed) {
      changed = false;
      for (std::size_t at = 0; at < kept.size();) {
        std::vector<std::size_t> less(kept.begin(), kept.begin() + static_cast<std::ptrdiff_t>(at));
        const std::size_t end = std::min(at + chunk, kept.size());
        less.insert(less.end(), kept.begin() + static_cast<std::ptrdiff_t>(end), kept.end());
        if (!less.empty() && !fits_without_others(input, less)) {
          kept = std::move(less);
          changed = true;
        } else {
          at = end;
        }
      }
      if (chunk > 1) break;  // once a size; single ones until none can go
    }
    if (chunk <= 1) return kept;
  }
}

// The least value from `low` on with which it works; nullopt when the greatest does not do either.
template <class Works>
std::optional<std::int64_t> least(std::int64_t low, std::int64_t high, Works works) {
  if (!works(high)) return std::nullopt;
  while (low < high) {
    const std::int64_t middle = low + (high - low) / 2;
    if (works(middle)) {
      high = middle;
    } else {
      low = middle + 1;
    }
  }
  return high;
}

}  // namespace

std::optional<StagingConflict> find_conflict(const StagingInput& input) {
  const Placing placing = place(input);
  if (fits(input, placing)) return std::nullopt;
  StagingConflict conflict;
  const std::vector<std::size_t> kept = smallest_conflict(input);
  for (const std::size_t i : kept) conflict.commands.push_back(TimedCommandId{static_cast<std::uint32_t>(i)});
  const AssignProblem problem = problem_of(input, placing);
  for (std::size_t w = 0; w < placing.windows.size(); ++w) {
    const bool carries = std::any_of(kept.begin(), kept.end(), [&](std::size_t i) {
      return problem.items[i].first <= w && w <= problem.items[i].last;
    });
    if (carries) conflict.windows.push_back(placing.windows[w].window);
  }

  Station station = *input.station;
  StagingInput changed = input;
  changed.station = &station;
  const auto most = static_cast<std::int64_t>(input.commands->size() + input.carried->size());
  const auto entries =
      least(std::int64_t{station.table.entries}, station.table.entries + most, [&](std::int64_t cap) {
        station.table.entries = static_cast<std::uint32_t>(cap);
        return fits(changed);
      });
  if (entries) conflict.entries = static_cast<std::uint32_t>(*entries);
  station = *input.station;
  if (station.table.bytes > 0) {
    std::int64_t total = station.table.bytes;
    for (const PlacedCommand& placed : placing.commands) total += placed.size.entry;
    total = std::min<std::int64_t>(total, 0xFFFF'FFFF);
    const auto bytes = least(station.table.bytes, total, [&](std::int64_t cap) {
      station.table.bytes = static_cast<std::uint32_t>(cap);
      return fits(changed);
    });
    if (bytes) conflict.bytes = static_cast<std::uint32_t>(*bytes);
  }
  station = *input.station;

  std::vector<TimedCommand> commands = *input.commands;
  changed.commands = &commands;
  changed.blocks = nullptr;
  constexpr std::int64_t longest = 60 * 86'400;  // s
  const auto later = least(1, longest, [&](std::int64_t seconds) {
    commands = *input.commands;
    commands[kept.back()].time = commands[kept.back()].time + seconds_to_duration(seconds);
    std::stable_sort(commands.begin(), commands.end(),
                     [](const TimedCommand& a, const TimedCommand& b) { return a.time < b.time; });
    return fits(changed);
  });
  if (later) conflict.later = seconds_to_duration(*later);

  changed = input;
  const Table<WindowId, Window>& windows = input.station->windows;
  constexpr std::size_t most_tried = 20;
  std::size_t tried = 0;
  for (std::size_t i = windows.size(); i-- > 0 && tried < most_tried && !conflict.earlier;) {
    const Window& window = windows[windows.id_at(i)];
    if (window.opens >= input.earliest_uplink) continue;
    ++tried;
    changed.earliest_uplink = window.opens;
    if (fits(changed)) conflict.earlier = windows.id_at(i);
  }
  return conflict;
}

}  // namespace cairn
