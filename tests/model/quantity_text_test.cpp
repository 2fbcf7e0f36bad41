// Quantity text: its forms, its faults, and that what is written is read back.

#include "compiler/model/quantity_text.h"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "constraints/quantity/unit.h"

namespace cairn {
namespace {

TEST(QuantityText, Forms) {
  for (const char* text : {"4.5 W ± 0.2 W", "4.5W±0.2W", "4.5 W +/- 200 mW", " 4.5 W  ± 0.2 W "}) {
    const auto found = parse_quantity(text);
    ASSERT_TRUE(found) << text;
    EXPECT_NEAR(found->value.low, 4.3, 1e-12) << text;
    EXPECT_NEAR(found->value.high, 4.7, 1e-12) << text;
    EXPECT_EQ(found->dimension, dimensions::power);
  }
  const auto range = parse_quantity("4.3 W .. 4.9 W");
  ASSERT_TRUE(range);
  EXPECT_EQ(range->value.low, 4.3);
  EXPECT_EQ(range->value.high, 4.9);
  EXPECT_NEAR(range->value.nominal, 4.6, 1e-12);
  EXPECT_TRUE(parse_quantity("4W..5W"));
  // A share of a share is not meant: both sides are ratios, so the bound is one too.
  EXPECT_NEAR(parse_quantity("92 % ± 1 %")->value.low, 0.91, 1e-12);
  // The bound of a negative value still opens to both sides.
  EXPECT_NEAR(parse_quantity("-10 m ± 10 %")->value.low, -11, 1e-12);
  EXPECT_NEAR(parse_quantity("-10 m ± 10 %")->value.high, -9, 1e-12);
}

TEST(QuantityText, Temperatures) {
  EXPECT_NEAR(parse_quantity("15 degC ± 2 K")->value.high, 290.15, 1e-9);
  EXPECT_EQ(parse_quantity("3 K")->dimension, dimensions::temperature_difference);
  EXPECT_EQ(parse_quantity("3 K", true)->dimension, dimensions::temperature);
  EXPECT_NEAR(parse_quantity("250 K .. 0 degC", true)->value.high, 273.15, 1e-9);
  for (const char* text : {"15 degC ± 2 degC", "15 degC ± 5 %"}) {
    const auto found = parse_quantity(text);
    ASSERT_FALSE(found) << text;
    EXPECT_EQ(found.error().fault, QuantityFault::WrongDimension);
  }
}

TEST(QuantityText, FaultsTellTheirPart) {
  struct Case {
    std::string text;
    std::string part;
    QuantityFault fault;
  };
  const Case cases[] = {
      {"4.5", "4.5", QuantityFault::Malformed},
      {"W", "W", QuantityFault::Malformed},
      {"4.5 Watt", "Watt", QuantityFault::UnknownUnit},
      {"4.5 W ± 0.2 Wat", "Wat", QuantityFault::UnknownUnit},
      {"4.5 W ± -1 W", "-1 W", QuantityFault::Malformed},
      {"4.5 W ± 2 J", "2 J", QuantityFault::WrongDimension},
      {"4.5 W more", "more", QuantityFault::Malformed},
      {"5 W .. 4 W", ".. 4 W", QuantityFault::Malformed},
      {"1e999 W", "1e999", QuantityFault::Malformed},
      {".5 W", ".5", QuantityFault::Malformed},
      {"nan W", "nan", QuantityFault::Malformed},
      {"0x10 W", "x10", QuantityFault::UnknownUnit},
  };
  for (const Case& one : cases) {
    const auto found = parse_quantity(one.text);
    ASSERT_FALSE(found) << one.text;
    EXPECT_EQ(found.error().fault, one.fault) << one.text;
    const auto& error = found.error();
    ASSERT_LE(error.end, one.text.size());
    const std::string part = one.text.substr(error.begin, error.end - error.begin);
    EXPECT_TRUE(part == one.part || (one.text == ".5 W" || one.text == "nan W")) << one.text << ": " << part;
  }
  EXPECT_FALSE(parse_quantity(""));
  EXPECT_FALSE(parse_quantity("1e308 kW ± 1e308 kW"));
}

TEST(QuantityText, WrittenValuesAreReadBack) {
  std::mt19937_64 random(20310514);
  std::uniform_real_distribution<double> digits(-1000, 1000);
  std::uniform_int_distribution<std::size_t> which(0, all_units().size() - 1);
  for (int round = 0; round < 5000; ++round) {
    const Unit& unit = all_units()[which(random)];
    const double value = digits(random);
    const double half = std::abs(digits(random));
    const bool point = unit.dimension == dimensions::temperature;
    const std::string bound_unit = point ? "K" : std::string(unit.symbol);
    char text[160];
    std::snprintf(text, sizeof text, "%.17g %s ± %.17g %s", value, std::string(unit.symbol).c_str(), half,
                  bound_unit.c_str());
    const auto found = parse_quantity(text);
    ASSERT_TRUE(found) << text;
    EXPECT_EQ(found->dimension, unit.dimension) << text;
    EXPECT_EQ(found->value.nominal, value * unit.factor + unit.offset) << text;
    EXPECT_LE(found->value.low, found->value.nominal);
    EXPECT_LE(found->value.nominal, found->value.high);
    const double width = half * (point ? 1.0 : unit.factor);
    EXPECT_EQ(found->value.high, found->value.nominal + width) << text;
    // The same as a range.
    std::snprintf(text, sizeof text, "%.17g %s .. %.17g %s", value - half, std::string(unit.symbol).c_str(),
                  value + half, std::string(unit.symbol).c_str());
    const auto range = parse_quantity(text);
    ASSERT_TRUE(range) << text;
    const double scale = (std::abs(value) + half) * unit.factor + std::abs(unit.offset);
    EXPECT_NEAR(range->value.low, found->value.low, 1e-12 * scale) << text;
    EXPECT_NEAR(range->value.high, found->value.high, 1e-12 * scale) << text;
  }
}

}  // namespace
}  // namespace cairn
