// Eigen's sparse Cholesky factors.

// Scalar sums alone: their order, and so every bit, is the same on all machines.
#define EIGEN_DONT_VECTORIZE
#define EIGEN_DONT_PARALLELIZE

#include "constraints/heat/sparse_factors.h"

#include <Eigen/SparseCholesky>
#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>
#include <utility>

namespace cairn {

namespace {

using Matrix = Eigen::SparseMatrix<double>;
using Vector = Eigen::VectorXd;

}  // namespace

struct SparseFactors::Parts {
  const Network* network;
  Matrix matrix;  // its lower triangle
  // Where a link's ends and what is between them stand in the matrix.
  struct Place {
    std::size_t node, other, between;
  };
  std::vector<Place> places;
  std::vector<std::size_t> diagonal;
  Eigen::SimplicialLDLT<Matrix> factors;
};

SparseFactors::SparseFactors(const Network& network) : parts_(std::make_unique<Parts>()) {
  Parts& parts = *parts_;
  parts.network = &network;
  const auto nodes = static_cast<Eigen::Index>(network.capacities.size());
  std::vector<Eigen::Triplet<double>> entries;
  entries.reserve(network.capacities.size() + network.links.size());
  const auto lower = [](const NetworkLink& link) {
    return std::pair(static_cast<int>(std::max(link.node, link.other)),
                     static_cast<int>(std::min(link.node, link.other)));
  };
  for (int i = 0; i < nodes; ++i) entries.emplace_back(i, i, 1.0);
  for (const NetworkLink& link : network.links) {
    if (link.to_sink) continue;
    const auto [row, column] = lower(link);
    entries.emplace_back(row, column, 1.0);
  }
  parts.matrix.resize(nodes, nodes);
  parts.matrix.setFromTriplets(entries.begin(), entries.end());
  parts.matrix.makeCompressed();
  const auto place = [&](int row, int column) {
    const int* begin = parts.matrix.innerIndexPtr() + parts.matrix.outerIndexPtr()[column];
    const int* end = parts.matrix.innerIndexPtr() + parts.matrix.outerIndexPtr()[column + 1];
    return static_cast<std::size_t>(std::lower_bound(begin, end, row) - parts.matrix.innerIndexPtr());
  };
  for (int i = 0; i < nodes; ++i) parts.diagonal.push_back(place(i, i));
  for (const NetworkLink& link : network.links) {
    if (link.to_sink) {
      parts.places.push_back({parts.diagonal[link.node], 0, 0});
    } else {
      const auto [row, column] = lower(link);
      parts.places.push_back({parts.diagonal[link.node], parts.diagonal[link.other], place(row, column)});
    }
  }
  parts.factors.analyzePattern(parts.matrix);
}

SparseFactors::~SparseFactors() = default;
SparseFactors::SparseFactors(SparseFactors&&) noexcept = default;
SparseFactors& SparseFactors::operator=(SparseFactors&&) noexcept = default;

bool SparseFactors::factor(const std::vector<double>& conductances, double seconds) {
  Parts& parts = *parts_;
  double* values = parts.matrix.valuePtr();
  std::fill(values, values + parts.matrix.nonZeros(), 0.0);
  const Network& network = *parts.network;
  for (std::size_t i = 0; i < network.capacities.size(); ++i) {
    values[parts.diagonal[i]] = network.capacities[i];
  }
  for (std::size_t k = 0; k < network.links.size(); ++k) {
    const Parts::Place& place = parts.places[k];
    const double joules = seconds * conductances[k];
    values[place.node] += joules;
    if (network.links[k].to_sink) continue;
    values[place.other] += joules;
    values[place.between] -= joules;
  }
  parts.factors.factorize(parts.matrix);
  return parts.factors.info() == Eigen::Success;
}

void SparseFactors::solve(std::vector<double>& values) const {
  Eigen::Map<Vector> mapped(values.data(), static_cast<Eigen::Index>(parts_->diagonal.size()));
  mapped = parts_->factors.solve(mapped);
}

// Inverse iteration on G z = rate C z, a hair away from rate 0, where a network without sinks has its mode.
double longest_time_constant(const Network& network, const std::vector<double>& conductances) {
  constexpr double never = 1e12;  // s
  constexpr int most_turns = 200;
  const std::size_t nodes = network.capacities.size();
  SparseFactors factors(network);
  const double inf = std::numeric_limits<double>::infinity();
  if (!factors.factor(conductances, never)) return inf;
  const auto norm = [&](const std::vector<double>& values) {
    double sum = 0;
    for (std::size_t i = 0; i < nodes; ++i) sum += network.capacities[i] * values[i] * values[i];
    return std::sqrt(sum);
  };
  std::vector<double> values(nodes, 1.0);
  double share = 0;
  for (int turn = 0; turn < most_turns; ++turn) {
    const double before = norm(values);
    for (std::size_t i = 0; i < nodes; ++i) values[i] *= network.capacities[i] / before;
    factors.solve(values);
    // The iterate grows by 1 / (1 + never * rate) in the end, and by less before.
    const double now = norm(values);
    const bool settled = std::abs(now - share) <= 1e-4 * now;
    share = now;
    if (settled && turn > 2) break;
  }
  const double rate = (1 / share - 1) / never;
  return rate * never > 1e-3 ? 1 / rate : inf;
}

}  // namespace cairn
