// A thermal network in its natural modes.
//
// With every link replaced by a conductance the network is C dT/dt = q - G T, G symmetric. Its modes M (with
// M^T C M = 1 and M^T G M = diagonal) turn it into dz/dt = M^T q - rate z, one number at a time: each mode
// relaxes on its own, so that a step of any length is exact, and between two times a mode left alone only
// rises or falls.

#pragma once

#include <cstddef>
#include <vector>

#include "constraints/heat/network.h"

namespace cairn {

// Rows of equal length, padded with zeros to whole blocks; so are the vectors it takes and gives.
class BlockMatrix {
 public:
  static constexpr std::size_t block = 4;
  static std::size_t padded(std::size_t count) { return (count + block - 1) / block * block; }

  explicit BlockMatrix(std::size_t size) : rows_(size), stride_(padded(size)), values_(rows_ * stride_) {}
  double& at(std::size_t row, std::size_t column) { return values_[row * stride_ + column]; }
  [[nodiscard]] const double* row(std::size_t row) const { return &values_[row * stride_]; }
  // Sum of the rows, each times its weight.
  void combine(const std::vector<double>& weights, std::vector<double>& sum) const;
  // Two sums at the price of reading the matrix once.
  void combine(const std::vector<double>& first, std::vector<double>& first_sum,
               const std::vector<double>& second, std::vector<double>& second_sum) const;

 private:
  std::size_t rows_;
  std::size_t stride_;
  std::vector<double> values_;
};

class Modes {
 public:
  explicit Modes(std::size_t nodes);
  // `conductances`, W/K, link by link.
  void find(const Network& network, const std::vector<double>& conductances);

  [[nodiscard]] const std::vector<double>& rates() const { return rates_; }  // 1/s, not negative
  void to_temperatures(const std::vector<double>& modes, std::vector<double>& kelvin) const {
    by_mode_.combine(modes, kelvin);
  }
  // What heat in the nodes, W, drives the modes with.
  void to_drive(const std::vector<double>& watts, std::vector<double>& drive) const {
    by_node_.combine(watts, drive);
  }
  void to_temperatures(const std::vector<double>& modes, std::vector<double>& kelvin,
                       const std::vector<double>& other_modes, std::vector<double>& other_kelvin) const {
    by_mode_.combine(modes, kelvin, other_modes, other_kelvin);
  }
  void to_drive(const std::vector<double>& watts, std::vector<double>& drive,
                const std::vector<double>& other_watts, std::vector<double>& other_drive) const {
    by_node_.combine(watts, drive, other_watts, other_drive);
  }
  // Sum over the modes of |share| times `bounds`: what the nodes cannot exceed when the modes stay within
  // them.
  void to_bounds(const std::vector<double>& bounds, std::vector<double>& kelvin) const {
    magnitudes_.combine(bounds, kelvin);
  }
  // The node's share of each mode.
  [[nodiscard]] const double* node(std::size_t node) const { return by_node_.row(node); }

 private:
  std::size_t size_;
  std::vector<double> rates_;
  BlockMatrix by_node_;
  BlockMatrix by_mode_;
  BlockMatrix magnitudes_;  // by mode
};

}  // namespace cairn
