// Occupancy of the command table by one sweep over loadings and executions.

#include "constraints/table/table.h"

#include <algorithm>
#include <limits>
#include <map>

namespace cairn {

namespace {

struct Change {
  std::int64_t entries = 0;
  std::int64_t bytes = 0;
};

Finding cap_finding(std::string_view code, std::string subject, double peak, double cap, Dimension dimension,
                    Instant at, const Station& station) {
  Finding finding;
  finding.code = code;
  finding.check = CheckKind::Table;
  finding.subject = std::move(subject);
  finding.assurance = Assurance::Guaranteed;
  finding.margin = cap - peak;
  finding.value = peak;
  finding.limit = cap;
  finding.dimension = dimension;
  finding.verdict = peak <= cap ? Verdict::Holds : Verdict::Fails;
  finding.time = finding.interval_begin = finding.interval_end = at;
  finding.limit_origin = station.table.origin;
  return finding;
}

// When an entry leaves the table.
Instant leaves(const TableUse& use) { return std::min(use.withdrawn.value_or(use.runs), use.runs); }

// The entries aboard at `at` that were loaded last: without as many of them as are too many, the table holds.
std::vector<TimedCommandId> last_loaded(const std::vector<TableUse>& uses, Instant at, double excess,
                                        bool bytes) {
  std::vector<const TableUse*> aboard;
  for (const TableUse& use : uses) {
    if (use.aboard && *use.aboard <= at && at < leaves(use) && use.command.is_valid()) aboard.push_back(&use);
  }
  std::sort(aboard.begin(), aboard.end(), [](const TableUse* a, const TableUse* b) {
    return *a->aboard != *b->aboard ? *a->aboard > *b->aboard : a->command > b->command;
  });
  std::vector<TimedCommandId> cause;
  for (const TableUse* use : aboard) {
    if (excess <= 0) break;
    cause.push_back(use->command);
    excess -= bytes ? use->bytes : 1.0;
  }
  std::sort(cause.begin(), cause.end());
  return cause;
}

void check_caps(const Station& station, const Timeline& timeline, const std::vector<TableUse>& uses,
                TableResult& result) {
  std::map<Instant, Change> changes;
  changes[timeline.begin];
  for (const TableUse& use : uses) {
    if (!use.aboard || leaves(use) <= *use.aboard) continue;
    changes[*use.aboard].entries += 1;
    changes[*use.aboard].bytes += use.bytes;
    changes[leaves(use)].entries -= 1;
    changes[leaves(use)].bytes -= use.bytes;
  }
  std::int64_t entries = 0;
  std::int64_t bytes = 0;
  TablePoint peak_entries{timeline.begin, 0, 0};
  TablePoint peak_bytes{timeline.begin, 0, 0};
  for (const auto& [time, change] : changes) {
    entries += change.entries;
    bytes += change.bytes;
    const TablePoint point{time, static_cast<std::uint32_t>(entries), static_cast<std::uint32_t>(bytes)};
    result.points.push_back(point);
    if (point.entries > peak_entries.entries) peak_entries = point;
    if (point.bytes > peak_bytes.bytes) peak_bytes = point;
  }
  const auto settle = [&](Finding finding, bool in_bytes) {
    if (finding.verdict == Verdict::Fails) {
      finding.cause = last_loaded(uses, finding.time, -finding.margin, in_bytes);
      bool first = true;
      for (std::size_t i = 0; i < result.points.size(); ++i) {
        const double used = in_bytes ? result.points[i].bytes : result.points[i].entries;
        if (used <= finding.limit) continue;
        if (first) finding.interval_begin = result.points[i].time;
        first = false;
        finding.interval_end = i + 1 < result.points.size() ? result.points[i + 1].time : timeline.end;
      }
    }
    result.findings.push_back(std::move(finding));
  };
  settle(cap_finding("table/entries", "entries", peak_entries.entries, station.table.entries,
                     dimensions::count, peak_entries.time, station),
         false);
  if (station.table.bytes > 0) {
    settle(cap_finding("table/bytes", "bytes", peak_bytes.bytes, station.table.bytes, dimensions::count,
                       peak_bytes.time, station),
           true);
  }
}

// A finding in time: margin is how much room is left.
Finding time_finding(std::string_view code, std::string subject, Duration margin, Instant at) {
  Finding finding;
  finding.code = code;
  finding.check = CheckKind::Table;
  finding.subject = std::move(subject);
  finding.assurance = Assurance::Guaranteed;
  finding.margin = finding.value = margin.seconds();
  finding.dimension = dimensions::duration;
  finding.verdict = margin.nanoseconds >= 0 ? Verdict::Holds : Verdict::Fails;
  finding.time = finding.interval_begin = finding.interval_end = at;
  return finding;
}

void check_aboard(const Station& station, const Timeline& timeline, const std::vector<TableUse>& uses,
                  TableResult& result) {
  const Duration guard = station.table.load_guard;
  std::optional<Finding> least;
  std::optional<Finding> horizon;
  for (const TableUse& use : uses) {
    if (!use.command.is_valid() || use.immediate) continue;
    if (!use.aboard) {
      Finding finding = time_finding("table/late", "aboard before it runs", {}, use.runs);
      finding.verdict = Verdict::Fails;
      finding.has_margin = false;
      finding.cause = {use.command};
      finding.limit_origin = station.table.origin;
      finding.detail = "no uplink window can carry it in time";
      result.findings.push_back(std::move(finding));
      continue;
    }
    const Duration margin = use.runs - *use.aboard - guard;
    if (margin.nanoseconds < 0 || !least || margin.seconds() < least->margin) {
      Finding finding = time_finding("table/late", "aboard before it runs", margin, use.runs);
      finding.limit = guard.seconds();
      finding.value = (use.runs - *use.aboard).seconds();
      finding.limit_origin = station.table.origin;
      if (finding.verdict == Verdict::Fails) {
        finding.cause = {use.command};
        result.findings.push_back(finding);
      } else {
        least = std::move(finding);
      }
    }
    if (station.table.horizon.nanoseconds > 0) {
      const Duration room = station.table.horizon - (use.runs - *use.aboard);
      if (!horizon || room.seconds() < horizon->margin) {
        horizon = time_finding("table/horizon", "time tag within reach", room, use.runs);
        horizon->limit = station.table.horizon.seconds();
        horizon->value = (use.runs - *use.aboard).seconds();
        horizon->limit_origin = station.table.origin;
        if (horizon->verdict == Verdict::Fails) horizon->cause = {use.command};
      }
    }
  }
  if (least) result.findings.push_back(std::move(*least));
  if (horizon) result.findings.push_back(std::move(*horizon));

  // Executions, carried entries included, never closer than the station can.
  std::vector<const TableUse*> order;
  for (const TableUse& use : uses) {
    if (use.runs >= timeline.begin && !use.withdrawn) order.push_back(&use);
  }
  std::stable_sort(order.begin(), order.end(),
                   [](const TableUse* a, const TableUse* b) { return a->runs < b->runs; });
  std::optional<Finding> spacing;
  for (std::size_t i = 1; i < order.size(); ++i) {
    const Duration apart = order[i]->runs - order[i - 1]->runs;
    const Duration room = apart - station.table.least_spacing;
    if (spacing && room.seconds() >= spacing->margin) continue;
    spacing = time_finding("table/spacing", "executions apart", room, order[i]->runs);
    spacing->value = apart.seconds();
    spacing->limit = station.table.least_spacing.seconds();
    spacing->limit_origin = station.table.origin;
    if (spacing->verdict == Verdict::Fails) {
      for (const TableUse* use : {order[i - 1], order[i]}) {
        if (use->command.is_valid()) spacing->cause.push_back(use->command);
      }
    }
  }
  if (spacing) result.findings.push_back(std::move(*spacing));
}

}  // namespace

namespace {

struct Operation {
  Instant time;
  TableOperation kind = TableOperation::None;
  TimedCommandId command;
};

// What takes the entry out of the table before it runs, or keeps it from running; nullptr: nothing does.
// Operations on the table run while it is disabled, too.
const Operation* lost_by(const std::vector<Operation>& operations, const TableUse& use, bool is_operation) {
  if (!use.aboard || use.immediate || use.withdrawn) return nullptr;
  const Operation* disabled = nullptr;
  for (const Operation& operation : operations) {
    if (operation.time >= use.runs) break;
    if (operation.kind == TableOperation::Clear && operation.time > *use.aboard) return &operation;
    if (operation.kind == TableOperation::Disable) disabled = &operation;
    if (operation.kind == TableOperation::Enable) disabled = nullptr;
  }
  return is_operation ? nullptr : disabled;
}

CommandId definition_of(const Timeline& timeline, const TableUse& use) {
  // What earlier loads left stands in no timeline of this one.
  const bool ours = use.command.is_valid() && use.command.value < timeline.commands.size();
  return ours ? timeline.commands[use.command.value].command : use.definition;
}

// Operations on the table in the order in which they run; one that is dropped or cleared away itself does
// nothing.
std::vector<Operation> operations_of(const Station& station, const Timeline& timeline,
                                     const std::vector<TableUse>& uses) {
  std::vector<const TableUse*> order;
  for (const TableUse& use : uses) {
    const CommandId definition = definition_of(timeline, use);
    if (use.aboard && !use.withdrawn && definition.is_valid() &&
        station.commands[definition].table != TableOperation::None) {
      order.push_back(&use);
    }
  }
  std::stable_sort(order.begin(), order.end(),
                   [](const TableUse* a, const TableUse* b) { return a->runs < b->runs; });
  std::vector<Operation> operations;
  for (const TableUse* use : order) {
    if (lost_by(operations, *use, true) != nullptr) continue;
    operations.push_back({use->runs, station.commands[definition_of(timeline, *use)].table, use->command});
  }
  return operations;
}

void check_operations(const Station& station, const Timeline& timeline, const std::vector<TableUse>& uses,
                      TableResult& result) {
  const std::vector<Operation> operations = operations_of(station, timeline, uses);
  if (operations.empty()) return;
  bool lost = false;
  for (const TableUse& use : uses) {
    const CommandId definition = definition_of(timeline, use);
    const bool is_operation =
        definition.is_valid() && station.commands[definition].table != TableOperation::None;
    const Operation* by = lost_by(operations, use, is_operation);
    if (by == nullptr) continue;
    lost = true;
    Finding finding = time_finding("table/lost", "runs before the table drops it", {}, use.runs);
    finding.verdict = Verdict::Fails;
    finding.has_margin = false;
    finding.interval_begin = by->time;
    finding.detail =
        by->kind == TableOperation::Clear ? "the table is cleared before" : "the table is disabled then";
    for (const TimedCommandId id : {by->command, use.command}) {
      if (id.is_valid()) finding.cause.push_back(id);
    }
    finding.limit_origin = station.table.origin;
    result.findings.push_back(std::move(finding));
  }
  if (lost) return;
  Finding finding = time_finding("table/lost", "runs before the table drops it", {}, operations.front().time);
  finding.has_margin = false;
  result.findings.push_back(std::move(finding));
}

// An immediate command runs when it is received, so a window must be open when it is sent.
void check_contact(const Station& station, const std::vector<TableUse>& uses, TableResult& result) {
  std::optional<Finding> least;
  bool failed = false;
  for (const TableUse& use : uses) {
    if (!use.immediate) continue;
    Finding finding =
        time_finding("table/contact", "can be sent at its time", use.contact.value_or(Duration{}), use.runs);
    finding.has_margin = use.contact.has_value();
    if (!use.contact) finding.verdict = Verdict::Fails;
    finding.limit_origin = station.table.origin;
    if (finding.verdict == Verdict::Fails) {
      finding.cause = {use.command};
      finding.detail = use.contact ? "the window's usable part does not hold it, or another one goes up then"
                                   : "no window is open then";
      result.findings.push_back(std::move(finding));
      failed = true;
    } else if (!least || finding.margin < least->margin) {
      least = std::move(finding);
    }
  }
  if (least && !failed) result.findings.push_back(std::move(*least));
}

// What is to be withdrawn must be out of the table before it runs, as far before as loading must be.
void check_withdrawals(const Station& station, const std::vector<TableUse>& uses, TableResult& result) {
  std::optional<Finding> least;
  bool failed = false;
  for (const TableUse& use : uses) {
    if (!use.to_withdraw) continue;
    const Duration guard = station.table.load_guard;
    const Duration margin = use.withdrawn ? use.runs - *use.withdrawn - guard : Duration{};
    Finding finding = time_finding("table/withdraw", full_name(station, use.definition), margin, use.runs);
    finding.limit = guard.seconds();
    finding.value = margin.seconds() + guard.seconds();
    finding.limit_origin = station.table.origin;
    if (!use.withdrawn) {
      finding.verdict = Verdict::Fails;
      finding.has_margin = false;
    }
    if (finding.verdict == Verdict::Fails) {
      result.findings.push_back(std::move(finding));
      failed = true;
    } else if (!least || finding.margin < least->margin) {
      least = std::move(finding);
    }
  }
  if (least && !failed) result.findings.push_back(std::move(*least));
}

// The first instant that the station's time code cannot say any more.
Instant end_of_time_code(const StationClock& clock) {
  constexpr std::int64_t day = 86'400;
  // Of atomic time; leap seconds are far fewer than a day.
  constexpr std::int64_t greatest = std::numeric_limits<std::int64_t>::max() / nanoseconds_per_second;
  if (clock.time_code == TimeCodeForm::DaySegmented) return {(65'536 - 1) * day * nanoseconds_per_second};
  if (clock.coarse_octets > 4) return {greatest * nanoseconds_per_second};
  return {(std::int64_t{1} << (8 * clock.coarse_octets)) * nanoseconds_per_second};
}

void check_time_tags(const Station& station, const Timeline& timeline, TableResult& result) {
  const Instant end = end_of_time_code(station.clock);
  for (std::uint32_t i = 0; i < timeline.commands.size(); ++i) {
    if (timeline.commands[i].time < end || timeline.commands[i].immediate) continue;
    Finding finding = time_finding("table/time-tag", "time tag can be said", end - timeline.commands[i].time,
                                   timeline.commands[i].time);
    finding.verdict = Verdict::Fails;
    finding.cause = {TimedCommandId{i}};
    finding.limit_origin = station.table.origin;
    result.findings.push_back(std::move(finding));
    return;  // all later ones, too
  }
}

}  // namespace

TableResult check_table(const Station& station, const Timeline& timeline, const std::vector<TableUse>& uses) {
  TableResult result;
  check_caps(station, timeline, uses, result);
  check_aboard(station, timeline, uses, result);
  check_contact(station, uses, result);
  check_withdrawals(station, uses, result);
  check_operations(station, timeline, uses, result);
  check_time_tags(station, timeline, result);
  return result;
}

}  // namespace cairn
