// SUNDIALS CVODE (BDF, dense Newton) over a thermal network: the reference the check is held against.

#pragma once

#include <functional>
#include <vector>

#include "constraints/heat/network.h"

namespace cairn {

// Integrates from `from` to `to` under a drive that is constant there; restarted, as it must be after a jump.
class CvodeReference {
 public:
  CvodeReference(const Network& network, std::vector<double> temperatures, double relative, double absolute);
  ~CvodeReference();
  CvodeReference(const CvodeReference&) = delete;
  CvodeReference& operator=(const CvodeReference&) = delete;

  void advance(const Drive& drive, double from, double to) {
    restart(drive, from, to);
    go_on(to);
  }
  // The same in parts: the drive holds until `to`, which is where the last part ends.
  void restart(const Drive& drive, double from, double to);
  void go_on(double until);
  [[nodiscard]] const std::vector<double>& temperatures() const { return temperatures_; }
  [[nodiscard]] std::vector<double> rates() const;  // K/s, of the temperatures under the drive

 private:
  struct Handles;
  Handles* handles_;
  std::vector<double> temperatures_;
  double reached_ = 0;
};

}  // namespace cairn
