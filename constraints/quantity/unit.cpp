// The list of units.

#include "constraints/quantity/unit.h"

#include <numbers>

namespace cairn {

namespace {

namespace d = dimensions;
constexpr double degree = std::numbers::pi / 180.0;
constexpr double year = 365.25 * 86400.0;  // Julian year

constexpr Unit units[] = {
    {"ns", d::duration, 1e-9, 0},
    {"us", d::duration, 1e-6, 0},
    {"ms", d::duration, 1e-3, 0},
    {"s", d::duration, 1, 0},
    {"min", d::duration, 60, 0},
    {"h", d::duration, 3600, 0},
    {"d", d::duration, 86400, 0},
    {"a", d::duration, year, 0},
    {"mW", d::power, 1e-3, 0},
    {"W", d::power, 1, 0},
    {"kW", d::power, 1e3, 0},
    {"J", d::energy, 1, 0},
    {"kJ", d::energy, 1e3, 0},
    {"Wh", d::energy, 3600, 0},
    {"kWh", d::energy, 3.6e6, 0},
    {"K", d::temperature_difference, 1, 0},
    {"degC", d::temperature, 1, 273.15},
    {"deg", d::angle, degree, 0},
    {"rad", d::angle, 1, 0},
    {"deg/s", d::angular_rate, degree, 0},
    {"mm", d::length, 1e-3, 0},
    {"cm", d::length, 1e-2, 0},
    {"m", d::length, 1, 0},
    {"km", d::length, 1e3, 0},
    {"m2", d::area, 1, 0},
    {"m/s", d::speed, 1, 0},
    {"bit", d::data, 1, 0},
    {"kbit", d::data, 1e3, 0},
    {"Mbit", d::data, 1e6, 0},
    {"byte", d::data, 8, 0},
    {"kB", d::data, 8e3, 0},
    {"bit/s", d::data_rate, 1, 0},
    {"kbit/s", d::data_rate, 1e3, 0},
    {"mV", d::voltage, 1e-3, 0},
    {"V", d::voltage, 1, 0},
    {"mA", d::current, 1e-3, 0},
    {"A", d::current, 1, 0},
    {"Hz", d::frequency, 1, 0},
    {"kHz", d::frequency, 1e3, 0},
    {"%", d::ratio, 1e-2, 0},
    {"ppm", d::ratio, 1e-6, 0},
    {"J/K", d::heat_capacity, 1, 0},
    {"W/K", d::conductance, 1, 0},
    {"W/m2", d::flux, 1, 0},
};

}  // namespace

std::span<const Unit> all_units() { return units; }

const Unit* find_unit(std::string_view symbol) {
  for (const Unit& unit : units) {
    if (unit.symbol == symbol) return &unit;
  }
  return nullptr;
}

std::optional<std::int64_t> nanoseconds_in(std::string_view symbol) {
  constexpr std::int64_t second = 1'000'000'000;
  if (symbol == "ns") return 1;
  if (symbol == "us") return 1'000;
  if (symbol == "ms") return 1'000'000;
  if (symbol == "s") return second;
  if (symbol == "min") return 60 * second;
  if (symbol == "h") return 3'600 * second;
  if (symbol == "d") return 86'400 * second;
  if (symbol == "a") return 31'557'600 * second;
  return std::nullopt;
}

}  // namespace cairn
