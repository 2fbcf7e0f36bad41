// Modes of the symmetrised network, and sums over them.

#include "constraints/heat/modes.h"

#include <algorithm>
#include <cmath>

namespace cairn {

namespace {

// Loops over a column from one row to another, four at a time and the rest one by one; the order of the sums
// is the same on all machines.

// Takes of the symmetric matrix whose columns below the diagonal these are, i of them, the product with d
// into e.
CAIRN_WIDEST void add_product(const double* columns, std::size_t n, std::size_t i, const double* d,
                              double* e) {
  for (std::size_t j = 0; j < i; ++j) {
    const double* column = columns + j * n;
    const double factor = d[j];
    double sum = e[j] + column[j] * factor;
    Lane sums{};
    std::size_t k = j + 1;
    for (; k + lane <= i; k += lane) {
      const Lane here = *reinterpret_cast<const Lane*>(column + k);
      sums += here * *reinterpret_cast<const Lane*>(d + k);
      *reinterpret_cast<Lane*>(e + k) += here * factor;
    }
    for (; k < i; ++k) {
      sum += column[k] * d[k];
      e[k] += column[k] * factor;
    }
    e[j] = sum + ((sums[0] + sums[1]) + (sums[2] + sums[3]));
  }
}

// Takes d e^T + e d^T away below the diagonal.
CAIRN_WIDEST void take_products(double* columns, std::size_t n, std::size_t i, const double* d,
                                const double* e) {
  for (std::size_t j = 0; j < i; ++j) {
    double* column = columns + j * n;
    const double first = d[j];
    const double second = e[j];
    std::size_t k = j;
    for (; k + lane <= i; k += lane) {
      *reinterpret_cast<Lane*>(column + k) -=
          first * *reinterpret_cast<const Lane*>(e + k) + second * *reinterpret_cast<const Lane*>(d + k);
    }
    for (; k < i; ++k) column[k] -= first * e[k] + second * d[k];
  }
}

// Takes of each of `count` columns what it has in common with `reflection`, times `d`.
CAIRN_WIDEST void reflect(double* columns, std::size_t n, std::size_t count, const double* reflection,
                          const double* d) {
  for (std::size_t j = 0; j < count; ++j) {
    double* column = columns + j * n;
    double sum = 0;
    Lane sums{};
    std::size_t k = 0;
    for (; k + lane <= count; k += lane) {
      sums += *reinterpret_cast<const Lane*>(reflection + k) * *reinterpret_cast<const Lane*>(column + k);
    }
    for (; k < count; ++k) sum += reflection[k] * column[k];
    sum += (sums[0] + sums[1]) + (sums[2] + sums[3]);
    for (k = 0; k + lane <= count; k += lane) {
      *reinterpret_cast<Lane*>(column + k) -= sum * *reinterpret_cast<const Lane*>(d + k);
    }
    for (; k < count; ++k) column[k] -= sum * d[k];
  }
}

CAIRN_WIDEST void rotate(double* first, double* second, std::size_t n, double c, double s) {
  std::size_t k = 0;
  for (; k + lane <= n; k += lane) {
    const Lane a = *reinterpret_cast<const Lane*>(first + k);
    const Lane b = *reinterpret_cast<const Lane*>(second + k);
    *reinterpret_cast<Lane*>(second + k) = s * a + c * b;
    *reinterpret_cast<Lane*>(first + k) = c * a - s * b;
  }
  for (; k < n; ++k) {
    const double a = first[k];
    const double b = second[k];
    second[k] = s * a + c * b;
    first[k] = c * a - s * b;
  }
}

// A symmetric matrix, row by row, brought to three diagonals by Householder's reflections, and those to one
// by the QL method with implicit shifts (Wilkinson and Reinsch, "Handbook for Automatic Computation" II,
// 1971, procedures tred2 and tql2, from memory; the tests hold what comes out against the matrix).
class Eigen {
 public:
  // `vectors` holds the matrix first, the eigenvectors one after the other afterwards.
  Eigen(std::vector<double>& vectors, std::size_t n) : n_(n), v_(vectors), values_(n), off_(n) {
    reduce();
    diagonalise();
  }
  [[nodiscard]] const std::vector<double>& values() const { return values_; }

 private:
  double& v(std::size_t row, std::size_t column) { return v_[column * n_ + row]; }

