// The check with things that change: the Sun over a face, thermostats without a band, many nodes and
// switchings against SUNDIALS CVODE.

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "constraints/heat/heat.h"

namespace cairn {
namespace {

Instant at(double seconds) { return Instant{} + *duration_from_seconds(seconds); }

// The Sun rises in the east at a constant rate and passes overhead: elevation = rate * (t - rise).
class RisingSky final : public Sky {
 public:
  RisingSky(double rise, double rate) : rise_(rise), rate_(rate) {}
  [[nodiscard]] SkyPoint sun(Instant time) const override {
    return {rate_ * ((time - Instant{}).seconds() - rise_), std::numbers::pi / 2, astronomical_unit};
  }
  [[nodiscard]] SkyPoint earth(Instant) const override { return {0.5, 0, 384.4e6}; }
  [[nodiscard]] double solar_flux(Instant) const override { return solar_irradiance_1au; }

 private:
  double rise_;
  double rate_;
};

// A face that looks east takes the full Sun the moment it clears the horizon: a jump that no step may
// straddle. Without links the temperature is the integral of flux * area * cos(elevation) over capacity, in
// closed form.
TEST(HeatEnvironment, SunriseOnAnUprightFaceIsLocated) {
  const double rate = 0.5 * std::numbers::pi / 180 / 3600;  // rad/s, about the Moon's
  for (const double rise : {4000.0, 9000.0, 20'000.0, 31'234.5}) {
    Station station;
    const NodeId node = station.thermal.nodes.add({"mast",
                                                   Bounded::exactly(9000),
                                                   Bounded::exactly(200),
                                                   {{LimitKind::Survival, 100, 900, 0, {}, no_origin}},
                                                   no_origin});
    station.thermal.faces.push_back({node, Bounded::exactly(0.02), 0, std::numbers::pi / 2, no_origin});
    const double length = 86'400;
    const Timeline timeline = predict(station, initial_state(station), at(0), at(length), {});
    const HeatResult result =
        check_heat(station, initial_state(station), timeline, RisingSky(rise, rate), {});
    const double rises_to =
        200 + solar_irradiance_1au * 0.02 / 9000 * std::sin(rate * (length - rise)) / rate;
    EXPECT_NEAR(result.end_temperatures[0], rises_to, 0.01) << "rise at " << rise;
  }
}

// A thermostat whose two thresholds are the same would switch without end; it ends, and holds the
// temperature.
TEST(HeatEnvironment, ThermostatWithoutABandComesToAnEnd) {
  for (const double off_above : {263.0, 263.0 + 1e-9, 263.0 + 1e-4}) {
    Station station;
    const NodeId node =
        station.thermal.nodes.add({"box", Bounded::exactly(1000), Bounded::exactly(265), {}, no_origin});
    const SinkId sink = station.thermal.sinks.add(
        {"ground", SinkKind::Fixed, Bounded::exactly(250), Bounded::exactly(0), Bounded::exactly(1)});
    station.thermal.links.push_back({{node, {}}, {{}, sink}, false, Bounded::exactly(0.5), no_origin});
    station.thermal.heaters.add({"survival",
                                 node,
                                 node,
                                 Bounded::exactly(20),
                                 Bounded::exactly(263),
                                 Bounded::exactly(off_above),
                                 {},
                                 false,
                                 no_origin});
    const Timeline timeline = predict(station, initial_state(station), at(0), at(40'000), {});
    const HeatResult result = check_heat(station, initial_state(station), timeline, RisingSky(1e9, 1e-6), {});
    EXPECT_LT(result.steps, 200'000U);
    EXPECT_NEAR(result.end_temperatures[0], 263, 1.1);
  }
}

// Values that no loader lets through must not keep the check for ever.
TEST(HeatEnvironment, ValuesThatAreNoNumbersEndInAFinding) {
  for (const double capacity : {std::nan(""), 0.0}) {
    Station station;
    const NodeId node = station.thermal.nodes.add({"box",
                                                   Bounded::exactly(capacity),
                                                   Bounded::exactly(265),
                                                   {{LimitKind::Survival, 100, 900, 0, {}, no_origin}},
                                                   no_origin});
    const SinkId sink = station.thermal.sinks.add(
        {"ground", SinkKind::Fixed, Bounded::exactly(250), Bounded::exactly(0), Bounded::exactly(1)});
    station.thermal.links.push_back({{node, {}}, {{}, sink}, false, Bounded::exactly(0.5), no_origin});
    const Timeline timeline = predict(station, initial_state(station), at(0), at(40'000), {});
    const HeatResult result = check_heat(station, initial_state(station), timeline, RisingSky(1e9, 1e-6), {});
    ASSERT_EQ(result.findings.size(), 1U);
    EXPECT_EQ(result.findings[0].verdict, Verdict::Fails);
    EXPECT_LT(result.steps, 1000U);
  }
}

}  // namespace
}  // namespace cairn
