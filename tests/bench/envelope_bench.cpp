// The guaranteed envelope of the lunation load against samples of what may be in truth; and loads of a year
// over thirty nodes, their time and memory.
//
// Usage: envelope_bench EXAMPLES [samples]

#include <fmt/core.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <limits>
#include <string>
#include <vector>

#include "compiler/command/pipeline.h"
#include "tests/bench/spread.h"
#include "tests/heat/random_network.h"
#include "tests/heat/truths.h"

namespace cairn {
namespace {

HeatOptions as_in_a_plan(bool envelope) {
  HeatOptions options;
  options.trace_tolerance = 0.002;
  options.envelope = envelope;
  return options;
}

double timed_check(const Station& station, const Timeline& timeline, const Sky& sky,
                   const HeatOptions& options, HeatResult& result) {
  const StartState start = initial_state(station);
  result = {};
  const double begin = processor_seconds();
  result = check_heat(station, start, timeline, sky, options);
  return processor_seconds() - begin;
}

// Values of lines between points, at times that do not fall back.
template <class Point, class Read>
class Line {
 public:
  Line(const std::vector<Point>& points, Read read) : points_(&points), read_(read) {}
  double at(Instant time) {
    const std::vector<Point>& points = *points_;
    while (next_ + 1 < points.size() && points[next_ + 1].time < time) ++next_;
    const Point& from = points[next_];
    const Point& to = points[std::min(next_ + 1, points.size() - 1)];
    const double span = (to.time - from.time).seconds();
    const double part = span > 0 ? std::clamp((time - from.time).seconds() / span, 0.0, 1.0) : 0;
    return read_(from) + part * (read_(to) - read_(from));
  }

