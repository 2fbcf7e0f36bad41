// How long the next step should be, from what the steps before were allowed.
//
// After a jump of what drives the network fast nodes begin anew, and only short steps follow them. How short
// is remembered from jump to jump apart from the length that steps in between have grown to.

#pragma once

#include <algorithm>
#include <cmath>

namespace cairn {

class StepLength {
 public:
  static constexpr double shortest = 1e-6;  // s

  void jump() { jumped_ = true; }
  [[nodiscard]] double next() const { return jumped_ ? first_ : longest_; }

  // A step of this length had this error, relative to the tolerance; whether it is good enough.
  bool judge(double step, double error) {
    const double factor = std::clamp(0.9 / std::cbrt(std::max(error, 1e-10)), 0.2, 5.0);
    const bool good = error <= 1 || step <= shortest;
    double& limit = jumped_ ? first_ : longest_;
    if (!good || factor < 1 || step >= limit) {
      limit = std::max(step * (jumped_ && good ? std::min(factor, most_first_growth) : factor), shortest);
    }
    if (!good) return false;
    if (jumped_) longest_ = std::max(step * factor, shortest);
    jumped_ = false;
    return true;
  }

 private:
  static constexpr double most_first_growth = 1.5;
  double longest_ = 60;
  double first_ = 60;
  bool jumped_ = true;
};

}  // namespace cairn
