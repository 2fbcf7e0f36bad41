// Algebra and names of dimensions.

#include "constraints/quantity/dimension.h"

#include <array>
#include <string_view>
#include <utility>

namespace cairn {

namespace {

using Exponents = std::array<int, 7>;

Exponents exponents_of(Dimension d) {
  return {d.mass, d.length, d.time, d.current, d.temperature, d.angle, d.data};
}

std::optional<Dimension> combine(Dimension a, Dimension b, int sign) {
  const auto multipliable = [](Dimension d) {
    return d.kind == DimensionKind::Plain || d.kind == DimensionKind::Count;
  };
  if (!multipliable(a) || !multipliable(b)) return std::nullopt;
  const Exponents left = exponents_of(a);
  const Exponents right = exponents_of(b);
  std::array<std::int8_t, 7> sum{};
  for (std::size_t i = 0; i < sum.size(); ++i) {
    const int exponent = left[i] + sign * right[i];
    if (exponent < -100 || exponent > 100) return std::nullopt;
    sum[i] = static_cast<std::int8_t>(exponent);
  }
  // Counts stay counts only among themselves, and a quotient of counts is a ratio.
  const bool count = a.kind == DimensionKind::Count && b.kind == DimensionKind::Count && sign > 0;
  return Dimension{sum[0], sum[1], sum[2], sum[3],
                   sum[4], sum[5], sum[6], count ? DimensionKind::Count : DimensionKind::Plain};
}

constexpr std::pair<Dimension, std::string_view> names[] = {
    {dimensions::ratio, "Ratio"},
    {dimensions::count, "Count"},
    {dimensions::duration, "Duration"},
    {dimensions::instant, "Instant"},
    {dimensions::power, "Power"},
    {dimensions::energy, "Energy"},
    {dimensions::temperature, "Temperature"},
    {dimensions::temperature_difference, "Temperature difference"},
    {dimensions::angle, "Angle"},
    {dimensions::angular_rate, "Angular rate"},
    {dimensions::length, "Length"},
    {dimensions::area, "Area"},
    {dimensions::speed, "Speed"},
    {dimensions::data, "Data size"},
    {dimensions::data_rate, "Data rate"},
    {dimensions::voltage, "Voltage"},
    {dimensions::current, "Current"},
    {dimensions::frequency, "Frequency"},
    {dimensions::heat_capacity, "Heat capacity"},
    {dimensions::conductance, "Conductance"},
    {dimensions::flux, "Flux"},
};

}  // namespace

std::optional<Dimension> product(Dimension a, Dimension b) { return combine(a, b, 1); }
std::optional<Dimension> quotient(Dimension a, Dimension b) { return combine(a, b, -1); }

std::string name_of(Dimension dimension) {
  for (const auto& [known, name] : names) {
    if (known == dimension) return std::string(name);
  }
  constexpr std::string_view bases[] = {"kg", "m", "s", "A", "K", "rad", "bit"};
  std::string out;
  const Exponents exponents = exponents_of(dimension);
  for (std::size_t i = 0; i < exponents.size(); ++i) {
    if (exponents[i] == 0) continue;
    if (!out.empty()) out += ' ';
    out += bases[i];
    if (exponents[i] != 1) out += std::to_string(exponents[i]);
  }
  return out;
}

}  // namespace cairn