 private:
  const std::vector<Point>* points_;
  Read read_;
  std::size_t next_ = 0;
};

constexpr std::size_t looks = 2000;  // times at which samples and envelope are compared

// All that the samples reached, node by node.
struct Reached {
  std::vector<double> low = std::vector<double>(looks, std::numeric_limits<double>::infinity());
  std::vector<double> high = std::vector<double>(looks, -std::numeric_limits<double>::infinity());
  double left = -std::numeric_limits<double>::infinity();  // K by which a sample leaves the envelope
};

int lunation(const std::string& examples, std::size_t samples) {
  SourceFiles files;
  Diagnostics diagnostics;
  CompileOptions options;
  options.load = examples + "/loads/alder-42-lunation.cairn";
  const auto compiled = compile(World(), options, files, diagnostics);
  if (!compiled) {
    fmt::print(stderr, "{} does not compile\n", options.load);
    return 1;
  }
  const Station& station = compiled->station.station;
  const Timeline& timeline = compiled->timeline;
  const auto sky = site_sky(station.site, timeline.begin, timeline.end);
  std::vector<double> nominal_seconds;
  std::vector<double> envelope_seconds;
  HeatResult result;
  for (int round = 0; round < 5; ++round) {
    nominal_seconds.push_back(timed_check(station, timeline, *sky, as_in_a_plan(false), result));
    envelope_seconds.push_back(timed_check(station, timeline, *sky, as_in_a_plan(true), result) -
                               nominal_seconds.back());
  }
  const std::size_t nodes = station.thermal.nodes.size();
  std::vector<Instant> times;
  for (std::size_t k = 0; k < looks; ++k) {
    const double part = (static_cast<double>(k) + 0.5) / looks;
    times.push_back(timeline.begin +
                    *duration_from_seconds(part * (timeline.end - timeline.begin).seconds()));
  }
  std::vector<Reached> reached(nodes);
  Chance chance(1);
  double sample_seconds = 0;
  for (std::size_t n = 0; n < samples; ++n) {
    const Station truth = truth_of(station, chance);
    const Timeline events = truth_of(timeline, chance);
    HeatResult sample;
    sample_seconds += timed_check(truth, events, *sky, as_in_a_plan(false), sample);
    for (std::size_t i = 0; i < nodes; ++i) {
      Reached& node = reached[i];
      node.left = std::max(node.left, leaves(result.envelope.bands[i], sample.traces[i]));
      Line line(sample.traces[i], [](const TemperaturePoint& point) { return point.temperature; });
      for (std::size_t k = 0; k < looks; ++k) {
        const double here = line.at(times[k]);
        node.low[k] = std::min(node.low[k], here);
        node.high[k] = std::max(node.high[k], here);
      }
    }
  }
  std::sort(envelope_seconds.begin(), envelope_seconds.end());
  fmt::print("lunation: {} commands, {} nodes; nominal course {} s, its envelope {} s\n",
             timeline.commands.size(), nodes, middle_and_spread(nominal_seconds, 4),
             middle_and_spread(envelope_seconds, 4));
  fmt::print("  {} samples {:.1f} s, {:.0f} times the envelope\n", samples, sample_seconds,
             sample_seconds / envelope_seconds[envelope_seconds.size() / 2]);
  for (std::size_t i = 0; i < nodes; ++i) {
    Line low(result.envelope.bands[i], [](const BandPoint& point) { return point.low; });
    Line high(result.envelope.bands[i], [](const BandPoint& point) { return point.high; });
    double of_envelope = 0;
    double of_samples = 0;
    for (std::size_t k = 0; k < looks; ++k) {
      of_envelope += (high.at(times[k]) - low.at(times[k])) / looks;
      of_samples += (reached[i].high[k] - reached[i].low[k]) / looks;
    }
    fmt::print(
        "  {}: envelope {:.2f} K wide on average, samples {:.2f} K, {:.2f} times; {}\n",
        station.thermal.nodes[station.thermal.nodes.id_at(i)].name, of_envelope, of_samples,
        of_envelope / of_samples,
        reached[i].left > 0 ? fmt::format("LEFT by {:.3f} K", reached[i].left) : "no sample leaves it");
  }
  return std::any_of(reached.begin(), reached.end(), [](const Reached& node) { return node.left > 0; }) ? 1
                                                                                                        : 0;
}

double peak_mebibytes() {
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  return static_cast<double>(usage.ru_maxrss) / 1024;
}

RandomCase with_bounds(RandomCase made, double ratio) {
  const auto widen = [&](Bounded& value) {
    value = {value.nominal, value.nominal * (1 - ratio), value.nominal * (1 + ratio)};
  };
  for (ThermalNode& node : made.station.thermal.nodes) widen(node.capacity);
  for (ThermalLink& link : made.station.thermal.links) widen(link.value);
  for (Draw& draw : made.timeline.draws) widen(draw.load);
  return made;
}

// In a process of its own, so that its peak of memory is its own too.
void year(std::size_t nodes, std::size_t steps, bool kept) {
  std::fflush(stdout);
  const pid_t child = fork();
  if (child != 0) {
    int status = 0;
    waitpid(child, &status, 0);
    return;
  }
  {
    const RandomCase made = with_bounds(random_case(11, nodes, steps, 365 * 86'400.0), 0.05);
    const double before = peak_mebibytes();
    HeatOptions options = as_in_a_plan(false);
    options.traces = kept;
    HeatResult result;
    const double nominal = timed_check(made.station, made.timeline, NoSun(), options, result);
    options.envelope = true;
    const double both = timed_check(made.station, made.timeline, NoSun(), options, result);
    std::size_t bytes = 0;
    for (const auto& trace : result.traces) bytes += trace.capacity() * sizeof(TemperaturePoint);
    for (const auto& band : result.envelope.bands) bytes += band.capacity() * sizeof(BandPoint);
    const double grown = peak_mebibytes() - before;
    const double held = static_cast<double>(bytes) / 1048576;
    fmt::print(
        "a year, {} nodes, {} input steps, {}: nominal {:.2f} s in {} steps, with its envelope {:.2f} s; "
        "memory {:.1f} MiB, of which points {:.1f} MiB\n",
        nodes, steps, kept ? "courses kept" : "findings alone", nominal, result.steps, both, grown, held);
  }
  std::fflush(stdout);
  _exit(0);
}

int run(const std::string& examples, std::size_t samples) {
  for (const std::size_t steps : {2'000U, 20'000U, 200'000U}) {
    for (const bool kept : {false, true}) year(30, steps, kept);
  }
  year(100, 2'000, false);
  return samples == 0 ? 0 : lunation(examples, samples);
}

}  // namespace
}  // namespace cairn

int main(int count, char** arguments) {
  return cairn::run(count > 1 ? arguments[1] : "examples",
                    count > 2 ? static_cast<std::size_t>(std::atoll(arguments[2])) : 10'000);
}
