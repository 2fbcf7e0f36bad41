// The command table over time: entries and bytes in use never above the station's cap, at any instant.
//
// Reads:   when each entry is aboard (from staging, or left by earlier loads) and when it runs
// Reports: table/entries, table/bytes, table/horizon (time tag too far ahead), table/spacing (two executions
//          closer than the station can), table/late (not aboard in time, or never), table/lost (an operation
//          on the table takes it away before it runs), table/time-tag (its time does not fit in the time
//          code), table/contact (an immediate command that no window can carry at its time),
//          table/withdraw (an entry that is to be withdrawn may run first)

#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "constraints/timeline/timeline.h"
#include "constraints/verdict.h"

namespace cairn {

// An entry that an earlier load left in the table.
struct CarriedEntry {
  CommandId command;
  std::vector<ArgumentValue> arguments;
  Instant time;  // when it will run
  std::uint32_t bytes = 0;
  std::uint16_t sequence_count = 0;  // of the packet that loaded it, by which it can be deleted
};

struct TableUse {
  TimedCommandId command;         // invalid: carried
  std::optional<Instant> aboard;  // none: no window could take it. Carried: the load's begin
  Instant runs;                   // freed at this instant
  std::uint32_t bytes = 0;
  CommandId definition = {};  // carried: what it holds; others have it in the timeline
  // An immediate command takes no entry: how far its transmission keeps from the ends of the window that can
  // carry it and from others that go up then; less than nothing: it does not fit, by so much; none: no
  // window.
  bool immediate = false;
  std::optional<Duration> contact = std::nullopt;
  // Carried, and this load withdraws it: the entry leaves the table when that is received, and does not run.
  bool to_withdraw = false;
  std::optional<Instant> withdrawn = std::nullopt;  // received; none: no window can carry it
};

struct TablePoint {
  Instant time;
  std::uint32_t entries = 0;  // from `time` until the next point
  std::uint32_t bytes = 0;
};

struct TableResult {
  std::vector<TablePoint> points;
  std::vector<Finding> findings;
};

// Entries are half-open: in use in [aboard, runs). Order of `uses` does not matter.
TableResult check_table(const Station& station, const Timeline& timeline, const std::vector<TableUse>& uses);

}  // namespace cairn
