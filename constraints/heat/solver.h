// Steps a thermal network through time: the network as it is, or both its bounds in one pass.
//
// Small networks are stepped mode by mode (modal_step.h), whose cost grows with the square of the nodes, and
// with their cube where it is linearised anew; large ones by sparse algebra (sparse_step.h), whose cost grows
// with the number of links.

#pragma once

#include <cstddef>
#include <memory>
#include <vector>

#include "constraints/heat/most_modal.h"
#include "constraints/heat/network.h"
#include "constraints/heat/step_method.h"

namespace cairn {

// `Value` is double, or Pair for lower and upper bound.
template <class Value>
class Stepper {
 public:
  using Values = std::vector<Value>;
  using Reading = cairn::Reading;
  static constexpr bool bounds = sides_of<Value> == 2;

  // The network is held by reference; the spread is what bounds allow its numbers. `tolerance` in K.
  Stepper(const Network& network, double tolerance, const NetworkSpread& spread = {},
          std::size_t modal_up_to = most_modal_nodes);

  // Gives a conductive link to a sink another value, from the next step on.
  void set_contact(std::size_t link, Value conductance) { method_->set_contact(link, conductance); }

  // One step of length `h` from `temperatures` at `seconds`; writes the result and returns the error estimate
  // relative to the tolerance (accept when at most 1). `drive(seconds, DriveOf<Value>&)` is asked at both
  // ends and at times between, and must be smooth in between.
  template <class DriveFunction>
  double try_step(const DriveFunction& drive, double seconds, double h, const Values& temperatures,
                  Values& result) {
    for (std::size_t k = 0; k < parts_->size(); ++k) drive(seconds + (*parts_)[k] * h, (*drives_)[k]);
    return method_->step(h, temperatures, result);
  }

  // The rest speaks of the step tried last.

  // Of a node when `part` of the step, 0 to 1, is over.
  Reading at(std::size_t node, double part, std::size_t side = 0) { return method_->at(node, part, side); }
  // A node strays no further than this, K, from the straight line between its temperatures at both ends.
  [[nodiscard]] double bend(std::size_t node, std::size_t side = 0) const {
    return of_side((*bend_)[node], side);
  }
  // What temperatures may be off by at the step's end if they may be off by so much at its begin; for bounds.
  void displace(const Displacement<Value>& begin, Displacement<Value>& end) { method_->displace(begin, end); }
  [[nodiscard]] double energy_in() const { return method_->energy_in(); }  // J into the nodes, first side
  [[nodiscard]] double energy_out() { return method_->energy_out(); }      // J that leave through the sinks

 private:
  std::unique_ptr<StepMethod<Value>> method_;
  // Of the method, asked for in every step.
  const std::vector<double>* parts_;
  std::vector<DriveOf<Value>>* drives_;
  const Values* bend_;
};

using NetworkSolver = Stepper<double>;
using BoundSolver = Stepper<Pair>;

}  // namespace cairn
