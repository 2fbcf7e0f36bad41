// Typed reading of the tree: the words every section of the station file is read with.
//
// Each function reports what is wrong and gives a harmless value instead, so that reading goes on and many
// errors come in one run; load_station throws the station away when anything was reported. Sections are read
// in an order in which names are known before they are used: nodes, units, commands, the rest.

#pragma once

#include <initializer_list>
#include <limits>
#include <optional>
#include <string>
#include <string_view>
#include <unordered_map>
#include <utility>
#include <vector>

#include "compiler/model/model.h"
#include "compiler/model/node.h"
#include "compiler/model/quantity_text.h"
#include "compiler/text/catalogue.h"

namespace cairn {

struct StationLimits {
  std::size_t errors = 200;  // then reading goes on in silence
  std::size_t states_per_part = 128;
  std::size_t name_letters = 64;
  std::size_t candidates = 500;  // names looked through for a near spelling
};

// What values a place accepts, in SI.
struct Accepted {
  double low = -std::numeric_limits<double>::infinity();
  double high = std::numeric_limits<double>::infinity();
  bool above_low = false;  // `low` itself is not accepted
};
inline constexpr Accepted anything{};
inline constexpr Accepted not_negative{.low = 0};
inline constexpr Accepted positive{.low = 0, .above_low = true};

class Reader {
 public:
  Reader(LoadedStation& loaded, const SourceFiles& files, const LeapSecondTable& leap_seconds,
         Diagnostics& diagnostics)
      : station(loaded.station),
        loaded_(loaded),
        files_(files),
        leap_seconds_(leap_seconds),
        diagnostics_(diagnostics) {}

  Station& station;

  template <class... Args>
  DiagnosticBuilder report(const DiagnosticKind<Args...>& kind, Span place,
                           const std::type_identity_t<Args>&... args) {
    return room_for_error(place).report(kind, place, args...);
  }
  Origin origin(Span place);

  // The part [begin, end) of a scalar's text; all of it where the file writes it with escapes.
  [[nodiscard]] Span part_of(const YamlNode& scalar, std::size_t begin, std::size_t end) const;
  [[nodiscard]] Span inside(const YamlNode& scalar) const { return part_of(scalar, 0, scalar.text.size()); }
  // "did you mean ...?", and which names there are.
  void suggest(DiagnosticBuilder builder, Span place, std::string_view word,
               const std::vector<std::string>& known);

  bool is_map(const YamlNode& node, const std::string& what);
  bool is_list(const YamlNode& node, const std::string& what);
  bool is_text(const YamlNode& node, const std::string& what);

  std::string text(const YamlNode& node, const std::string& what);
  bool flag(const YamlNode& node, const std::string& what);
  std::int64_t whole(const YamlNode& node, const std::string& what, std::int64_t low, std::int64_t high);
  double decimal(const YamlNode& node, const std::string& what, Accepted accepted);
  // A number without unit, or a ratio in % with its bounds.
  Bounded share(const YamlNode& node, const std::string& what, Accepted accepted);
  // Checks that `name` can be a name in the language; `place` is where it is written.
  bool check_name(std::string_view name, Span place);
  // Index of the word in `known`; reports `... is no kind of X` and gives nullopt otherwise.
  std::optional<std::size_t> word(const YamlNode& node, const std::string& kind,
                                  std::initializer_list<std::string_view> known);

  Bounded bounded(const YamlNode& node, const std::string& what, Dimension dimension, Accepted accepted);
  double exact(const YamlNode& node, const std::string& what, Dimension dimension, Accepted accepted);
  // "low .. high"
  std::optional<Bounded> range(const YamlNode& node, const std::string& what, Dimension dimension);
  std::optional<Bounded> count_range(const YamlNode& node);
  Duration duration(const YamlNode& node, const std::string& what, Accepted accepted);
  std::optional<Instant> instant(const YamlNode& node, const std::string& what);
  [[nodiscard]] const LeapSecondTable& leap_seconds() const { return leap_seconds_; }

  // ---- names of the station ----
  void name_node(const std::string& name, NodeId id) { nodes_.emplace(name, id); }
  void name_sink(const std::string& name, SinkId id) { sinks_.emplace(name, id); }
  void name_unit(const std::string& name, UnitId id) { units_.emplace(name, id); }
  void name_part(const std::string& full, PartId id) { parts_.emplace(full, id); }
  void name_state(PartId part, const std::string& name, StateId id) {
    states_.emplace(state_key(part, name), id);
  }

  NodeId node(const YamlNode& node, const std::string& what);
  UnitId unit(const YamlNode& node, const std::string& what);
  std::optional<LinkEnd> link_end(const YamlNode& node);
  StateId state(PartId part, std::string_view name, Span place);
  PartId part(std::string_view full, Span place);
  std::optional<StateCondition> condition(const YamlNode& node, const std::string& what);
  std::vector<HeatShare> heat(const YamlNode& node, const std::string& what);

