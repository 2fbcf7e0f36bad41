// From the zeros of L5.

#include "constraints/heat/collocation.h"

#include <algorithm>

namespace cairn {

namespace {

constexpr std::size_t stages = Collocation::stages;
constexpr std::size_t points = Collocation::points;

// Of L5 (Abramowitz and Stegun, table 25.9, abscissas of Laguerre integration, n = 5, to more places).
constexpr std::array<double, stages> zeros{0.26356031971814091, 1.4134030591065168, 3.5964257710407221,
                                           7.0858100058588376, 12.640800844275783};

// L0 to L6 at x.
std::array<double, stages + 2> laguerre(double x) {
  std::array<double, stages + 2> values{1, 1 - x};
  for (std::size_t k = 1; k + 1 < values.size(); ++k) {
    const auto n = static_cast<double>(k);
    values[k + 1] = ((2 * n + 1 - x) * values[k] - n * values[k - 1]) / (n + 1);
  }
  return values;
}

// Coefficients, lowest first, of the polynomial that is 1 at one of the places and 0 at the others.
template <std::size_t count>
std::array<double, count> lagrange(const std::array<double, count>& places, std::size_t one) {
  std::array<double, count> polynomial{1};
  std::size_t degree = 0;
  for (std::size_t k = 0; k < count; ++k) {
    if (k == one) continue;
    const double scale = 1 / (places[one] - places[k]);
    ++degree;
    for (std::size_t p = degree + 1; p-- > 0;) {
      const double below = p > 0 ? polynomial[p - 1] : 0;
      polynomial[p] = scale * (below - places[k] * (p < degree ? polynomial[p] : 0));
    }
  }
  return polynomial;
}

Collocation from_zeros() {
  Collocation made;
  made.gamma = 1 / zeros[Collocation::end - 1];
  std::array<double, stages> places{};
  for (std::size_t i = 0; i < stages; ++i) {
    places[i] = i + 1 == Collocation::end ? 1 : zeros[i] * made.gamma;
    made.parts[i + 1] = places[i];
    const auto values = laguerre(zeros[i]);
    // Weights of Gauss and Laguerre make the values orthogonal.
    const double weight = zeros[i] / (36 * values[6] * values[6]);
    for (std::size_t k = 0; k < stages; ++k) {
      made.to_stages[i][k] = values[k];
      made.from_stages[k][i] = weight * values[k];
    }
  }
  for (std::size_t j = 0; j < stages; ++j) {
    const auto polynomial = lagrange(places, j);
    for (std::size_t i = 0; i < stages; ++i) {
      double power = places[i];
      for (std::size_t p = 0; p < stages; ++p, power *= places[i]) {
        made.integrals[i][j] += polynomial[p] * power / static_cast<double>(p + 1);
      }
    }
  }
  constexpr double binomial[points][points] = {{1},          {1, 1},          {1, 2, 1},
                                               {1, 3, 3, 1}, {1, 4, 6, 4, 1}, {1, 5, 10, 10, 5, 1}};
  for (std::size_t j = 0; j < points; ++j) {
    const auto polynomial = lagrange(made.parts, j);
    for (std::size_t p = 0; p < points; ++p) {
      made.coefficients[p][j] = polynomial[p];
    }
    for (std::size_t k = 0; k < points; ++k) {
      for (std::size_t p = 0; p <= k; ++p) {
        made.controls[k][j] += binomial[k][p] / binomial[points - 1][p] * polynomial[p];
      }
    }
  }
  std::array<double, points - 1> within{};
  std::copy(made.parts.begin(), made.parts.end() - 1, within.begin());
  for (std::size_t j = 0; j < within.size(); ++j) {
    const auto polynomial = lagrange(within, j);
    for (std::size_t p = within.size(); p-- > 0;) {
      made.beyond[j] = made.beyond[j] * made.parts.back() + polynomial[p];
      made.whole[j] += polynomial[p] / static_cast<double>(p + 1);
    }
  }
  return made;
}

}  // namespace

Collocation::ByPoint Collocation::value_at(double part) const {
  ByPoint weights{};
  for (std::size_t p = points; p-- > 0;) {
    for (std::size_t j = 0; j < points; ++j) weights[j] = weights[j] * part + coefficients[p][j];
  }
  return weights;
}

Collocation::ByPoint Collocation::slope_at(double part) const {
  ByPoint weights{};
  for (std::size_t p = points - 1; p > 0; --p) {
    for (std::size_t j = 0; j < points; ++j) {
      weights[j] = weights[j] * part + static_cast<double>(p) * coefficients[p][j];
    }
  }
  return weights;
}

const Collocation& collocation() {
  static const Collocation numbers = from_zeros();
  return numbers;
}

}  // namespace cairn
