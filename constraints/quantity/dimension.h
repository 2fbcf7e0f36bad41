// Dimensions: what kind of thing a quantity measures.
//
// A dimension is a product of base dimensions with small integer exponents, plus a kind that keeps apart
// what has equal exponents but must not be mixed: points and differences of temperature, instants and
// durations, counts and ratios.

#pragma once

#include <compare>
#include <cstdint>
#include <optional>
#include <string>

namespace cairn {

enum class DimensionKind : std::uint8_t {
  Plain,             // an ordinary quantity; exponents all zero means a ratio
  Instant,           // a point in time (exponents: time 1)
  TemperaturePoint,  // a reading in degC or K (exponents: temperature 1)
  Count,             // whole numbers of things (exponents all zero)
};

struct Dimension {
  std::int8_t mass = 0;
  std::int8_t length = 0;
  std::int8_t time = 0;
  std::int8_t current = 0;
  std::int8_t temperature = 0;
  std::int8_t angle = 0;
  std::int8_t data = 0;
  DimensionKind kind = DimensionKind::Plain;

  friend constexpr auto operator<=>(const Dimension&, const Dimension&) = default;
};

namespace dimensions {
inline constexpr Dimension ratio{};
inline constexpr Dimension count{.kind = DimensionKind::Count};
inline constexpr Dimension duration{.time = 1};
inline constexpr Dimension instant{.time = 1, .kind = DimensionKind::Instant};
inline constexpr Dimension power{.mass = 1, .length = 2, .time = -3};
inline constexpr Dimension energy{.mass = 1, .length = 2, .time = -2};
inline constexpr Dimension temperature{.temperature = 1, .kind = DimensionKind::TemperaturePoint};
inline constexpr Dimension temperature_difference{.temperature = 1};
inline constexpr Dimension angle{.angle = 1};
inline constexpr Dimension angular_rate{.time = -1, .angle = 1};
inline constexpr Dimension length{.length = 1};
inline constexpr Dimension area{.length = 2};
inline constexpr Dimension speed{.length = 1, .time = -1};
inline constexpr Dimension data{.data = 1};
inline constexpr Dimension data_rate{.time = -1, .data = 1};
inline constexpr Dimension voltage{.mass = 1, .length = 2, .time = -3, .current = -1};
inline constexpr Dimension current{.current = 1};
inline constexpr Dimension frequency{.time = -1};
inline constexpr Dimension heat_capacity{.mass = 1, .length = 2, .time = -2, .temperature = -1};
inline constexpr Dimension conductance{.mass = 1, .length = 2, .time = -3, .temperature = -1};
inline constexpr Dimension flux{.mass = 1, .time = -3};
}  // namespace dimensions

// The dimension of a product and of a quotient; nullopt where the kinds forbid it (an instant or a
// temperature point cannot be multiplied) or an exponent would leave its range.
std::optional<Dimension> product(Dimension a, Dimension b);
std::optional<Dimension> quotient(Dimension a, Dimension b);

// The word a sequencer reads: "Power", "Duration", "Temperature difference"; a product without a word of
// its own is spelled in base units, such as "kg2 m s-1".
std::string name_of(Dimension dimension);

}  // namespace cairn
