// Modes by cyclic Jacobi rotations on the symmetrised network: slow but sure, and used seldom.

#include "constraints/heat/modes.h"

#include <algorithm>
#include <cmath>

namespace cairn {

namespace {

// Row by row, square. Leaves the eigenvalues on the diagonal of `a` and the eigenvectors in the columns of
// `vectors`.
void diagonalise(std::vector<double>& a, std::vector<double>& vectors, std::size_t n) {
  std::fill(vectors.begin(), vectors.end(), 0.0);
  for (std::size_t i = 0; i < n; ++i) vectors[i * n + i] = 1;
  constexpr int most_sweeps = 30;  // six or seven do; what is no number would never end
  for (int sweep = 0; sweep < most_sweeps; ++sweep) {
    double off_diagonal = 0;
    double diagonal = 0;
    for (std::size_t i = 0; i < n; ++i) {
      diagonal += a[i * n + i] * a[i * n + i];
      for (std::size_t j = i + 1; j < n; ++j) off_diagonal += a[i * n + j] * a[i * n + j];
    }
    if (off_diagonal <= 1e-30 * diagonal) break;
    for (std::size_t p = 0; p < n; ++p) {
      for (std::size_t q = p + 1; q < n; ++q) {
        if (a[p * n + q] == 0) continue;
        const double theta = (a[q * n + q] - a[p * n + p]) / (2 * a[p * n + q]);
        const double tangent = std::copysign(1.0, theta) / (std::abs(theta) + std::sqrt(theta * theta + 1));
        const double cosine = 1 / std::sqrt(tangent * tangent + 1);
        const double sine = tangent * cosine;
        const auto rotate = [&](double& x, double& y) {
          const double old_x = x;
          x = cosine * old_x - sine * y;
          y = sine * old_x + cosine * y;
        };
        for (std::size_t k = 0; k < n; ++k) rotate(a[k * n + p], a[k * n + q]);
        for (std::size_t k = 0; k < n; ++k) rotate(a[p * n + k], a[q * n + k]);
        for (std::size_t k = 0; k < n; ++k) rotate(vectors[k * n + p], vectors[k * n + q]);
      }
    }
  }
}

// Four numbers at once. Each sum is added up in the order of the rows whatever the machine, so that all
// machines get the same bits; none fuses multiplication and addition.
using Lane = double __attribute__((vector_size(32), aligned(8), may_alias));

#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__)
#define CAIRN_WIDEST __attribute__((target_clones("avx", "default")))
#else
#define CAIRN_WIDEST
#endif

CAIRN_WIDEST void combine_rows(const double* values, std::size_t rows, std::size_t stride,
                               const double* weight, double* sum) {
  for (std::size_t column = 0; column < stride; column += BlockMatrix::block) {
    Lane total{};
    const double* value = values + column;
    for (std::size_t row = 0; row < rows; ++row, value += stride) {
      total += weight[row] * *reinterpret_cast<const Lane*>(value);
    }
    *reinterpret_cast<Lane*>(sum + column) = total;
  }
}

CAIRN_WIDEST void combine_rows_twice(const double* values, std::size_t rows, std::size_t stride,
                                     const double* first, double* first_sum, const double* second,
                                     double* second_sum) {
  for (std::size_t column = 0; column < stride; column += BlockMatrix::block) {
    Lane total{};
    Lane other{};
    const double* value = values + column;
    for (std::size_t row = 0; row < rows; ++row, value += stride) {
      const Lane here = *reinterpret_cast<const Lane*>(value);
      total += first[row] * here;
      other += second[row] * here;
    }
    *reinterpret_cast<Lane*>(first_sum + column) = total;
    *reinterpret_cast<Lane*>(second_sum + column) = other;
  }
}

}  // namespace

void BlockMatrix::combine(const std::vector<double>& weights, std::vector<double>& sum) const {
  combine_rows(values_.data(), rows_, stride_, weights.data(), sum.data());
}

void BlockMatrix::combine(const std::vector<double>& first, std::vector<double>& first_sum,
                          const std::vector<double>& second, std::vector<double>& second_sum) const {
  combine_rows_twice(values_.data(), rows_, stride_, first.data(), first_sum.data(), second.data(),
                     second_sum.data());
}

Modes::Modes(std::size_t nodes)
    : size_(nodes),
      rates_(BlockMatrix::padded(nodes)),
      by_node_(nodes),
      by_mode_(nodes),
      magnitudes_(nodes) {}

void Modes::find(const Network& network, const std::vector<double>& conductances) {
  std::vector<double> scale(size_);  // C^(-1/2)
  for (std::size_t i = 0; i < size_; ++i) scale[i] = 1 / std::sqrt(network.capacities[i]);
  std::vector<double> matrix(size_ * size_);
  for (std::size_t k = 0; k < network.links.size(); ++k) {
    const NetworkLink& link = network.links[k];
    const std::size_t i = link.node;
    matrix[i * size_ + i] += conductances[k] * scale[i] * scale[i];
    if (link.to_sink) continue;
    const std::size_t j = link.other;
    matrix[j * size_ + j] += conductances[k] * scale[j] * scale[j];
    matrix[i * size_ + j] -= conductances[k] * scale[i] * scale[j];
    matrix[j * size_ + i] -= conductances[k] * scale[i] * scale[j];
  }
  std::vector<double> vectors(size_ * size_);
  diagonalise(matrix, vectors, size_);
  for (std::size_t k = 0; k < size_; ++k) {
    const double rate = matrix[k * size_ + k];
    rates_[k] = rate < 0 ? 0 : rate;  // by rounding only
    for (std::size_t i = 0; i < size_; ++i) {
      const double share = scale[i] * vectors[i * size_ + k];
      by_node_.at(i, k) = share;
      by_mode_.at(k, i) = share;
      magnitudes_.at(k, i) = std::abs(share);
    }
  }
}

}  // namespace cairn
