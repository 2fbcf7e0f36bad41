// A station as values: everything the checks and the planner know of one post.
//
// Pure data in SI units; made by compiler/model from YAML, or by hand in tests. Ids index the tables of the
// same Station. `Origin` is an opaque number that the maker may set to find the place a value came from (the
// compiler uses it to point into the YAML); the checks only carry it along.

#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "constraints/quantity/bounded.h"
#include "constraints/quantity/dimension.h"
#include "constraints/quantity/ids.h"
#include "constraints/quantity/instant.h"

namespace cairn {

struct UnitTag;
struct PartTag;
struct StateTag;
struct CommandTag;
struct NodeTag;
struct HeaterTag;
struct WindowTag;
struct AntennaTag;
using UnitId = Id<UnitTag>;    // a box: camera, relay, vane
using PartId = Id<PartTag>;    // one state graph of a unit: camera (its mode), camera.cover
using StateId = Id<StateTag>;  // one state of one part; unique in the station
using CommandId = Id<CommandTag>;
using NodeId = Id<NodeTag>;
using HeaterId = Id<HeaterTag>;
using WindowId = Id<WindowTag>;
using AntennaId = Id<AntennaTag>;

using Origin = std::uint32_t;
inline constexpr Origin no_origin = 0xFFFFFFFFU;

// ---- units, parts, states -------------------------------------------------------------------------------

// Where a share of some dissipation goes; what the shares leave over leaves the station (radio waves, light).
struct HeatShare {
  NodeId node;
  double share = 0;  // 0..1
};

struct State {
  std::string name;
  PartId part;
  Bounded load;  // W, drawn from the bus while in this state
  std::vector<HeatShare> heat;
  Origin origin = no_origin;
};

struct Part {
  std::string name;  // "" for the unit's own mode
  UnitId unit;
  std::vector<StateId> states;
  StateId initial;  // invalid: not known until a command sets it
  Origin origin = no_origin;
};

struct StationUnit {
  std::string name;
  std::string note;
  std::vector<PartId> parts;  // the one named "" first, if there is one
  Origin origin = no_origin;
};

// PART is one of these states ("relay.transmitter is low or off"; "is not" is stored as the complement).
struct StateCondition {
  PartId part;
  std::vector<StateId> states;
  std::string text;  // as written
  Origin origin = no_origin;
};

// ---- commands -------------------------------------------------------------------------------------------

enum class CommandClass : std::uint8_t { Routine, Caution, Hazardous, Irreversible };
std::string_view to_word(CommandClass command_class);  // "routine", "caution", "hazardous", "irreversible"

enum class ArgumentType : std::uint8_t { Quantity, Count, Choice, Flag };

struct Choice {
  std::string name;
  std::uint64_t raw = 0;
};

// Linear: raw = (value in SI - offset) / step, rounded to nearest. The other laws give the value of each raw
// count and never turn back; what is sent is the count whose value lies nearest.
enum class Calibration : std::uint8_t { Linear, Polynomial, Points, Values };

struct CalibrationPoint {
  std::int64_t raw = 0;
  double value = 0;  // SI
};

// Unsigned or two's complement in `width` bits.
struct ArgumentEncoding {
  int width = 8;  // bits, 1..64
  bool is_signed = false;
  double step = 1;
  double offset = 0;
  Calibration calibration = Calibration::Linear;
  std::vector<double> coefficients = {};  // Polynomial: value = c0 + c1 raw + c2 raw^2 ..., SI
  std::vector<CalibrationPoint> points =
      {};  // Points: straight lines between them. Values: nothing between them
  std::optional<double> resolution = std::nullopt;  // SI: what is sent may differ so much from what is asked
};

struct ArgumentDefinition {
  std::string name;
  ArgumentType type = ArgumentType::Count;
  Dimension dimension;            // for Quantity
  std::string unit;               // for Quantity: the unit it is shown in
  std::optional<double> minimum;  // SI; for Quantity and Count
  std::optional<double> maximum;
  std::vector<double> allowed;  // SI; when not empty only these values
  std::vector<Choice> choices;  // for Choice
  ArgumentEncoding encoding;
  std::optional<double> default_number;  // Quantity and Count: SI; Flag: 0 or 1
  std::optional<std::string> default_choice;
  std::string note;
  Origin origin = no_origin;
};

// The value of one argument in a timed command.
struct ArgumentValue {
  double number = 0;      // Quantity in SI, Count, Flag as 0 or 1; for a Choice its raw number
  std::uint64_t raw = 0;  // as sent, in `width` bits
};

// Applies only when the argument has this value.
struct MoveCondition {
  std::uint32_t argument = 0;  // index into CommandDefinition::arguments
  double number = 0;           // Choice: its raw number
};

// What a command does to a part. The move whose `when` holds and whose `from` contains the part's state is
// taken; a command that has moves for a part but none that fits is illegal in that state.
struct Move {
  PartId part;
  std::vector<StateId> from;  // empty: from any state, also an unknown one
  StateId to;
  Bounded takes;                // s
  std::optional<Bounded> load;  // W during the move; otherwise the greater of the two states' loads
  std::vector<MoveCondition> when;
  Origin origin = no_origin;
};

// Extra load for a while after a command begins: a motor, a heater pulse.
struct Pulse {
  Bounded load;    // W
  Bounded length;  // s
  std::vector<HeatShare> heat;
};

// Hazardous in two steps: armed by another command, at most so long before.
struct TwoStep {
  CommandId arm;
  Duration within;
  CommandId disarm;  // invalid: nothing takes the arming back but time
};

// What a command does to the command table itself when it runs.
enum class TableOperation : std::uint8_t {
  None,
  Clear,    // all entries go, and what they hold never runs
  Disable,  // entries whose time comes are dropped
  Enable,   // they run again
};

struct CommandDefinition {
  std::string name;  // within its unit
  UnitId unit;
  std::uint16_t number = 0;  // the command number on the link
  CommandClass command_class = CommandClass::Routine;
  Duration duration;       // how long the unit is busy with it; the next statement in a block starts after it
  Duration least_spacing;  // between two executions of this same command
  std::vector<ArgumentDefinition> arguments;
  std::vector<StateCondition> needs;
  std::vector<Move> moves;
  std::vector<Pulse> pulses;
  bool once = false;  // one-shot: at most once in the station's life
  std::optional<TwoStep> two_step = std::nullopt;
  TableOperation table = TableOperation::None;
  bool only_in_window = false;  // runs only while an uplink window is open
  std::string note;
  Origin origin = no_origin;
};

// ---- forbidden combinations -----------------------------------------------------------------------------

enum class ExclusionKind : std::uint8_t {
  AtMostOne,      // of these conditions, at most one holds at any time
  NeverTogether,  // not all of these hold at once
  Needs,          // whenever the first holds, all the others hold
};

struct Exclusion {
  std::string name;
  ExclusionKind kind = ExclusionKind::NeverTogether;
  std::vector<StateCondition> conditions;
  std::string why;
  Origin origin = no_origin;
};

// ---- when not to command --------------------------------------------------------------------------------

// Something outside the station that its commanding has to mind: a landing or departure near by.
struct StationEvent {
  std::string name;
  Instant time;
  Origin origin = no_origin;
};

// What commands are inhibited around.
enum class InhibitKind : std::uint8_t { Windows, Mark, Event };
struct Inhibit {
  std::string name;
  InhibitKind kind = InhibitKind::Windows;
  std::string target;  // antenna (empty: any), mark or event
  Duration before;
  Duration after;
  std::vector<CommandId> commands;
  std::string why;
  Origin origin = no_origin;
};

// Entries that wait in the table for the case that nobody reaches the station any more: its last ones.
struct LastResort {
  Duration after;  // the first of them runs so long after the last uplink
  std::vector<CommandId> commands;
  Origin origin = no_origin;
};

// ---- power ----------------------------------------------------------------------------------------------

// Electrical power falls with the isotope's decay and the converter's ageing:
// P(t) = power * 2^(-(t - reference) / half_life) * (1 - ageing_per_year)^((t - reference) / year).
struct IsotopeSource {
  std::string name;
  Bounded power;  // W electrical at `reference`
  Instant reference;
  double half_life = 0;     // s
  Bounded ageing_per_year;  // ratio
  Bounded heat;             // W thermal at `reference`, into `heat_node`; decays by half-life only
  NodeId heat_node;         // invalid: heat not modelled
  Origin origin = no_origin;
};

// A point of a law of efficiency: straight lines between points, level beyond them.
struct EfficiencyPoint {
  double at = 0;       // W on the bus, of a converter; K, of a solar array
  Bounded efficiency;  // ratio, above 0
};

// Photovoltaic cells that see the Sun over the horizon mask; while the Sun is up,
// P(t) = flux(t) * area * max(0, cos of the angle between the Sun and the normal) * efficiency(temperature)
//        * (1 - ageing_per_year)^((t - reference) / year).
struct SolarArray {
  std::string name;
  Bounded area;                             // m2 of cells
  std::vector<EfficiencyPoint> efficiency;  // rising by temperature, one at least; one: at any temperature
  double normal_elevation = 0;              // rad; pi/2 looks up
  double normal_azimuth = 0;                // rad from north through east
  NodeId node;                              // whose temperature the cells have; with one point: invalid
  Instant reference;
  Bounded ageing_per_year;  // ratio
  Origin origin = no_origin;
};

// A battery or a capacitor, on the sources' side of the converter: it takes in what the loads leave of the
// sources' power, and gives what they lack. Energies are those that it holds, powers those at its terminals.
struct Storage {
  Bounded capacity;                                    // J
  Bounded initial;                                     // J, where no load came before
  double floor = 0;                                    // J that must stay
  Bounded charge_efficiency = Bounded::exactly(1);     // held per taken in
  Bounded discharge_efficiency = Bounded::exactly(1);  // given per held
  Bounded charge_limit;                                // W taken in, at most
  Bounded discharge_limit;                             // W given, at most
  Bounded self_discharge;                              // share of what it holds that it loses in a day
  std::vector<HeatShare> heat;                         // where its losses go
  Origin floor_origin = no_origin;
  Origin origin = no_origin;
};

struct PowerSystem {
  std::vector<IsotopeSource> sources;
  Bounded converter_efficiency =
      Bounded::exactly(1);  // bus power out / source power in, where there are no points
  // Two or more, rising by load. More load never draws less: the load over its efficiency rises from each
  // point to the next, for the low, nominal and high values alike.
  std::vector<EfficiencyPoint> converter_points = {};
  std::vector<HeatShare> converter_heat;  // where its loss goes
  double reserve_floor = 0;               // W of source power that must stay unused
  Origin reserve_floor_origin = no_origin;
  std::vector<UnitId> shed_order;    // first to go first
  std::vector<HeatShare> dump_heat;  // where unused isotope power goes (the dump load)
  Origin origin = no_origin;
  std::vector<SolarArray> arrays = {};
  std::optional<Storage> storage = std::nullopt;
};

// ---- thermal network ------------------------------------------------------------------------------------

enum class LimitKind : std::uint8_t { Survival, Operating };

struct TemperatureLimit {
  LimitKind kind = LimitKind::Survival;
  double low = 0;                             // K
  double high = 0;                            // K
  double alert = 0;                           // K inside the limits where an alert band begins
  std::optional<StateCondition> while_state;  // Operating: only while this holds; none: always
  Origin origin = no_origin;
};

struct ThermalNode {
  std::string name;
  Bounded capacity;  // J/K
  Bounded initial;   // K
  std::vector<TemperatureLimit> limits;
  Origin origin = no_origin;
};

// A temperature that the network does not change.
enum class SinkKind : std::uint8_t { Space, Ground, Fixed };
struct Sink {
  std::string name;
  SinkKind kind = SinkKind::Fixed;
  Bounded temperature;  // K: Space and Fixed; Ground: the night temperature
  // Ground by day: T^4 = night^4 + (1 - albedo) * S * max(0, sin(sun elevation)) / (emissivity * sigma),
  // radiative equilibrium without storage.
  Bounded albedo;
  Bounded emissivity = Bounded::exactly(1);
};

struct SinkTag;
using SinkId = Id<SinkTag>;

// One end of a link: a node, or a sink.
struct LinkEnd {
  NodeId node;
  SinkId sink;
};

struct ThermalLink {
  LinkEnd from;
  LinkEnd to;
  bool radiative = false;
  Bounded value;  // W/K, or m2 (emissivity x area x view) for a radiative link
  Origin origin = no_origin;
};

// Sunlight absorbed: flux * area * max(0, cos of the angle between the Sun and the face's normal), nothing
// while the Sun's centre is below the horizon mask.
struct SunlitFace {
  NodeId node;
  Bounded area;                 // m2, absorptance times area times what a shade lets through
  double normal_elevation = 0;  // rad; pi/2 looks up
  double normal_azimuth = 0;    // rad from north through east
  Origin origin = no_origin;
};

struct Heater {
  std::string name;
  NodeId node;                                  // where its heat goes
  NodeId sensor;                                // whose temperature switches it
  Bounded power;                                // W from the bus
  Bounded on_below;                             // K
  Bounded off_above;                            // K
  std::optional<StateCondition> enabled_while;  // none: always
  bool initially_on = false;
  Origin origin = no_origin;
};

struct ThermalNetwork {
  Table<NodeId, ThermalNode> nodes;
  Table<SinkId, Sink> sinks;
  std::vector<ThermalLink> links;
  std::vector<SunlitFace> faces;
  Table<HeaterId, Heater> heaters;
  bool begins_in_balance = false;  // where no load came before
};

// ---- site, clock, table, link, windows ------------------------------------------------------------------

enum class Body : std::uint8_t { Moon, Mars };

struct MaskPoint {
  double azimuth = 0;    // rad
  double elevation = 0;  // rad
};

// Sun and Earth over the site at an instant, given by a table instead of models.
struct SkyRow {
  Instant time;
  double sun_elevation = 0;  // rad, as all angles
  double sun_azimuth = 0;    // from north through east
  double sun_distance = 0;   // m
  double earth_elevation = 0;
  double earth_azimuth = 0;
  double earth_distance = 0;
};

struct Site {
  Body body = Body::Moon;
  double latitude = 0;             // rad
  double longitude = 0;            // rad, east positive
  double height = 0;               // m
  std::vector<MaskPoint> horizon;  // rising by azimuth; linear between, wraps; empty: flat at 0
  std::vector<SkyRow> sky = {};    // rising by time, two at least; empty: models
};

enum class TimeCodeForm : std::uint8_t { Unsegmented, DaySegmented };  // CCSDS 301.0-B CUC and CDS

struct StationClock {
  Duration tick = {1'000'000};  // what execution times are rounded to; default 1 ms
  double rate_error = 0;        // largest |rate error|, ratio (1e-6 is 1 ppm)
  std::optional<Instant> last_correlation;
  TimeCodeForm time_code = TimeCodeForm::Unsegmented;
  int coarse_octets = 4;  // Unsegmented, epoch 1958 TAI
  int fine_octets = 2;
  bool preamble = true;  // whether the P-field is sent before the time
};

struct CommandTable {
  std::uint32_t entries = 0;  // cap
  std::uint32_t bytes = 0;    // cap; 0: no cap on bytes
  Duration least_spacing;     // between any two executions
  Duration horizon;           // how far ahead of loading a time tag may lie; 0: no limit
  Duration load_guard;        // an entry must be aboard this long before it runs
  Origin origin = no_origin;
};

// How commands travel: packets, in frames and link units where the station takes these, or short command
// words.
enum class LinkProfile : std::uint8_t { Packet, Word };

// CCSDS 232.0-B transfer frames.
struct FrameLayout {
  std::uint16_t spacecraft_id = 0;  // 10 bits
  std::uint8_t channel = 0;         // virtual channel, 6 bits
  std::uint8_t access_point = 0;    // of the segment header, 6 bits
  std::uint16_t longest = 256;      // octets of a whole frame, at most 1024
  bool in_sequence = true;          // type AD, numbered and taken in order; otherwise type BD
  bool segments = true;             // each frame has a segment header, so that a packet may be cut
  bool blocking = false;            // several packets may share a frame
  bool error_control = true;
};

// CCSDS 231.0-B link transmission units, one frame in each.
struct UnitLayout {
  bool randomized = false;
  std::uint16_t acquisition = 16;  // octets of alternating bits before each unit
  std::uint16_t idle = 8;          // the same after each
};

// Command words: address, its complement, two bits of kind, body, check.
enum class WordCheck : std::uint8_t { Parity, Complement };
struct WordLayout {
  int address_width = 8;
  int body_width = 16;
  WordCheck check = WordCheck::Complement;
  int repeats = 1;  // each word is sent so often

