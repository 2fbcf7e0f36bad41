// No truth that the bounds of the station file allow leaves the envelope of the lunation load: a few samples
// here, ten thousand in tests/bench/envelope_bench.cpp.

#include <gtest/gtest.h>

#include "tests/command/project.h"
#include "tests/heat/truths.h"

namespace cairn::test {
namespace {

TEST(LunationEnvelope, NoSampleLeavesIt) {
  const auto run = compile_load_file(source_path("examples/loads/alder-42-lunation.cairn"));
  ASSERT_TRUE(run->compiled);
  const Station& station = run->compiled->station.station;
  const Timeline& timeline = run->compiled->timeline;
  const auto sky = site_sky(station.site, timeline.begin, timeline.end);
  const HeatEnvelope& envelope = run->compiled->results.heat.envelope;
  ASSERT_EQ(envelope.bands.size(), station.thermal.nodes.size());
  Chance chance(7);
  double widest = 0;
  std::vector<double> nearest(envelope.bands.size(), -1e9);
  for (int n = 0; n < 30; ++n) {
    const Station truth = truth_of(station, chance);
    const Timeline events = truth_of(timeline, chance);
    const HeatResult sample =
        check_heat(truth, initial_state(truth), events, *sky, {.tolerance = 1e-3, .envelope = false});
    for (std::size_t i = 0; i < sample.traces.size(); ++i) {
      const double left = leaves(envelope.bands[i], sample.traces[i]);
      nearest[i] = std::max(nearest[i], left);
      EXPECT_LE(left, 0) << station.thermal.nodes[station.thermal.nodes.id_at(i)].name << ", sample " << n;
    }
  }
  for (std::size_t i = 0; i < nearest.size(); ++i) {
    for (const BandPoint& point : envelope.bands[i]) widest = std::max(widest, point.high - point.low);
    EXPECT_GT(nearest[i], -0.5 * widest) << "samples that stay in the middle show nothing";
  }
}

}  // namespace
}  // namespace cairn::test
