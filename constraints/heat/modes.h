// A thermal network in its natural modes.
//
// With every link replaced by a conductance the network is C dT/dt = q - G T, G symmetric. Its modes M (with
// M^T C M = 1 and M^T G M = diagonal) turn it into dz/dt = M^T q - rate z, one number at a time: each mode
// relaxes on its own, so that a step of any length is exact, and between two times a mode left alone only
// rises or falls.

#pragma once

#include <cstddef>
#include <vector>

#include "constraints/heat/lanes.h"
#include "constraints/heat/network.h"

namespace cairn {

// Rows of equal length, each number one of a side's, the sides one beside the other; padded with zeros to
// whole lanes, as are the vectors it takes and gives.
template <class Value>
class ModeMatrix {
 public:
  using Values = std::vector<Value>;
  static constexpr std::size_t sides = sides_of<Value>;
  static std::size_t padded(std::size_t count) { return whole_lanes(count * sides) / sides; }

  explicit ModeMatrix(std::size_t size)
      : rows_(size), stride_(whole_lanes(size * sides)), values_(rows_ * stride_) {}
  double& at(std::size_t row, std::size_t column, std::size_t side) {
    return values_[row * stride_ + column * sides + side];
  }
  [[nodiscard]] const double* row(std::size_t row) const { return &values_[row * stride_]; }
  // Sum of the rows, each times its weight.
  void combine(const Values& weights, Values& sum) const;
  // Two sums at the price of reading the matrix once.
  void combine(const Values& first, Values& first_sum, const Values& second, Values& second_sum) const;

 private:
  std::size_t rows_;
  std::size_t stride_;
  std::vector<double> values_;
};

// Of one network, or of the two that bound it.
template <class Value>
class Modes {
 public:
  using Values = std::vector<Value>;
  explicit Modes(std::size_t nodes);
  // `conductances`, W/K, link by link.
  void find(const Network& network, const std::vector<double>& conductances, std::size_t side = 0);

  [[nodiscard]] const Values& rates() const { return rates_; }  // 1/s, not negative
  void to_temperatures(const Values& modes, Values& kelvin) const { by_mode_.combine(modes, kelvin); }
  // What heat in the nodes, W, drives the modes with.
  void to_drive(const Values& watts, Values& drive) const { by_node_.combine(watts, drive); }
  void to_temperatures(const Values& modes, Values& kelvin, const Values& other_modes,
                       Values& other_kelvin) const {
    by_mode_.combine(modes, kelvin, other_modes, other_kelvin);
  }
  void to_drive(const Values& watts, Values& drive, const Values& other_watts, Values& other_drive) const {
    by_node_.combine(watts, drive, other_watts, other_drive);
  }
  // Sum over the modes of |share| times `bounds`: what the nodes cannot exceed when the modes stay within
  // them.
  void to_bounds(const Values& bounds, Values& kelvin) const { magnitudes_.combine(bounds, kelvin); }
  // The node's share of each mode.
  [[nodiscard]] const double* node(std::size_t node) const { return by_node_.row(node); }

 private:
  std::size_t size_;
  Values rates_;
  ModeMatrix<Value> by_node_;
  ModeMatrix<Value> by_mode_;
  ModeMatrix<Value> magnitudes_;  // by mode
};

}  // namespace cairn
