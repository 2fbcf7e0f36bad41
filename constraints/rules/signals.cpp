// The checks' points, joined to signals: power and temperature linear between points, counts in steps, the
// sky sampled closely enough, with what the samples miss and what the clock may be off as bounds.

#include "constraints/rules/signals.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "constraints/rules/bounds.h"

namespace cairn {

namespace {

void add(Signal& signal, Instant time, double value) {
  signal.times.push_back(time);
  signal.nominal.push_back(value);
  signal.lower.push_back(value);
  signal.upper.push_back(value);
}

// `read` takes a point of either kind; `falls` where the worst of the balance is the least of the quantity.
template <class Read>
Signal power_signal(const Predictions& predictions, bool falls, const Read& read) {
  Signal signal;
  if (predictions.power == nullptr) return signal;
  const PowerResult& power = *predictions.power;
  if (power.guaranteed.empty() || predictions.heat == nullptr) {
    for (const PowerPoint& point : power.points) add(signal, point.time, read(point));
  } else {
    Polyline nominal;
    Polyline worst;
    Polyline best;
    for (const PowerPoint& point : power.points) nominal.add(point.time, read(point));
    for (const ReservePoint& point : power.guaranteed) worst.add(point.time, read(point));
    for (const ReservePoint& point : best_power(*predictions.station, *predictions.timeline,
                                                predictions.heat->envelope.surely_on, power.solar)) {
      best.add(point.time, read(point));
    }
    signal = falls ? with_bounds(nominal, worst, best) : with_bounds(nominal, best, worst);
    signal.guaranteed = true;
  }
  signal.dimension = dimensions::power;
  return signal;
}

Signal charge_signal(const Predictions& predictions) {
  Signal signal;
  if (predictions.power == nullptr || predictions.power->charge.empty()) return signal;
  const PowerResult& power = *predictions.power;
  Polyline nominal;
  for (const ChargePoint& point : power.charge) nominal.add(point.time, point.charge);
  if (power.least_charge.empty() || predictions.heat == nullptr) {
    signal = with_bounds(nominal, nominal, nominal);
  } else {
    Polyline least;
    Polyline most;
    for (const ChargePoint& point : power.least_charge) least.add(point.time, point.charge);
    const std::optional<HeldCharge>& held = predictions.start->charge;
    const double begin = held ? held->most : predictions.station->power.storage->initial.high;
    for (const ChargePoint& point : most_charge(*predictions.station, *predictions.timeline,
                                                predictions.heat->envelope.surely_on, power.solar, begin)) {
      most.add(point.time, point.charge);
    }
    signal = with_bounds(nominal, least, most);
    signal.guaranteed = true;
  }
  signal.dimension = dimensions::energy;
  return signal;
}

Signal temperature_signal(const HeatResult* heat, NodeId node) {
  Signal signal;
  if (heat == nullptr || node.value >= heat->traces.size()) return signal;
  Polyline nominal;
  for (const TemperaturePoint& point : heat->traces[node.value]) nominal.add(point.time, point.temperature);
  const auto& bands = heat->envelope.bands;
  if (node.value < bands.size() && !bands[node.value].empty()) {
    Polyline lower;
    Polyline upper;
    for (const BandPoint& point : bands[node.value]) {
      lower.add(point.time, point.low);
      upper.add(point.time, point.high);
    }
    signal = with_bounds(nominal, lower, upper);
    signal.guaranteed = true;
  } else {
    signal = with_bounds(nominal, nominal, nominal);
  }
  signal.dimension = dimensions::temperature_difference;
  return signal;
}

template <class Read>
Signal table_signal(const TableResult* table, Instant begin, double at_first, const Read& read) {
  Signal signal;
  signal.dimension = dimensions::count;
  signal.guaranteed = true;
  if (table == nullptr) return signal;
  double value = at_first;
  for (const TablePoint& point : table->points) {
    if (!signal.times.empty()) add(signal, point.time, value);
    value = read(point);
    add(signal, point.time, value);
  }
  if (signal.times.empty() || signal.times.front() > begin) {
    // Nothing is in use before the first point.
    Signal whole = signal;
    signal.times.clear();
    signal.nominal.clear();
    signal.lower.clear();
    signal.upper.clear();
    add(signal, begin, at_first);
    for (std::size_t i = 0; i < whole.times.size(); ++i) {
      if (i == 0) add(signal, whole.times[0], at_first);
      add(signal, whole.times[i], whole.nominal[i]);
    }
  }
  return signal;
}

// How many windows are open; when each opens and closes depends on the clock by which it is asked.
Signal windows_signal(const Station& station, AntennaId antenna, Instant begin) {
  enum Count { Lower, Nominal, Upper };
  struct Edge {
    Instant time;
    Count count;
    int by;
  };
  std::vector<Edge> edges;
  for (const Window& window : station.windows) {
    if (antenna.is_valid() && window.antenna != antenna) continue;
    const EventTime opens = outside(station.clock, window.opens);
    const EventTime closes = outside(station.clock, window.closes);
    if (opens.latest < closes.earliest) {
      edges.push_back({opens.latest, Lower, 1});
      edges.push_back({closes.earliest, Lower, -1});
    }
    edges.push_back({opens.nominal, Nominal, 1});
    edges.push_back({closes.nominal, Nominal, -1});
    edges.push_back({opens.earliest, Upper, 1});
    edges.push_back({closes.latest, Upper, -1});
  }
  std::stable_sort(edges.begin(), edges.end(), [](const Edge& a, const Edge& b) { return a.time < b.time; });
  Signal signal;
  signal.dimension = dimensions::count;
  signal.guaranteed = true;
  int counts[3] = {0, 0, 0};
  const auto point = [&](Instant time) {
    signal.times.push_back(time);
    signal.lower.push_back(counts[Lower]);
    signal.nominal.push_back(counts[Nominal]);
    signal.upper.push_back(counts[Upper]);
  };
  point(edges.empty() ? begin : std::min(begin, edges.front().time));
  for (std::size_t i = 0; i < edges.size();) {
    const Instant time = edges[i].time;
    point(time);
    for (; i < edges.size() && edges[i].time == time; ++i) counts[edges[i].count] += edges[i].by;
    point(time);
  }
  return signal;
}

// ---- the sky --------------------------------------------------------------------------------------------

constexpr Duration sample_step = {600 * nanoseconds_per_second};

// Bounds by what a straight line between samples can miss (an eighth of the second difference), and by how
// far the quantity goes while the clock is off.
void widen(Signal& signal, const StationClock& clock) {
  double bend = 0;
  double slope = 0;
  for (std::size_t i = 1; i < signal.times.size(); ++i) {
    const double length = (signal.times[i] - signal.times[i - 1]).seconds();
    if (length <= 0) continue;
    slope = std::max(slope, std::abs(signal.nominal[i] - signal.nominal[i - 1]) / length);
    if (i < 2 || signal.times[i - 1] - signal.times[i - 2] != sample_step) continue;
    if (signal.times[i] - signal.times[i - 1] != sample_step) continue;
    bend =
        std::max(bend, std::abs(signal.nominal[i] - 2 * signal.nominal[i - 1] + signal.nominal[i - 2]) / 8);
  }
  for (std::size_t i = 0; i < signal.times.size(); ++i) {
    const double by = bend + slope * clock_uncertainty(clock, signal.times[i]).seconds();
    signal.lower[i] -= by;
    signal.upper[i] += by;
  }
}

template <class Read>
Signal sky_signal(const Predictions& predictions, bool turns, const Read& read) {
  Signal signal;
  signal.dimension = dimensions::angle;
  signal.guaranteed = true;
  if (predictions.sky == nullptr) return signal;
  const Timeline& timeline = *predictions.timeline;
  constexpr double turn = 2 * std::numbers::pi;
  for (Instant time = timeline.begin;;) {
    const double value = read(*predictions.sky, time);
    if (turns && !signal.times.empty() && std::abs(value - signal.nominal.back()) > turn / 2) {
      // Past north: up to the full turn (or down to nothing), and on from there.
      const double before = signal.nominal.back();
      const bool rises = before > value;
      const double unwound = value + (rises ? turn : -turn);
      const double edge = rises ? turn : 0;
      const double part = unwound == before ? 0 : std::clamp((edge - before) / (unwound - before), 0.0, 1.0);
      const Instant last = signal.times.back();
      const Duration step = time - last;
      const Instant cross =
          last + Duration{static_cast<std::int64_t>(part * static_cast<double>(step.nanoseconds))};
      add(signal, cross, edge);
      add(signal, cross, turn - edge);
    }
    add(signal, time, value);
    if (time >= timeline.end) break;
    time = std::min(timeline.end, time + sample_step);
  }
  widen(signal, predictions.station->clock);
  return signal;
}

}  // namespace

Signal signal_of(const RuleSignal& wanted, const Predictions& predictions) {
  const Instant begin = predictions.timeline->begin;
  const double cap = predictions.station->table.entries;
  switch (wanted.prediction) {
    case Prediction::PowerReserve:
      return power_signal(predictions, true, [](const auto& point) { return point.reserve; });
    case Prediction::PowerSource:
      return power_signal(predictions, true, [](const auto& point) { return point.source; });
    case Prediction::PowerLoad:
      return power_signal(predictions, false, [](const auto& point) { return point.load; });
    case Prediction::StoredCharge:
      return charge_signal(predictions);
    case Prediction::NodeTemperature:
      return temperature_signal(predictions.heat, wanted.node);
    case Prediction::SunElevation:
      return sky_signal(predictions, false,
                        [](const Sky& sky, Instant time) { return sky.sun(time).elevation; });
    case Prediction::SunAzimuth:
      return sky_signal(predictions, true,
                        [](const Sky& sky, Instant time) { return sky.sun(time).azimuth; });
    case Prediction::EarthElevation:
      return sky_signal(predictions, false,
                        [](const Sky& sky, Instant time) { return sky.earth(time).elevation; });
    case Prediction::TableEntries:
      return table_signal(predictions.table, begin, 0, [](const TablePoint& point) { return point.entries; });
    case Prediction::TableFree:
      return table_signal(predictions.table, begin, cap, [cap](const TablePoint& point) {
        return cap - static_cast<double>(point.entries);
      });
    case Prediction::TableBytes:
      return table_signal(predictions.table, begin, 0, [](const TablePoint& point) { return point.bytes; });
    case Prediction::WindowsOpen:
      return windows_signal(*predictions.station, wanted.antenna, begin);
  }
  return {};
}

}  // namespace cairn