  void reduce() {
    std::vector<double>& d = values_;
    std::vector<double>& e = off_;
    for (std::size_t j = 0; j < n_; ++j) d[j] = v(n_ - 1, j);
    for (std::size_t i = n_ - 1; i > 0; --i) {
      double scale = 0;
      double h = 0;
      for (std::size_t k = 0; k < i; ++k) scale += std::abs(d[k]);
      if (scale == 0) {
        e[i] = d[i - 1];
        for (std::size_t j = 0; j < i; ++j) {
          d[j] = v(i - 1, j);
          v(i, j) = v(j, i) = 0;
        }
      } else {
        for (std::size_t k = 0; k < i; ++k) {
          d[k] /= scale;
          h += d[k] * d[k];
        }
        const double f = d[i - 1];
        const double g = f > 0 ? -std::sqrt(h) : std::sqrt(h);
        e[i] = scale * g;
        h -= f * g;
        d[i - 1] = f - g;
        for (std::size_t j = 0; j < i; ++j) e[j] = 0;
        for (std::size_t j = 0; j < i; ++j) v(j, i) = d[j];
        add_product(v_.data(), n_, i, d.data(), e.data());
        double sum = 0;
        for (std::size_t j = 0; j < i; ++j) {
          e[j] /= h;
          sum += e[j] * d[j];
        }
        for (std::size_t j = 0; j < i; ++j) e[j] -= sum / (h + h) * d[j];
        take_products(v_.data(), n_, i, d.data(), e.data());
        for (std::size_t j = 0; j < i; ++j) {
          d[j] = v(i - 1, j);
          v(i, j) = 0;
        }
      }
      d[i] = h;
    }
    for (std::size_t i = 0; i + 1 < n_; ++i) {
      v(n_ - 1, i) = v(i, i);
      v(i, i) = 1;
      const double h = d[i + 1];
      if (h != 0) {
        for (std::size_t k = 0; k <= i; ++k) d[k] = v(k, i + 1) / h;
        reflect(v_.data(), n_, i + 1, &v(0, i + 1), d.data());
      }
      for (std::size_t k = 0; k <= i; ++k) v(k, i + 1) = 0;
    }
    for (std::size_t j = 0; j < n_; ++j) {
      d[j] = v(n_ - 1, j);
      v(n_ - 1, j) = 0;
    }
    v(n_ - 1, n_ - 1) = 1;
    e[0] = 0;
  }

  void diagonalise() {
    std::vector<double>& d = values_;
    std::vector<double>& e = off_;
    for (std::size_t i = 1; i < n_; ++i) e[i - 1] = e[i];
    e[n_ - 1] = 0;
    double shifted = 0;
    double largest = 0;
    constexpr double rounding = 2.220446049250313e-16;
    constexpr int most_turns = 60;  // two or three do; what is no number would never end
    for (std::size_t l = 0; l < n_; ++l) {
      largest = std::max(largest, std::abs(d[l]) + std::abs(e[l]));
      std::size_t m = l;
      while (m + 1 < n_ && std::abs(e[m]) > rounding * largest) ++m;
      for (int turn = 0; m > l && turn < most_turns && std::abs(e[l]) > rounding * largest; ++turn) {
        const double first = d[l];
        double p = (d[l + 1] - first) / (2 * e[l]);
        double r = std::copysign(std::sqrt(p * p + 1), p);
        d[l] = e[l] / (p + r);
        d[l + 1] = e[l] * (p + r);
        const double next = d[l + 1];
        const double shift = first - d[l];
        for (std::size_t i = l + 2; i < n_; ++i) d[i] -= shift;
        shifted += shift;
        p = d[m];
        double c = 1;
        double c2 = 1;
        double c3 = 1;
        const double e_next = e[l + 1];
        double s = 0;
        double s2 = 0;
        for (std::size_t i = m; i-- > l;) {
          c3 = c2;
          c2 = c;
          s2 = s;
          const double g = c * e[i];
          const double h = c * p;
          r = std::sqrt(p * p + e[i] * e[i]);
          e[i + 1] = s * r;
          s = e[i] / r;
          c = p / r;
          p = c * d[i] - s * g;
          d[i + 1] = h + s * (c * g + s * d[i]);
          rotate(&v(0, i), &v(0, i + 1), n_, c, s);
        }
        p = -s * s2 * c3 * e_next * e[l] / next;
        e[l] = s * p;
        d[l] = c * p;
      }
      d[l] += shifted;
      e[l] = 0;
    }
  }

