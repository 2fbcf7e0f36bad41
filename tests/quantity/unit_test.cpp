// Units and dimensions: the closed list must be consistent in itself, and products must land where physics
// says.

#include "constraints/quantity/unit.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <set>

#include "constraints/quantity/bounded.h"
#include "constraints/quantity/instant.h"

namespace cairn {
namespace {

TEST(Units, EverySymbolIsFoundOnce) {
  std::set<std::string_view> seen;
  for (const Unit& unit : all_units()) {
    EXPECT_TRUE(seen.insert(unit.symbol).second) << unit.symbol;
    ASSERT_EQ(find_unit(unit.symbol), &unit) << unit.symbol;
    EXPECT_GT(unit.factor, 0) << unit.symbol;
  }
  EXPECT_EQ(find_unit("parsec"), nullptr);
  EXPECT_EQ(find_unit(""), nullptr);
  EXPECT_EQ(find_unit("w"), nullptr);
}

// A unit is one of time exactly when it has a whole number of nanoseconds, and both factors say the same.
TEST(Units, TimeIsExactAndAgreesWithItsFactor) {
  for (const Unit& unit : all_units()) {
    const auto nanoseconds = nanoseconds_in(unit.symbol);
    ASSERT_EQ(nanoseconds.has_value(), unit.dimension == dimensions::duration) << unit.symbol;
    if (!nanoseconds) continue;
    EXPECT_NEAR(static_cast<double>(*nanoseconds) * 1e-9 / unit.factor, 1, 1e-12) << unit.symbol;
    EXPECT_EQ(exact_duration("2", *nanoseconds), Duration{2 * *nanoseconds}) << unit.symbol;
  }
}

// The SI brochure's definitions: degree, degree Celsius, watt hour; the IAU's Julian year of 365.25 d.
TEST(Units, FactorsByDefinition) {
  EXPECT_DOUBLE_EQ(find_unit("deg")->factor, std::numbers::pi / 180);
  EXPECT_DOUBLE_EQ(find_unit("degC")->offset, 273.15);
  EXPECT_DOUBLE_EQ(find_unit("Wh")->factor, 3600);
  EXPECT_DOUBLE_EQ(find_unit("a")->factor, 31'557'600);
}

TEST(Dimensions, ProductsAndQuotients) {
  EXPECT_EQ(product(dimensions::power, dimensions::duration), dimensions::energy);
  EXPECT_EQ(quotient(dimensions::energy, dimensions::duration), dimensions::power);
  EXPECT_EQ(product(dimensions::voltage, dimensions::current), dimensions::power);
  EXPECT_EQ(quotient(dimensions::data, dimensions::data_rate), dimensions::duration);
  EXPECT_EQ(product(dimensions::conductance, dimensions::temperature_difference), dimensions::power);
  EXPECT_EQ(product(dimensions::flux, dimensions::area), dimensions::power);
}

TEST(Dimensions, PointsAreNotMultiplied) {
  EXPECT_FALSE(product(dimensions::instant, dimensions::power));
  EXPECT_FALSE(product(dimensions::power, dimensions::temperature));
  EXPECT_FALSE(quotient(dimensions::temperature, dimensions::duration));
}

// For every two plain dimensions of the list: dividing a product by one factor gives the other.
TEST(Dimensions, QuotientUndoesProduct) {
  for (const Unit& a : all_units()) {
    for (const Unit& b : all_units()) {
      if (a.dimension.kind != DimensionKind::Plain || b.dimension.kind != DimensionKind::Plain) continue;
      const auto both = product(a.dimension, b.dimension);
      ASSERT_TRUE(both.has_value()) << a.symbol << ' ' << b.symbol;
      EXPECT_EQ(quotient(*both, b.dimension), a.dimension) << a.symbol << ' ' << b.symbol;
      EXPECT_FALSE(name_of(*both).empty());
    }
  }
}

TEST(Show, HasNoNoiseNearZeroAndNoExponentThatPeopleWouldNotWrite) {
  EXPECT_EQ(show(273.15, dimensions::temperature), "0 degC");
  EXPECT_EQ(show(273.15 + 1e-13, dimensions::temperature), "0 degC");
  EXPECT_EQ(show(273.15 - 0.1 - 0.2 + 0.3, dimensions::temperature), "0 degC");
  EXPECT_EQ(show(263.15, dimensions::temperature), "-10 degC");
  EXPECT_EQ(show(1e6, dimensions::power), "1000000 W");
  EXPECT_EQ(show(1234567, dimensions::power), "1234570 W");
  EXPECT_EQ(show(123456, dimensions::power), "123456 W");
  EXPECT_EQ(show(0.00012, dimensions::power), "0.00012 W");
}

}  // namespace
}  // namespace cairn
