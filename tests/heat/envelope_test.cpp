// The guaranteed envelope against samples, against counter-examples to plain corner runs, and where theory
// says what it must be: no sample leaves it (Mueller 1927; Smith 1995; Coogan and Arcak 2015), it is the
// nominal course where nothing is uncertain, and the corner runs where the system is monotone.

#include "constraints/heat/envelope.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <numeric>
#include <vector>

#include "constraints/heat/exact.h"
#include "tests/heat/uncertain.h"

namespace cairn {
namespace {

// CAIRN_SAMPLES: samples per network; the benchmark page tells of longer runs.
std::size_t samples() {
  const char* text = std::getenv("CAIRN_SAMPLES");
  return text == nullptr ? 10000 : static_cast<std::size_t>(std::atoll(text));
}

const EvenSky& sky() {
  static const EvenSky even(12'000, 2e-5);
  return even;
}

double worst_of(const UncertainCase& made, const HeatResult& bounds, std::uint32_t seed, std::size_t count) {
  Chance chance(seed);
  double worst = -1e9;
  for (std::size_t n = 0; n < count; ++n) {
    const UncertainCase sample = sample_of(made, chance);
    const HeatResult result = check_heat(sample.station, sample.start, sample.timeline, sky(),
                                         {.tolerance = 1e-3, .keep_every = {}, .envelope = false});
    for (std::size_t i = 0; i < result.traces.size(); ++i) {
      worst = std::max(worst, leaves(bounds.envelope.bands[i], result.traces[i]));
    }
  }
  return worst;
}

void tell(const char* what, std::uint32_t seed, const HeatResult& bounds, double worst) {
  if (std::getenv("CAIRN_TELL") == nullptr) return;
  double width = 0;
  for (std::size_t i = 0; i < bounds.traces.size(); ++i) {
    const auto& band = bounds.envelope.bands[i];
    for (const BandPoint& p : band) width = std::max(width, p.high - p.low);
    std::printf("  node %zu: at the end %.2f .. %.2f, nominal %.2f\n", i, bounds.envelope.end_low[i],
                bounds.envelope.end_high[i], bounds.end_temperatures[i]);
  }
  std::printf("%s %u: left by %.4f K, widest %.2f K, numerical %.4f K, steps %zu against %zu\n", what, seed,
              worst, width, bounds.envelope.numerical, bounds.envelope.steps, bounds.steps);
}

bool same_points(const HeatResult& a, const HeatResult& b) {
  for (std::size_t i = 0; i < a.traces.size(); ++i) {
    const bool traces =
        std::equal(a.traces[i].begin(), a.traces[i].end(), b.traces[i].begin(), b.traces[i].end(),
                   [](const TemperaturePoint& x, const TemperaturePoint& y) {
                     return x.time == y.time && x.temperature == y.temperature;
                   });
    const auto& bands = a.envelope.bands[i];
    const auto& others = b.envelope.bands[i];
    const bool bounds = std::equal(bands.begin(), bands.end(), others.begin(), others.end(),
                                   [](const BandPoint& x, const BandPoint& y) {
                                     return x.time == y.time && x.low == y.low && x.high == y.high;
                                   });
    if (!traces || !bounds) return false;
  }
  return a.traces.size() == b.traces.size();
}

// Modes for all networks, or sparse algebra for all.
HeatOptions stepped_by(std::size_t modal_up_to) {
  HeatOptions options;
  options.modal_up_to = modal_up_to;
  return options;
}
constexpr std::size_t none = 0;

void expect_no_sample_leaves(const UncertainOptions& options, std::uint32_t seed, std::size_t count,
                             std::size_t modal_up_to = most_modal_nodes) {
  const UncertainCase made = uncertain_case(seed, options);
  const HeatResult bounds =
      check_heat(made.station, made.start, made.timeline, sky(), stepped_by(modal_up_to));
  ASSERT_EQ(bounds.envelope.bands.size(), options.nodes);
  for (std::size_t i = 0; i < options.nodes; ++i) {
    EXPECT_LE(leaves(bounds.envelope.bands[i], bounds.traces[i]), 0) << "the nominal course, seed " << seed;
  }
  const double worst = worst_of(made, bounds, seed, count);
  tell("network", seed, bounds, worst);
  EXPECT_LE(worst, 0) << "seed " << seed;
}

// Surroundings that were kept give the same to the last bit; those of something else are left alone.
TEST(Envelope, KeptSurroundingsChangeNothing) {
  for (const std::uint32_t seed : {1U, 2U, 3U}) {
    UncertainOptions options;
    const UncertainCase made = uncertain_case(seed, options);
    const HeatResult fresh = check_heat(made.station, made.start, made.timeline, sky(), {});
    const Surroundings kept = surroundings_of(made.station, sky(), made.timeline.begin, made.timeline.end);
    HeatOptions with;
    with.surroundings = &kept;
    for (int again = 0; again < 2; ++again) {
      EXPECT_TRUE(same_points(check_heat(made.station, made.start, made.timeline, sky(), with), fresh))
          << seed;
    }
    const EvenSky dark(1'000'000'000, 1e-6);
    const HeatResult night = check_heat(made.station, made.start, made.timeline, dark, {});
    EXPECT_TRUE(same_points(check_heat(made.station, made.start, made.timeline, dark, with), night)) << seed;
  }
}

TEST(Envelope, NoSampleLeavesIt) {
  for (std::uint32_t seed = 1; seed <= 2; ++seed) {
    UncertainOptions options;
    options.nodes = 2 + seed;
    options.draws = 10;
    options.spread = seed % 2 == 0 ? 0.2 : 0.05;
    expect_no_sample_leaves(options, seed, samples());
  }
}

TEST(Envelope, NoSampleLeavesItWhereThermostatsWork) {
  for (std::uint32_t seed = 11; seed <= 12; ++seed) {
    UncertainOptions options;
    options.nodes = seed - 8;
    options.draws = 8;
    options.length = 20'000;
    options.spread = seed % 2 == 0 ? 0.1 : 0.03;
    options.cold = true;
    options.other_thermostats = seed % 2 == 0;
    expect_no_sample_leaves(options, seed, samples());
  }
}

// Many networks of all kinds, few samples of each: thermostats without a band, sensors elsewhere, many nodes.
TEST(Envelope, NoSampleLeavesItOnManyNetworks) {
  for (std::uint32_t seed = 100; seed < 160; ++seed) {
    UncertainOptions options;
    options.nodes = 3 + seed % 6;
    options.spread = 0.02 + 0.05 * (seed % 5);
    options.cold = seed % 3 != 0;
    options.gap = seed % 4 == 0 ? 0.0 : seed % 4 == 1 ? 0.01 : 3;
    // A thermostat without a band switches every second.
    options.length = options.gap < 1 ? 1'000 : 15'000;
    expect_no_sample_leaves(options, seed, 20);
  }
}

// The same where bounds are stepped by sparse algebra, as those of large networks are. The last two are
// networks whose bounds were left by up to 0.03 K when a step to a switching that was not met ended one move
// after the end it had been computed for.
TEST(Envelope, NoSampleLeavesItBySparseAlgebra) {
  std::vector<std::uint32_t> seeds(40);
  std::iota(seeds.begin(), seeds.end(), 200);
  seeds.insert(seeds.end(), {1323, 2201});
  for (const std::uint32_t seed : seeds) {
    UncertainOptions options;
    options.nodes = 3 + seed % 6;
    options.spread = 0.02 + 0.05 * (seed % 5);
    options.cold = seed % 3 != 0;
    options.gap = seed % 4 == 0 ? 0.01 : 3;
    options.length = options.gap < 1 ? 1'000 : 15'000;
    expect_no_sample_leaves(options, seed, 20, none);
  }
}

// Two ways of computing the same bounds.
TEST(Envelope, BothMethodsFindTheSame) {
  for (std::uint32_t seed = 300; seed < 312; ++seed) {
    UncertainOptions options;
    options.nodes = 4 + seed % 5;
    options.cold = seed % 2 == 0;
    const UncertainCase made = uncertain_case(seed, options);
    const HeatResult modal = check_heat(made.station, made.start, made.timeline, sky(), {});
    const HeatResult sparse = check_heat(made.station, made.start, made.timeline, sky(), stepped_by(none));
    ASSERT_NE(modal.end_temperatures, sparse.end_temperatures) << "the same method twice shows nothing";
    const double close = modal.envelope.numerical + sparse.envelope.numerical + 0.02;
    EXPECT_LT(close, 0.2);
    for (std::size_t i = 0; i < options.nodes; ++i) {
      EXPECT_NEAR(modal.end_temperatures[i], sparse.end_temperatures[i], 0.01) << "seed " << seed;
      EXPECT_NEAR(modal.envelope.end_low[i], sparse.envelope.end_low[i], close) << "seed " << seed;
      EXPECT_NEAR(modal.envelope.end_high[i], sparse.envelope.end_high[i], close) << "seed " << seed;
    }
    ASSERT_EQ(modal.findings.size(), sparse.findings.size());
    for (std::size_t k = 0; k < modal.findings.size(); ++k) {
      EXPECT_EQ(modal.findings[k].verdict, sparse.findings[k].verdict);
      EXPECT_NEAR(modal.findings[k].margin, sparse.findings[k].margin, 0.02);
      EXPECT_NEAR(modal.findings[k].guaranteed_margin, sparse.findings[k].guaranteed_margin, close + 0.02);
    }
  }
}

// A guard that cannot fail is none: bounds half as wide as the truth are left.
TEST(Envelope, SamplesLeaveBoundsThatAreTooNarrow) {
  std::size_t left = 0;
  for (std::uint32_t seed = 1; seed <= 4; ++seed) {
    UncertainOptions options;
    options.spread = 0.2;
    const UncertainCase made = uncertain_case(seed, options);
    UncertainCase narrow = made;
    const auto halve = [](Bounded& value) {
      value.low = 0.5 * (value.low + value.nominal);
      value.high = 0.5 * (value.high + value.nominal);
    };
    for (ThermalNode& node : narrow.station.thermal.nodes) halve(node.initial);
    for (ThermalLink& link : narrow.station.thermal.links) halve(link.value);
    for (Draw& draw : narrow.timeline.draws) halve(draw.load);
    narrow.start = initial_state(narrow.station);
    const HeatResult bounds = check_heat(narrow.station, narrow.start, narrow.timeline, sky(), {});
    left += worst_of(made, bounds, seed, 100) > 0.05 ? 1U : 0U;
  }
  EXPECT_EQ(left, 4U);
}

// Everything at its nominal value.
UncertainCase exact_of(const UncertainCase& made) {
  UncertainCase exact = made;
  const auto fix = [](Bounded& value) { value = Bounded::exactly(value.nominal); };
  each_bounded(exact.station, fix);
  for (Draw& draw : exact.timeline.draws) {
    fix(draw.load);
    draw.begin.earliest = draw.begin.latest = draw.begin.nominal;
    draw.end.earliest = draw.end.latest = draw.end.nominal;
  }
  exact.start = initial_state(exact.station);
  return exact;
}

TEST(Envelope, IsTheNominalCourseWhereNothingIsUncertain) {
  std::size_t switchings = 0;
  for (std::uint32_t seed = 31; seed <= 46; ++seed) {
    const HeatOptions method = stepped_by(seed <= 38 ? most_modal_nodes : none);
    UncertainOptions options;
    options.nodes = 3 + seed % 4;
    options.cold = seed % 2 == 0;
    const UncertainCase exact = exact_of(uncertain_case(seed, options));
    ASSERT_TRUE(is_exact(exact.station, exact.start, exact.timeline));
    const HeatResult result = check_heat(exact.station, exact.start, exact.timeline, sky(), method);
    switchings += result.heaters.size();
    for (std::size_t i = 0; i < options.nodes; ++i) {
      // By sparse algebra steps are less exact than they are in modes, and thermostats drift: so much in
      // dozens of switchings.
      EXPECT_LE(leaves(result.envelope.bands[i], result.traces[i]), method.modal_up_to == none ? 0.05 : 0)
          << "seed " << seed;
      for (const BandPoint& point : result.envelope.bands[i]) {
        // Its own error, both solvers' tolerance, what the points are rounded out by.
        ASSERT_LE(point.high - point.low, 2 * result.envelope.numerical + 0.1)
            << "seed " << seed << " node " << i;
      }
    }
    EXPECT_LT(result.envelope.numerical, 0.1);
    ASSERT_EQ(result.envelope.may_be_on.size(), result.heaters.size()) << "seed " << seed;
    for (std::size_t k = 0; k < result.heaters.size(); ++k) {
      EXPECT_NEAR((result.envelope.may_be_on[k].begin - result.heaters[k].begin).seconds(), 0, 5);
    }
  }
  EXPECT_GT(switchings, 20U) << "thermostats that never switch show nothing";
}

// Heat, sinks and initial temperatures enter with one sign everywhere: the corners are the envelope.
TEST(Envelope, CornersReachItWhereTheNetworkIsMonotone) {
  for (std::uint32_t seed = 41; seed <= 50; ++seed) {
    const HeatOptions method = stepped_by(seed <= 46 ? most_modal_nodes : none);
    UncertainOptions options;
    options.nodes = 3 + seed % 4;
    options.couplings = options.own_thermostats = options.other_thermostats = options.times = false;
    UncertainCase made = uncertain_case(seed, options);
    for (ThermalNode& node : made.station.thermal.nodes)
      node.capacity = Bounded::exactly(node.capacity.nominal);
    for (ThermalLink& link : made.station.thermal.links) link.value = Bounded::exactly(link.value.nominal);
    made.start = initial_state(made.station);
    const HeatResult bounds = check_heat(made.station, made.start, made.timeline, sky(), method);
    for (const Bound bound : {Bound::Low, Bound::High}) {
      UncertainCase corner = made;
      const auto fix = [&](Bounded& value) { value = Bounded::exactly(pick(value, bound)); };
      for (ThermalNode& node : corner.station.thermal.nodes) fix(node.initial);
      for (Sink& sink : corner.station.thermal.sinks) {
        fix(sink.temperature);
        sink.albedo = Bounded::exactly(pick(sink.albedo, against(bound)));
        sink.emissivity = Bounded::exactly(pick(sink.emissivity, against(bound)));
      }
      for (SunlitFace& face : corner.station.thermal.faces) fix(face.area);
      for (IsotopeSource& source : corner.station.power.sources) fix(source.heat);
      for (Draw& draw : corner.timeline.draws) fix(draw.load);
      corner.start = initial_state(corner.station);
      const HeatResult run = check_heat(corner.station, corner.start, corner.timeline, sky(),
                                        {.tolerance = 1e-3, .keep_every = {}, .envelope = false});
      for (std::size_t i = 0; i < options.nodes; ++i) {
        EXPECT_LE(leaves(bounds.envelope.bands[i], run.traces[i]), 0);
        const double edge = bound == Bound::Low ? bounds.envelope.end_low[i] : bounds.envelope.end_high[i];
        EXPECT_NEAR(edge, run.end_temperatures[i], bounds.envelope.numerical + 0.02)
            << "seed " << seed << " node " << i;
      }
    }
  }
}

// ---- where two corner runs are not enough (own computation of the counter-examples of section 9.2 of the
// check values: network N3 with another capacity under a heat pulse; a thermostat started from two
// temperatures)

// N3: 60 W and 20 W, 0.5 W/K between, 0.02 and 0.3 m2 to 0 K, 5000 J/K at the second node; a pulse of heat in
// the first.
UncertainCase pulsed(Bounded capacity) {
  UncertainCase made;
  ThermalNetwork& thermal = made.station.thermal;
  const SinkId space = thermal.sinks.add(
      {"space", SinkKind::Space, Bounded::exactly(0), Bounded::exactly(0), Bounded::exactly(1)});
  const NodeId first = thermal.nodes.add({"first",
                                          capacity,
                                          Bounded::exactly(290),
                                          {{LimitKind::Survival, 100, 500, 0, {}, no_origin}},
                                          no_origin});
  const NodeId second =
      thermal.nodes.add({"second", Bounded::exactly(5000), Bounded::exactly(250), {}, no_origin});
  thermal.links.push_back({{first, {}}, {second, {}}, false, Bounded::exactly(0.5), no_origin});
  thermal.links.push_back({{first, {}}, {{}, space}, true, Bounded::exactly(0.02), no_origin});
  thermal.links.push_back({{second, {}}, {{}, space}, true, Bounded::exactly(0.3), no_origin});
  const UnitId unit = made.station.units.add({"box", "", {}, no_origin});
  made.timeline.end = at_second(40'000);
  const auto draw = [&](double from, double to, double watts, NodeId node) {
    const EventTime begin{at_second(from), at_second(from), at_second(from)};
    const EventTime end{at_second(to), at_second(to), at_second(to)};
    made.timeline.draws.push_back({begin, end, Bounded::exactly(watts), {{node, 1}}, unit, {}, {}});
  };
  draw(0, 40'000, 20, first);
  draw(0, 40'000, 20, second);
  draw(2'000, 8'000, 60, first);
  made.start = initial_state(made.station);
  return made;
}

TEST(Envelope, HoldsACapacityOfWhichNeitherCornerIsTheBound) {
  const HeatResult bounds = [] {
    const UncertainCase made = pulsed({25'000, 20'000, 30'000});
    return check_heat(made.station, made.start, made.timeline, sky(), {});
  }();
  std::vector<HeatResult> runs;
  for (const double capacity : {20'000.0, 22'000.0, 25'000.0, 28'000.0, 30'000.0}) {
    const UncertainCase made = pulsed(Bounded::exactly(capacity));
    runs.push_back(
        check_heat(made.station, made.start, made.timeline, sky(),
                   {.tolerance = 1e-4, .keep_every = seconds_to_duration(100), .envelope = false}));
    EXPECT_LE(leaves(bounds.envelope.bands[0], runs.back().traces[0]), 0);
    EXPECT_LE(leaves(bounds.envelope.bands[1], runs.back().traces[1]), 0);
  }
  // The corner runs cross: neither is the bound throughout.
  double least = 0;
  double greatest = 0;
  for (const TemperaturePoint& point : runs.front().traces[0]) {
    const auto& other = runs.back().traces[0];
    const auto there = std::lower_bound(other.begin(), other.end(), point.time,
                                        [](const TemperaturePoint& p, Instant t) { return p.time < t; });
    if (there == other.end()) continue;
    least = std::min(least, point.temperature - there->temperature);
    greatest = std::max(greatest, point.temperature - there->temperature);
  }
  EXPECT_LT(least, -0.5);
  EXPECT_GT(greatest, 0.5);
}

// A lump at a thermostat: C 2000 J/K, 0.1 W/K to 250 K, 10 W from 270 K to 275 K.
UncertainCase switched(Bounded initial, bool exact_time = true) {
  UncertainCase made;
  ThermalNetwork& thermal = made.station.thermal;
  const SinkId body = thermal.sinks.add(
      {"body", SinkKind::Fixed, Bounded::exactly(250), Bounded::exactly(0), Bounded::exactly(1)});
  const NodeId node = thermal.nodes.add({"box",
                                         Bounded::exactly(2000),
                                         initial,
                                         {{LimitKind::Survival, 265, 280, 0, {}, no_origin}},
                                         no_origin});
  thermal.links.push_back({{node, {}}, {{}, body}, false, Bounded::exactly(0.1), no_origin});
  thermal.heaters.add({"heater",
                       node,
                       node,
                       Bounded::exactly(10),
                       Bounded::exactly(270),
                       Bounded::exactly(275),
                       {},
                       false,
                       no_origin});
  made.timeline.end = at_second(exact_time ? 20'000 : 20'000.5);
  made.start = initial_state(made.station);
  return made;
}

TEST(Envelope, HoldsAThermostatThatLosesTheOrderOfItsStarts) {
  const UncertainCase made = switched({271, 270.5, 271.5});
  const HeatResult bounds = check_heat(made.station, made.start, made.timeline, sky(), {});
  std::vector<HeatResult> runs;
  for (const double initial : {270.5, 270.7, 271.0, 271.2, 271.5}) {
    const UncertainCase one = switched(Bounded::exactly(initial));
    runs.push_back(check_heat(one.station, one.start, one.timeline, sky(),
                              {.tolerance = 1e-4, .keep_every = seconds_to_duration(10), .envelope = false}));
    EXPECT_LE(leaves(bounds.envelope.bands[0], runs.back().traces[0]), 0);
  }
  double least = 0;
  double greatest = 0;
  for (double t = 0; t < 20'000; t += 50) {
    const auto value = [&](const HeatResult& run) {
      const auto& trace = run.traces[0];
      const auto at = std::lower_bound(trace.begin(), trace.end(), at_second(t),
                                       [](const TemperaturePoint& p, Instant i) { return p.time < i; });
      return at->temperature;
    };
    least = std::min(least, value(runs.back()) - value(runs.front()));
    greatest = std::max(greatest, value(runs.back()) - value(runs.front()));
  }
  EXPECT_LT(least, -0.4) << "the warmer start is the colder one later";
  EXPECT_GT(greatest, 0.4);
  // And the band is no wider than the thermostat's own: a heater that is strong enough keeps its node there.
  for (const BandPoint& point : bounds.envelope.bands[0]) {
    EXPECT_GT(point.low, 270 - 0.05);
    EXPECT_LT(point.high, 275 + 0.05);
  }
  ASSERT_EQ(bounds.findings.size(), 1U);
  EXPECT_EQ(bounds.findings[0].verdict, Verdict::Holds);
  EXPECT_EQ(bounds.findings[0].assurance, Assurance::Guaranteed);
  EXPECT_NEAR(bounds.findings[0].guaranteed_margin, 5, 0.05);
}

// Holds by the nominal values, not by all: unproven, with both margins.
TEST(Envelope, SaysUnprovenWhereOnlyTheNominalCourseHolds) {
  UncertainCase made = switched({272, 264.5, 275});
  const HeatResult bounds = check_heat(made.station, made.start, made.timeline, sky(), {});
  ASSERT_EQ(bounds.findings.size(), 1U);
  const Finding& finding = bounds.findings[0];
  EXPECT_EQ(finding.verdict, Verdict::Unproven);
  EXPECT_NEAR(finding.margin, 5, 0.05);
  EXPECT_TRUE(finding.has_guaranteed);
  EXPECT_NEAR(finding.guaranteed_margin, -0.5, 0.05);
  EXPECT_NEAR(finding.guaranteed_value, 264.5, 0.05);
  EXPECT_EQ(finding.interval_begin, made.timeline.begin);
  EXPECT_GT(finding.interval_end, made.timeline.begin);
}

// Within its limits, but nearer than the alert band: said, no verdict.
TEST(Envelope, AMarginInsideTheAlertBandIsSaid) {
  for (const double alert : {4.0, 6.0}) {
    UncertainCase made = switched({272, 271, 273});
    made.station.thermal.nodes[NodeId{0}].limits[0].alert = alert;
    const HeatResult result = check_heat(made.station, made.start, made.timeline, sky(), {});
    ASSERT_EQ(result.findings.size(), 1U);
    EXPECT_EQ(result.findings[0].verdict, Verdict::Holds);
    EXPECT_EQ(result.findings[0].detail, alert > 5 ? "inside the alert band of 6 K" : "");
  }
}

}  // namespace
}  // namespace cairn
