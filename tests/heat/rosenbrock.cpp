// Rates, Jacobian and one Rosenbrock step.

#include "tests/heat/rosenbrock.h"

#include <algorithm>
#include <cmath>
#include <utility>

namespace cairn {

namespace {

constexpr double sigma = 5.670374419e-8;  // W m-2 K-4, CODATA 2018

double cube(double x) { return x * x * x; }

}  // namespace

void temperature_rates(const Network& network, const Drive& drive, const std::vector<double>& temperatures,
                       std::vector<double>& rates) {
  rates = drive.heat;
  for (const NetworkLink& link : network.links) {
    const double here = temperatures[link.node];
    const double there = link.to_sink ? drive.sinks[link.other] : temperatures[link.other];
    const double flow = link.radiative ? sigma * link.value * (there * cube(there) - here * cube(here))
                                       : link.value * (there - here);
    rates[link.node] += flow;
    if (!link.to_sink) rates[link.other] -= flow;
  }
  for (std::size_t i = 0; i < rates.size(); ++i) rates[i] /= network.capacities[i];
}

RosenbrockSolver::RosenbrockSolver(const Network& network, double tolerance)
    : network_(&network), tolerance_(tolerance), size_(network.capacities.size()) {
  matrix_.resize(size_ * size_);
  pivots_.resize(size_);
}

void RosenbrockSolver::factor(const std::vector<double>& temperatures, double diagonal) {
  std::fill(matrix_.begin(), matrix_.end(), 0.0);
  for (std::size_t i = 0; i < size_; ++i) matrix_[i * size_ + i] = diagonal;
  const std::vector<double>& capacity = network_->capacities;
  for (const NetworkLink& link : network_->links) {
    const std::size_t i = link.node;
    const double own = link.radiative ? 4 * sigma * link.value * cube(temperatures[i]) : link.value;
    matrix_[i * size_ + i] += own / capacity[i];
    if (link.to_sink) continue;
    const std::size_t j = link.other;
    const double other = link.radiative ? 4 * sigma * link.value * cube(temperatures[j]) : link.value;
    matrix_[i * size_ + j] -= other / capacity[i];
    matrix_[j * size_ + j] += other / capacity[j];
    matrix_[j * size_ + i] -= own / capacity[j];
  }
  for (std::size_t column = 0; column < size_; ++column) {
    std::size_t pivot = column;
    for (std::size_t row = column + 1; row < size_; ++row) {
      if (std::abs(matrix_[row * size_ + column]) > std::abs(matrix_[pivot * size_ + column])) pivot = row;
    }
    pivots_[column] = pivot;
    if (pivot != column) {
      for (std::size_t k = 0; k < size_; ++k) {
        std::swap(matrix_[pivot * size_ + k], matrix_[column * size_ + k]);
      }
    }
    for (std::size_t row = column + 1; row < size_; ++row) {
      const double factor = matrix_[row * size_ + column] / matrix_[column * size_ + column];
      matrix_[row * size_ + column] = factor;
      if (factor == 0) continue;
      for (std::size_t k = column + 1; k < size_; ++k) {
        matrix_[row * size_ + k] -= factor * matrix_[column * size_ + k];
      }
    }
  }
}

void RosenbrockSolver::solve(std::vector<double>& right) const {
  for (std::size_t i = 0; i < size_; ++i) {
    if (pivots_[i] != i) std::swap(right[i], right[pivots_[i]]);
  }
  for (std::size_t i = 0; i < size_; ++i) {
    for (std::size_t k = 0; k < i; ++k) right[i] -= matrix_[i * size_ + k] * right[k];
  }
  for (std::size_t i = size_; i-- > 0;) {
    for (std::size_t k = i + 1; k < size_; ++k) right[i] -= matrix_[i * size_ + k] * right[k];
    right[i] /= matrix_[i * size_ + i];
  }
}

double RosenbrockSolver::try_step(const DriveAt& drive, double seconds, double h,
                                  const std::vector<double>& temperatures, std::vector<double>& result) {
  // Coefficients of RODAS3 in the transformed form; gamma = 1/2.
  constexpr double c21 = 4;
  constexpr double c43 = -8.0 / 3.0;
  factor(temperatures, 2 / h);
  drive(seconds, drive_);
  drive(seconds + h, drive_end_);

  // The drive's slope, as rates: difference of the rates at both ends with temperatures held.
  temperature_rates(*network_, drive_, temperatures, rates_);
  temperature_rates(*network_, drive_end_, temperatures, slope_);
  for (std::size_t i = 0; i < size_; ++i) slope_[i] -= rates_[i];  // h * df/dt

  k_[0] = rates_;
  for (std::size_t i = 0; i < size_; ++i) k_[0][i] += 0.5 * slope_[i];
  solve(k_[0]);
  k_[1] = rates_;
  for (std::size_t i = 0; i < size_; ++i) k_[1][i] += c21 / h * k_[0][i] + 1.5 * slope_[i];
  solve(k_[1]);

  stage_ = temperatures;
  for (std::size_t i = 0; i < size_; ++i) stage_[i] += 2 * k_[0][i];
  temperature_rates(*network_, drive_end_, stage_, k_[2]);
  for (std::size_t i = 0; i < size_; ++i) k_[2][i] += (k_[0][i] - k_[1][i]) / h;
  solve(k_[2]);

  for (std::size_t i = 0; i < size_; ++i) stage_[i] += k_[2][i];
  temperature_rates(*network_, drive_end_, stage_, k_[3]);
  for (std::size_t i = 0; i < size_; ++i) k_[3][i] += (k_[0][i] - k_[1][i] + c43 * k_[2][i]) / h;
  solve(k_[3]);

  result = stage_;
  double error = 0;
  for (std::size_t i = 0; i < size_; ++i) {
    result[i] += k_[3][i];
    error = std::max(error, std::abs(k_[3][i]) / tolerance_);
    if (!std::isfinite(result[i]) || result[i] < 0) return 1e9;
  }
  return error;
}

}  // namespace cairn