  // Bits of one word; a station's words fill whole octets.
  [[nodiscard]] int width() const {
    return 2 * address_width + 2 + body_width + (check == WordCheck::Parity ? 1 : 2 + body_width);
  }
};

struct CommandLink {
  double rate = 0;                   // bit/s
  Duration set_up;                   // after a window opens, before the first bit
  Duration margin;                   // kept free at each end of a window, besides
  Duration gap;                      // between packets
  std::uint16_t application_id = 0;  // APID of the station's command handler, 0..2046
  std::uint16_t source_id = 0;
  Origin origin = no_origin;
  LinkProfile profile = LinkProfile::Packet;
  std::optional<FrameLayout> frames = std::nullopt;  // Packet: none sends bare packets
  std::optional<UnitLayout> units = std::nullopt;    // with frames; none sends bare frames
  WordLayout words = {};                             // Word
};

// Where on the Earth an antenna stands (WGS 84), and above what it sees.
struct AntennaPlace {
  double latitude = 0;          // rad, geodetic
  double longitude = 0;         // rad, east positive
  double height = 0;            // m above the ellipsoid
  std::vector<MaskPoint> mask;  // rising by azimuth; linear between, wraps
  bool refraction = false;      // the air lifts what is seen (sky/antenna.h)
};

struct Antenna {
  std::string name;
  Origin origin = no_origin;
  std::optional<AntennaPlace> place = std::nullopt;
};

struct Window {
  AntennaId antenna;
  Instant opens;
  Instant closes;
  Origin origin = no_origin;
};

struct Station {
  std::string name;
  std::string title;
  std::uint16_t address = 0;
  Site site;
  StationClock clock;
  Table<UnitId, StationUnit> units;
  Table<PartId, Part> parts;
  Table<StateId, State> states;
  Table<CommandId, CommandDefinition> commands;  // rising by number
  std::vector<Exclusion> exclusions;
  std::vector<StationEvent> events;
  std::vector<Inhibit> inhibits;
  std::optional<LastResort> last_resort = std::nullopt;
  PowerSystem power;
  ThermalNetwork thermal;
  CommandTable table;
  CommandLink link;
  Table<AntennaId, Antenna> antennas;
  Table<WindowId, Window> windows;  // rising by opening
};

// ---- look-ups -------------------------------------------------------------------------------------------

UnitId find_unit(const Station& station, std::string_view name);
// `part` "" is the unit's own mode. Invalid id when there is none.
PartId find_part(const Station& station, UnitId unit, std::string_view part);
StateId find_state(const Station& station, PartId part, std::string_view name);
CommandId find_command(const Station& station, UnitId unit, std::string_view name);
CommandId find_command_by_number(const Station& station, std::uint16_t number);
NodeId find_node(const Station& station, std::string_view name);
AntennaId find_antenna(const Station& station, std::string_view name);

std::string full_name(const Station& station, PartId part);        // "camera", "camera.cover"
std::string full_name(const Station& station, CommandId command);  // "camera.cover"
bool contains(const StateCondition& condition, StateId state);

// The raw value of an argument; nullopt when it does not fit in its width or calibration. The inverse gives
// SI.
std::optional<std::uint64_t> encode_argument(const ArgumentDefinition& argument, double number);
double decode_argument(const ArgumentDefinition& argument, std::uint64_t raw);
// The least and the greatest raw count, as numbers with a sign.
std::int64_t least_count(const ArgumentEncoding& encoding);
std::int64_t greatest_count(const ArgumentEncoding& encoding);
// The raw count whose value does not lie beyond that of the one before, seen from the first step on; none:
// the law rises or falls all the way, and can be read backwards.
std::optional<std::int64_t> where_it_turns(const ArgumentEncoding& encoding);
// What is sent minus what is asked, SI; 0 when nothing is lost but the last bits of a decimal fraction.
double quantisation_error(const ArgumentDefinition& argument, const ArgumentValue& value);
// "0.4 ms", in the unit it is shown in.
std::string show_difference(const ArgumentDefinition& argument, double difference);
// "0.8 m", "3", "closed", "true": as the list shows it.
std::string show_argument(const ArgumentDefinition& argument, const ArgumentValue& value);

}  // namespace cairn
