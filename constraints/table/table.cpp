// Occupancy of the command table by one sweep over loadings and executions.

#include "constraints/table/table.h"

#include <algorithm>
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

// The entries aboard at `at` that were loaded last: without as many of them as are too many, the table holds.
std::vector<TimedCommandId> last_loaded(const std::vector<TableUse>& uses, Instant at, double excess, bool bytes) {
  std::vector<const TableUse*> aboard;
  for (const TableUse& use : uses) {
    if (use.aboard && *use.aboard <= at && at < use.runs && use.command.is_valid()) aboard.push_back(&use);
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
    if (!use.aboard || use.runs <= *use.aboard) continue;
    changes[*use.aboard].entries += 1;
    changes[*use.aboard].bytes += use.bytes;
    changes[use.runs].entries -= 1;
    changes[use.runs].bytes -= use.bytes;
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
  settle(cap_finding("table/entries", "entries", peak_entries.entries, station.table.entries, dimensions::count,
                     peak_entries.time, station),
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
    if (!use.command.is_valid()) continue;
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
    if (use.runs >= timeline.begin) order.push_back(&use);
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

TableResult check_table(const Station& station, const Timeline& timeline, const std::vector<TableUse>& uses) {
  TableResult result;
  check_caps(station, timeline, uses, result);
  check_aboard(station, timeline, uses, result);
  return result;
}

}  // namespace cairn