  [[nodiscard]] std::vector<std::string> names_of_states(PartId part) const;
  StationLimits limits;

 private:
  Diagnostics& room_for_error(Span place);
  void wrong_kind(const YamlNode& node, const std::string& what, const std::string& expected);
  void report_quantity(const YamlNode& node, const std::string& what, std::string_view text,
                       const QuantityProblem& problem);
  std::optional<QuantityText> quantity(const YamlNode& node, const std::string& what, Dimension dimension);
  bool accept(const YamlNode& node, const std::string& what, Bounded value, Dimension dimension,
              Accepted accepted);
  static std::string state_key(PartId part, std::string_view name) {
    return std::to_string(part.value) + "/" + std::string(name);
  }
  template <class Id>
  static std::vector<std::string> sorted_names(const std::unordered_map<std::string, Id>& table,
                                               std::size_t most);

  LoadedStation& loaded_;
  const SourceFiles& files_;
  const LeapSecondTable& leap_seconds_;
  Diagnostics& diagnostics_;
  Diagnostics silent_;
  std::size_t reported_ = 0;
  std::unordered_map<std::string, NodeId> nodes_;
  std::unordered_map<std::string, SinkId> sinks_;
  std::unordered_map<std::string, UnitId> units_;
  std::unordered_map<std::string, PartId> parts_;
  std::unordered_map<std::string, StateId> states_;
};

// The keys of one map, those it may have being listed; unknown ones are reported at once.
class Fields {
 public:
  Fields(Reader& reader, const YamlNode& node, std::string what, std::vector<std::string> known);

  [[nodiscard]] bool is_map() const { return is_map_; }
  const YamlNode* get(std::string_view key) const { return is_map_ ? node_.find(key) : nullptr; }
  const YamlNode* need(std::string_view key) const;

  // A key that may be left out: then `otherwise`.
  std::string text(const std::string& key) const;
  bool flag(const std::string& key, bool otherwise) const;
  std::int64_t whole(const std::string& key, std::int64_t low, std::int64_t high,
                     std::int64_t otherwise) const;
  Bounded bounded(const std::string& key, Dimension dimension, Accepted accepted, Bounded otherwise) const;
  double exact(const std::string& key, Dimension dimension, Accepted accepted, double otherwise) const;
  Duration duration(const std::string& key, Accepted accepted, Duration otherwise) const;
  std::vector<HeatShare> heat(const std::string& key) const;
  std::optional<StateCondition> condition(const std::string& key) const;
  // A key that must be there.
  Bounded need_bounded(const std::string& key, Dimension dimension, Accepted accepted) const;
  double need_exact(const std::string& key, Dimension dimension, Accepted accepted) const;
  std::int64_t need_whole(const std::string& key, std::int64_t low, std::int64_t high) const;

 private:
  Reader& reader_;
  const YamlNode& node_;
  std::string what_;
  bool is_map_ = false;
};

// ---- sections -------------------------------------------------------------------------------------------

void read_site(Reader& reader, const YamlNode& node);
void read_sky(Reader& reader, const YamlNode& node);  // after the site
void read_clock(Reader& reader, const YamlNode& node);
void read_table(Reader& reader, const YamlNode& node);
void read_link(Reader& reader, const YamlNode& node);
void check_link(Reader& reader, const YamlNode& node);     // when all else has been read
void read_antennas(Reader& reader, const YamlNode& node);  // after the site
void read_windows(Reader& reader, const YamlNode& node);   // after the antennas
// A mask by azimuth: points of `what`, rising.
std::vector<MaskPoint> read_mask(Reader& reader, const YamlNode& node, const std::string& what);
void read_units(Reader& reader, const YamlNode& node);  // units, parts and states
void read_commands(Reader& reader, const YamlNode& units);
void read_arguments(Reader& reader, const YamlNode& node, CommandDefinition& command);
// The value of an argument as written; nullopt (reported) when the argument cannot have it.
std::optional<double> read_argument_value(Reader& reader, const YamlNode& node,
                                          const ArgumentDefinition& argument);
void read_exclusions(Reader& reader, const YamlNode& node);
void read_two_steps(Reader& reader, const YamlNode& units);  // after all commands
void read_events(Reader& reader, const YamlNode& node);
void read_inhibits(Reader& reader, const YamlNode& node);
void read_last_resort(Reader& reader, const YamlNode& node);
void read_power(Reader& reader, const YamlNode& node);
// `facing` of a face or an array: up, where it is left out.
void read_facing(Reader& reader, const Fields& fields, double& elevation, double& azimuth);
void read_thermal_names(Reader& reader, const YamlNode& node);  // nodes and sinks, before units
void read_thermal(Reader& reader, const YamlNode& node);        // the rest, after units

}  // namespace cairn
