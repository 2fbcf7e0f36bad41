// Steps a large thermal network through time by sparse algebra.
//
// Collocation (collocation.h): temperatures are polynomials of degree 5 in the part of the step that meet the
// heat balance in five points, found by Newton's method with the sparse factors of C + gamma h G,
// which are made anew for each step. Stable however stiff the network; what changes fast takes short steps.

#pragma once

#include <array>
#include <cstddef>
#include <vector>

#include "constraints/heat/collocation.h"
#include "constraints/heat/flows.h"
#include "constraints/heat/lanes.h"
#include "constraints/heat/network.h"
#include "constraints/heat/sparse_factors.h"
#include "constraints/heat/step_method.h"

namespace cairn {

template <class Value>
class SparseStep final : public StepMethod<Value> {
 public:
  using Values = std::vector<Value>;
  static constexpr bool bounds = sides_of<Value> == 2;

  // The network is held by reference; the spread is what bounds allow its numbers. `tolerance` in K.
  SparseStep(const Network& network, double tolerance, const NetworkSpread& spread = {});

  void set_contact(std::size_t link, Value conductance) override;
  double step(double h, const Values& temperatures, Values& result) override;
  Reading at(std::size_t node, double part, std::size_t side) override;
  void displace(const Displacement<Value>& begin, Displacement<Value>& end) override;
  [[nodiscard]] double energy_in() const override;
  [[nodiscard]] double energy_out() override;

 private:
  static constexpr std::size_t stages = Collocation::stages;
  static constexpr std::size_t points = Collocation::points;
  static constexpr std::size_t end = Collocation::end;
  // Beside the points, the time at which the polynomial is checked.
  static constexpr std::size_t check = points;
  using Course = std::array<Values, points>;  // K, by point of the step and by node

  using StepMethod<Value>::drives_;
  using StepMethod<Value>::bend_;

  void linearise();
  void guess(double h, const Values& temperatures);
  void extend_drive();
  [[nodiscard]] const DriveOf<Value>& drive_of(std::size_t point) const;
  void find_heat(std::size_t point, const Values& temperatures);
  void find_residuals();
  void solve(Values& joules);
  void solve_stages(std::array<Values, stages>& joules);
  bool settle();
  double left_over();
  void find_bends();
  void find_powers();
  void weigh(const Collocation::ByPoint& weights, const Course& course, Values& sum) const;

  const Collocation& numbers_;
  double tolerance_;
  std::size_t size_;
  const Network* network_;
  Flows<Value> flows_;
  Values conductances_;                 // W/K, by link
  std::vector<SparseFactors> factors_;  // by side
  bool factored_ = false;

  double h_ = 0;
  Course course_;
  Course course_before_;  // of the step tried before
  Course powers_;         // K, by power of the part of the step and by node, where they have been asked for
  bool has_powers_ = false;
  double h_before_ = 0;  // 0: there is none to go on from
  std::array<Values, points + 1>
      heat_;  // W net into each node, at the points and at the one that checks them
  std::array<typename Flows<Value>::Record, points + 1> records_;
  std::array<Values, stages> residuals_, changes_;  // J, K
  Values there_, off_begin_, off_later_, defect_, work_;
  double spread_share_ = 0;  // by which a turn may change less than the one before, for what spreads do
  double still_ = 0;         // K that Newton's method might still change
  std::vector<double> of_side_;
  DriveOf<Value> drive_between_;
};

}  // namespace cairn
