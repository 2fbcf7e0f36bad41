// The factors of C + s G for a thermal network: capacities C, conductances G, s in seconds.
//
// Symmetric and positive definite. Its pattern is ordered once (approximate minimum degree) so that the
// factors stay sparse; factors by Eigen, in the same order of sums on all machines.

#pragma once

#include <memory>
#include <vector>

#include "constraints/heat/network.h"

namespace cairn {

class SparseFactors {
 public:
  explicit SparseFactors(const Network& network);
  ~SparseFactors();
  SparseFactors(SparseFactors&&) noexcept;
  SparseFactors& operator=(SparseFactors&&) noexcept;

  // `conductances`, W/K, link by link. False where what it is given is not a network's.
  bool factor(const std::vector<double>& conductances, double seconds);
  // J by node, to K by node.
  void solve(std::vector<double>& values) const;

 private:
  struct Parts;
  std::unique_ptr<Parts> parts_;
};

// s: how long the slowest of the network's modes takes, to a few per cent; infinite where nothing ends it.
double longest_time_constant(const Network& network, const std::vector<double>& conductances);

}  // namespace cairn