  std::size_t n_;
  std::vector<double>& v_;
  std::vector<double> values_;
  std::vector<double> off_;
};

// Each sum is added up in the order of the rows whatever the machine.
CAIRN_WIDEST void combine_one(const double* values, std::size_t rows, std::size_t stride,
                              const double* weight, double* sum) {
  for (std::size_t column = 0; column < stride; column += lane) {
    Lane total{};
    const double* value = values + column;
    for (std::size_t row = 0; row < rows; ++row, value += stride) {
      total += weight[row] * *reinterpret_cast<const Lane*>(value);
    }
    *reinterpret_cast<Lane*>(sum + column) = total;
  }
}

CAIRN_WIDEST void combine_one_twice(const double* values, std::size_t rows, std::size_t stride,
                                    const double* first, double* first_sum, const double* second,
                                    double* second_sum) {
  for (std::size_t column = 0; column < stride; column += lane) {
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

CAIRN_WIDEST void combine_pair(const double* values, std::size_t rows, std::size_t stride,
                               const double* weight, double* sum) {
  for (std::size_t column = 0; column < stride; column += lane) {
    Lane total{};
    const double* value = values + column;
    for (std::size_t row = 0; row < rows; ++row, value += stride) {
      const double low = weight[2 * row];
      const double high = weight[2 * row + 1];
      total += Lane{low, high, low, high} * *reinterpret_cast<const Lane*>(value);
    }
    *reinterpret_cast<Lane*>(sum + column) = total;
  }
}

CAIRN_WIDEST void combine_pair_twice(const double* values, std::size_t rows, std::size_t stride,
                                     const double* first, double* first_sum, const double* second,
                                     double* second_sum) {
  for (std::size_t column = 0; column < stride; column += lane) {
    Lane total{};
    Lane other{};
    const double* value = values + column;
    for (std::size_t row = 0; row < rows; ++row, value += stride) {
      const Lane here = *reinterpret_cast<const Lane*>(value);
      const double low = first[2 * row];
      const double high = first[2 * row + 1];
      const double other_low = second[2 * row];
      const double other_high = second[2 * row + 1];
      total += Lane{low, high, low, high} * here;
      other += Lane{other_low, other_high, other_low, other_high} * here;
    }
    *reinterpret_cast<Lane*>(first_sum + column) = total;
    *reinterpret_cast<Lane*>(second_sum + column) = other;
  }
}

}  // namespace

template <class Value>
void ModeMatrix<Value>::combine(const Values& weights, Values& sum) const {
  const auto kernel = sides == 1 ? combine_one : combine_pair;
  kernel(values_.data(), rows_, stride_, plain(weights), plain(sum));
}

template <class Value>
void ModeMatrix<Value>::combine(const Values& first, Values& first_sum, const Values& second,
                                Values& second_sum) const {
  const auto kernel = sides == 1 ? combine_one_twice : combine_pair_twice;
  kernel(values_.data(), rows_, stride_, plain(first), plain(first_sum), plain(second), plain(second_sum));
}

template <class Value>
Modes<Value>::Modes(std::size_t nodes)
    : size_(nodes),
      rates_(ModeMatrix<Value>::padded(nodes)),
      by_node_(nodes),
      by_mode_(nodes),
      magnitudes_(nodes) {}

template <class Value>
void Modes<Value>::find(const Network& network, const std::vector<double>& conductances, std::size_t side) {
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
  const Eigen eigen(matrix, size_);
  // Slow ones first: neighbours are treated alike.
  std::vector<std::size_t> order(size_);
  for (std::size_t k = 0; k < size_; ++k) order[k] = k;
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return eigen.values()[a] < eigen.values()[b]; });
  for (std::size_t k = 0; k < size_; ++k) {
    const double rate = eigen.values()[order[k]];
    set_side(rates_[k], side, rate < 0 ? 0 : rate);  // below by rounding only
    for (std::size_t i = 0; i < size_; ++i) {
      const double share = scale[i] * matrix[order[k] * size_ + i];
      by_node_.at(i, k, side) = share;
      by_mode_.at(k, i, side) = share;
      magnitudes_.at(k, i, side) = std::abs(share);
    }
  }
}

template class ModeMatrix<double>;
template class ModeMatrix<Pair>;
template class Modes<double>;
template class Modes<Pair>;

}  // namespace cairn
