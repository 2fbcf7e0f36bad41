// What a way of stepping a thermal network through time must give: the step's end, its inside, how far it is
// off, and its account of energy.

#pragma once

#include <cstddef>
#include <vector>

#include "constraints/heat/lanes.h"
#include "constraints/heat/network.h"

namespace cairn {

// A node at a time.
struct Reading {
  double temperature = 0;  // K
  double rate = 0;         // K/s
};

// What temperatures may be off by.
template <class Value>
struct Displacement {
  std::vector<Value> off;         // K, by node
  std::vector<Value> modes;       // the same in the method's own terms, where it has any
  std::size_t linearisation = 0;  // those terms change with it
};

// `Value` is double for the network as it is, Pair for its lower and upper bound.
template <class Value>
class StepMethod {
 public:
  using Values = std::vector<Value>;
  static constexpr bool bounds = sides_of<Value> == 2;

  virtual ~StepMethod() = default;
  StepMethod(const StepMethod&) = delete;
  StepMethod& operator=(const StepMethod&) = delete;

  // At which parts of a step, 0 to 1, the drive is to be put into `drives()` before it is tried.
  [[nodiscard]] const std::vector<double>& parts() const { return parts_; }
  [[nodiscard]] std::vector<DriveOf<Value>>& drives() { return drives_; }

  // Gives a conductive link to a sink another value, from the next step on.
  virtual void set_contact(std::size_t link, Value conductance) = 0;
  // One step of `h` seconds from `temperatures`; writes the result and returns the error estimate relative to
  // the tolerance (accept when at most 1), which grows with the third power of the step.
  virtual double step(double h, const Values& temperatures, Values& result) = 0;

  // The rest speaks of the step tried last.

  // Of a node when `part` of the step, 0 to 1, is over.
  virtual Reading at(std::size_t node, double part, std::size_t side) = 0;
  // K, by node: it strays no further than this from the straight line between its temperatures at both ends.
  [[nodiscard]] const Values& bend() const { return bend_; }
  // What temperatures may be off by at the step's end if they may be off by so much at its begin: that fades
  // as temperatures do, and the step's own error comes on top. For bounds.
  virtual void displace(const Displacement<Value>& begin, Displacement<Value>& end) = 0;
  [[nodiscard]] virtual double energy_in() const = 0;  // J into the nodes, of the first side
  [[nodiscard]] virtual double energy_out() = 0;       // J that leave through the sinks

 protected:
  StepMethod(std::vector<double> parts, std::size_t padded)
      : parts_(std::move(parts)), drives_(parts_.size()), bend_(padded) {}

  std::vector<double> parts_;
  std::vector<DriveOf<Value>> drives_;
  Values bend_;
};

}  // namespace cairn
