// A station with every key: each value arrives, in SI units, with its place.
//
// Expected values are plain arithmetic on the text of the file (unit factors: SI brochure, 9th edition).

#include <gtest/gtest.h>

#include <array>
#include <numbers>

#include "tests/model/sample.h"

namespace cairn {
namespace {

class WholeStation : public testing::Test {
 protected:
  void SetUp() override {
    samples::load(result, {}, "tests/model/whole_station.yaml");
    ASSERT_TRUE(result.loaded) << result.rendered();
    ASSERT_TRUE(result.diagnostics.all().empty()) << result.rendered();
  }
  [[nodiscard]] const Station& station() const { return result.loaded->station; }
  [[nodiscard]] std::string_view written(Origin origin) const {
    return result.files.text(result.loaded->place(origin));
  }
  samples::Result result;
};

TEST_F(WholeStation, SiteAndClock) {
  const Site& site = station().site;
  EXPECT_NEAR(site.latitude, -20 * std::numbers::pi / 180, 1e-12);
  EXPECT_NEAR(site.longitude, 30 * std::numbers::pi / 180, 1e-12);
  EXPECT_EQ(site.height, 120);
  ASSERT_EQ(site.horizon.size(), 2U);
  EXPECT_EQ(site.horizon[0].azimuth, 0);
  EXPECT_NEAR(site.horizon[1].elevation, 2 * std::numbers::pi / 180, 1e-12);
  const StationClock& clock = station().clock;
  EXPECT_EQ(clock.tick.nanoseconds, 2'000'000);
  EXPECT_NEAR(clock.rate_error, 2e-6, 1e-15);
  ASSERT_TRUE(clock.last_correlation);
  EXPECT_EQ(format_utc(*clock.last_correlation, published_leap_seconds()), "2031-05-01T00:00:00Z");
  EXPECT_EQ(clock.fine_octets, 3);
  EXPECT_FALSE(clock.preamble);
}

TEST_F(WholeStation, UnitsPartsStates) {
  const UnitId camera = find_unit(station(), "camera");
  ASSERT_TRUE(camera.is_valid());
  EXPECT_EQ(station().units[camera].note, "Horizon camera");
  ASSERT_EQ(station().units[camera].parts.size(), 3U);
  const PartId mode = find_part(station(), camera, "");
  EXPECT_EQ(station().units[camera].parts[0], mode);
  EXPECT_EQ(station().parts[mode].initial, find_state(station(), mode, "off"));
  EXPECT_FALSE(station().parts[find_part(station(), camera, "aim")].initial.is_valid());
  const State& imaging = station().states[find_state(station(), mode, "imaging")];
  EXPECT_NEAR(imaging.load.low, 4.275, 1e-12);
  EXPECT_NEAR(imaging.load.high, 4.725, 1e-12);
  ASSERT_EQ(imaging.heat.size(), 2U);
  EXPECT_EQ(imaging.heat[1].node, find_node(station(), "electronics"));
  EXPECT_NEAR(imaging.heat[1].share, 0.2, 1e-12);
}

TEST_F(WholeStation, CommandsRiseByNumberAndCarryTheirArguments) {
  ASSERT_EQ(station().commands.size(), 3U);
  std::array<int, 3> numbers{};
  for (std::size_t i = 0; i < 3; ++i) numbers[i] = station().commands[station().commands.id_at(i)].number;
  EXPECT_EQ(numbers, (std::array<int, 3>{21, 24, 25}));
  const CommandDefinition& expose = station().commands[find_command_by_number(station(), 25)];
  EXPECT_EQ(expose.command_class, CommandClass::Hazardous);
  EXPECT_TRUE(expose.once);
  ASSERT_EQ(expose.arguments.size(), 6U);
  EXPECT_EQ(encode_argument(expose.arguments[0], *expose.arguments[0].default_number), 20U);
  EXPECT_EQ(expose.arguments[1].default_number, 1);
  EXPECT_EQ(expose.arguments[2].default_number, 0);
  EXPECT_EQ(expose.arguments[3].allowed.size(), 2U);
  // -3 in seven bits of two's complement is 128 - 3.
  EXPECT_EQ(encode_argument(expose.arguments[4], *expose.arguments[4].default_number), 125U);
  // 0 degC lies 20 K, so 40 steps of half a kelvin, above the offset.
  EXPECT_EQ(encode_argument(expose.arguments[5], *expose.arguments[5].default_number), 40U);
  const CommandDefinition& cover = station().commands[find_command_by_number(station(), 24)];
  EXPECT_EQ(cover.least_spacing, seconds_to_duration(60));
  EXPECT_EQ(cover.arguments[0].default_choice, "closed");
  ASSERT_EQ(cover.moves.size(), 2U);
  EXPECT_EQ(cover.moves[0].when[0].number, 1);
  EXPECT_EQ(cover.moves[0].load, Bounded::exactly(3));
  EXPECT_FALSE(cover.moves[1].load);
  EXPECT_TRUE(cover.moves[0].from.empty());
  EXPECT_EQ(cover.pulses[0].length, Bounded::exactly(18));
  // "is not high" is kept as the other two.
  ASSERT_EQ(cover.needs.size(), 2U);
  EXPECT_EQ(cover.needs[1].states.size(), 2U);
  EXPECT_EQ(cover.needs[1].text, "relay.transmitter is not high");
}

TEST_F(WholeStation, PowerAndHeat) {
  const PowerSystem& power = station().power;
  ASSERT_EQ(power.sources.size(), 1U);
  // Julian year of 365.25 d, IAU style manual.
  EXPECT_NEAR(power.sources[0].half_life, 87.7 * 365.25 * 86400, 1);
  EXPECT_NEAR(power.sources[0].ageing_per_year.high, 0.009, 1e-12);
  EXPECT_NEAR(power.converter_efficiency.low, 0.91, 1e-12);
  EXPECT_EQ(power.reserve_floor, 4);
  EXPECT_EQ(power.shed_order.size(), 2U);
  EXPECT_EQ(power.dump_heat.size(), 1U);
  ASSERT_EQ(power.arrays.size(), 1U);
  const SolarArray& panel = power.arrays[0];
  EXPECT_NEAR(panel.area.low, 0.396, 1e-12);
  ASSERT_EQ(panel.efficiency.size(), 2U);
  EXPECT_NEAR(panel.efficiency[0].at, 213.15, 1e-9);
  EXPECT_NEAR(panel.efficiency[0].efficiency.high, 0.32, 1e-12);
  EXPECT_EQ(panel.node, find_node(station(), "radiator"));
  EXPECT_NEAR(panel.normal_azimuth, 1.5707963267948966, 1e-12);
  ASSERT_TRUE(power.storage);
  EXPECT_NEAR(power.storage->capacity.low, 57 * 3600, 1e-6);
  EXPECT_NEAR(power.storage->initial.high, 52 * 3600, 1e-6);
  EXPECT_NEAR(power.storage->floor, 20 * 3600, 1e-6);
  EXPECT_NEAR(power.storage->charge_efficiency.low, 0.95, 1e-12);
  EXPECT_NEAR(power.storage->discharge_limit.high, 41, 1e-12);
  EXPECT_NEAR(power.storage->self_discharge.high, 0.003, 1e-12);
  EXPECT_EQ(written(power.storage->floor_origin), "\"20 Wh\"");
  const Antenna& dish = station().antennas[find_antenna(station(), "north-dish")];
  ASSERT_TRUE(dish.place);
  EXPECT_NEAR(dish.place->height, 80, 1e-12);
  EXPECT_EQ(dish.place->mask.size(), 2U);
  EXPECT_TRUE(dish.place->refraction);
  const ThermalNetwork& thermal = station().thermal;
  const ThermalNode& electronics = thermal.nodes[find_node(station(), "electronics")];
  EXPECT_NEAR(electronics.initial.low, 286.15, 1e-9);
  EXPECT_NEAR(electronics.initial.high, 290.15, 1e-9);
  ASSERT_EQ(electronics.limits.size(), 2U);
  EXPECT_NEAR(electronics.limits[0].low, 243.15, 1e-9);
  EXPECT_EQ(electronics.limits[0].alert, 5);
  EXPECT_TRUE(electronics.limits[1].while_state);
  EXPECT_EQ(thermal.sinks.size(), 3U);
  const Sink& soil = thermal.sinks[SinkId{1}];
  EXPECT_NEAR(soil.albedo.low, 0.09, 1e-12);
  EXPECT_NEAR(soil.albedo.high, 0.15, 1e-12);
  EXPECT_TRUE(soil.emissivity.is_exact());
  EXPECT_EQ(soil.emissivity.nominal, 0.95);
  EXPECT_TRUE(thermal.begins_in_balance);
  ASSERT_EQ(thermal.links.size(), 2U);
  EXPECT_FALSE(thermal.links[0].radiative);
  EXPECT_TRUE(thermal.links[1].radiative);
  EXPECT_TRUE(thermal.links[1].to.sink.is_valid());
  EXPECT_NEAR(thermal.faces[0].normal_azimuth, std::numbers::pi, 1e-12);
  const Heater& heater = *thermal.heaters.begin();
  EXPECT_TRUE(heater.initially_on);
  EXPECT_EQ(heater.sensor, find_node(station(), "radiator"));
  EXPECT_TRUE(heater.enabled_while);
}

TEST_F(WholeStation, TableLinkWindows) {
  EXPECT_EQ(station().table.entries, 144U);
  EXPECT_EQ(station().table.horizon, seconds_to_duration(60 * 86400));
  EXPECT_EQ(station().link.rate, 1000);
  EXPECT_EQ(station().link.gap.nanoseconds, 250'000'000);
  ASSERT_EQ(station().windows.size(), 2U);
  const Window& first = *station().windows.begin();
  EXPECT_EQ(station().antennas[first.antenna].name, "west-dish");
  EXPECT_EQ(first.closes - first.opens, seconds_to_duration(7200));
}

TEST_F(WholeStation, OriginsLeadToTheText) {
  EXPECT_EQ(written(station().units[find_unit(station(), "camera")].origin), "camera");
  EXPECT_EQ(written(station().commands[find_command_by_number(station(), 25)].origin), "expose");
  EXPECT_EQ(written(station().power.reserve_floor_origin), "\"4 W\"");
  EXPECT_EQ(written(station().commands[find_command_by_number(station(), 24)].needs[0].origin),
            "camera is standby");
  EXPECT_EQ(written(station().thermal.nodes[find_node(station(), "electronics")].limits[0].origin),
            "\"-30 degC .. 60 degC\"");
  EXPECT_EQ(written(station().windows.begin()->origin), "\"2031-05-14T04:00:00Z\"");
  std::vector<Origin> all{station().table.origin, station().link.origin, station().power.origin};
  for (const auto& part : station().parts) all.push_back(part.origin);
  for (const auto& state : station().states) all.push_back(state.origin);
  for (const auto& command : station().commands) {
    for (const auto& move : command.moves) all.push_back(move.origin);
    for (const auto& argument : command.arguments) all.push_back(argument.origin);
  }
  for (const auto& exclusion : station().exclusions) all.push_back(exclusion.origin);
  for (const auto& source : station().power.sources) all.push_back(source.origin);
  for (const auto& array : station().power.arrays) all.push_back(array.origin);
  for (const auto& link : station().thermal.links) all.push_back(link.origin);
  for (const auto& face : station().thermal.faces) all.push_back(face.origin);
  for (const auto& heater : station().thermal.heaters) all.push_back(heater.origin);
  for (const auto& antenna : station().antennas) all.push_back(antenna.origin);
  for (const Origin origin : all) {
    ASSERT_LT(origin, result.loaded->origins.size());
    EXPECT_TRUE(result.loaded->place(origin).is_valid());
  }
}

TEST(ExampleStations, AllLoad) {
  for (const char* name : {"alder", "birch", "cedar", "damson"}) {
    samples::Result result;
    samples::load(result, {}, std::string("examples/stations/") + name + ".yaml");
    ASSERT_TRUE(result.loaded) << result.rendered();
    EXPECT_EQ(result.loaded->station.name, name);
    // Damson has windows of its own.
    EXPECT_EQ(result.loaded->files.size(), result.loaded->station.name == "damson" ? 4U : 5U);
  }
}

}  // namespace
}  // namespace cairn
