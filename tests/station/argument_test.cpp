// The laws between values and raw counts, read forwards and backwards, against a search over every count.

#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "constraints/station/station.h"

namespace cairn {
namespace {

ArgumentDefinition of_law(Calibration law, int width, bool is_signed) {
  ArgumentDefinition argument;
  argument.type = ArgumentType::Quantity;
  argument.unit = "V";
  argument.encoding.width = width;
  argument.encoding.is_signed = is_signed;
  argument.encoding.calibration = law;
  return argument;
}

// A law that never turns: coefficients of one sign over counts that are not negative, or points with steps of
// one.
ArgumentDefinition random_law(std::mt19937_64& random) {
  std::uniform_real_distribution<double> unit(0.01, 1);
  const double sign = random() % 2 == 0 ? 1 : -1;
  const int width = 2 + static_cast<int>(random() % 9);
  if (random() % 2 == 0) {
    ArgumentDefinition argument = of_law(Calibration::Polynomial, width, false);
    argument.encoding.coefficients = {unit(random) * 10 - 5};
    for (std::size_t i = 1 + random() % 4; i > 0; --i)
      argument.encoding.coefficients.push_back(sign * unit(random));
    return argument;
  }
  ArgumentDefinition argument = of_law(Calibration::Points, width, random() % 2 == 0);
  std::int64_t raw = least_count(argument.encoding);
  double value = unit(random);
  while (raw <= greatest_count(argument.encoding)) {
    argument.encoding.points.push_back({raw, value});
    raw += 1 + static_cast<std::int64_t>(random() % 5);
    value += sign * unit(random);
  }
  if (argument.encoding.points.size() < 2) argument.encoding.points.push_back({raw, value});
  return argument;
}

std::uint64_t bits_of(std::int64_t count, int width) {
  return static_cast<std::uint64_t>(count) & ((std::uint64_t{1} << width) - 1);
}

TEST(Calibration, EveryCountComesBack) {
  std::mt19937_64 random(1);
  for (int round = 0; round < 2000; ++round) {
    const ArgumentDefinition argument = random_law(random);
    const ArgumentEncoding& encoding = argument.encoding;
    ASSERT_FALSE(where_it_turns(encoding).has_value());
    std::int64_t low = least_count(encoding);
    std::int64_t high = greatest_count(encoding);
    if (encoding.calibration == Calibration::Points) {
      low = encoding.points.front().raw;
      high = std::min(high, encoding.points.back().raw);
    }
    for (std::int64_t count = low; count <= high; ++count) {
      const std::uint64_t raw = bits_of(count, encoding.width);
      ASSERT_EQ(encode_argument(argument, decode_argument(argument, raw)), raw) << count;
    }
  }
}

// The count that is sent is the nearest of all.
TEST(Calibration, TheNearestCountIsSent) {
  std::mt19937_64 random(2);
  for (int round = 0; round < 5000; ++round) {
    const ArgumentDefinition argument = random_law(random);
    const ArgumentEncoding& encoding = argument.encoding;
    std::int64_t low = least_count(encoding);
    std::int64_t high = greatest_count(encoding);
    if (encoding.calibration == Calibration::Points) {
      low = encoding.points.front().raw;
      high = std::min(high, encoding.points.back().raw);
    }
    if (low >= high) continue;
    const double from = decode_argument(argument, bits_of(low, encoding.width));
    const double to = decode_argument(argument, bits_of(high, encoding.width));
    const double number = from + (to - from) * std::uniform_real_distribution<double>(0, 1)(random);
    double nearest = INFINITY;
    for (std::int64_t count = low; count <= high; ++count) {
      nearest =
          std::min(nearest, std::abs(decode_argument(argument, bits_of(count, encoding.width)) - number));
    }
    const auto raw = encode_argument(argument, number);
    ASSERT_TRUE(raw.has_value());
    EXPECT_EQ(std::abs(decode_argument(argument, *raw) - number), nearest);
    EXPECT_LE(std::abs(quantisation_error(argument, {number, *raw})), nearest);
  }
}

// Worked by hand: 2 + 0.5 raw + 0.25 raw^2 is 2, 2.75, 4, 5.75 for 0 to 3.
TEST(Calibration, PolynomialByHand) {
  ArgumentDefinition argument = of_law(Calibration::Polynomial, 2, false);
  argument.encoding.coefficients = {2, 0.5, 0.25};
  EXPECT_EQ(decode_argument(argument, 3), 5.75);
  EXPECT_EQ(encode_argument(argument, 4.8), 2U);
  EXPECT_EQ(encode_argument(argument, 4.9), 3U);
  EXPECT_EQ(encode_argument(argument, 1.7), 0U) << "within half a count of the first";
  EXPECT_FALSE(encode_argument(argument, 1.5).has_value());
  EXPECT_EQ(encode_argument(argument, 6.6), 3U);
  EXPECT_FALSE(encode_argument(argument, 6.7).has_value());
  EXPECT_EQ(quantisation_error(argument, {4.8, 2}), -0.7999999999999998);
  EXPECT_EQ(show_difference(argument, quantisation_error(argument, {4.8, 2})), "-0.8 V");
}

TEST(Calibration, ListedValuesAloneAreSent) {
  ArgumentDefinition argument = of_law(Calibration::Values, 4, false);
  argument.encoding.points = {{1, 9600}, {2, 1200}, {7, 64000}};
  EXPECT_EQ(encode_argument(argument, 64000), 7U);
  EXPECT_EQ(encode_argument(argument, 1200), 2U);
  EXPECT_FALSE(encode_argument(argument, 1300).has_value());
  argument.encoding.resolution = 100;
  EXPECT_EQ(encode_argument(argument, 1300), 2U);
  EXPECT_EQ(decode_argument(argument, 1), 9600);
}

TEST(Calibration, LawsThatTurnAreSeen) {
  ArgumentDefinition argument = of_law(Calibration::Polynomial, 4, false);
  argument.encoding.coefficients = {0, 10, -1};  // its top is at 5
  EXPECT_EQ(where_it_turns(argument.encoding), 6);
  argument.encoding.coefficients = {0, 20, -0.5};
  EXPECT_FALSE(where_it_turns(argument.encoding).has_value());
  argument.encoding.coefficients = {3, 0};
  EXPECT_TRUE(where_it_turns(argument.encoding).has_value());
}

TEST(Quantisation, DecimalFractionsAreNoError) {
  ArgumentDefinition argument = of_law(Calibration::Linear, 16, false);
  argument.encoding.step = 0.1;
  for (int i = 0; i < 1000; ++i) {
    const double number = i / 10.0;
    const auto raw = encode_argument(argument, number);
    ASSERT_TRUE(raw.has_value());
    EXPECT_EQ(quantisation_error(argument, {number, *raw}), 0);
  }
  EXPECT_NEAR(quantisation_error(argument, {0.24, 2}), -0.04, 1e-12);
}

}  // namespace
}  // namespace cairn
