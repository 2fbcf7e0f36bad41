// How modes that relax with given rates answer to what drives them.
//
// decay = e^-x and phi_k = integral over (0, 1) of e^(-x (1 - s)) s^(k-1) / (k-1)!, x = rate times time: what
// is left of a mode, and what constant, linear, quadratic and cubic drives make of it.

#pragma once

#include <cstddef>
#include <vector>

namespace cairn {

class Answers {
 public:
  // For `count` rates in whole lanes.
  explicit Answers(std::size_t count);
  void find(const double* rates, double seconds);

  std::vector<double> decay, phi1, phi2, phi3, phi4;
};

}  // namespace cairn
