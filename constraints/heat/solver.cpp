// Which method steps a network.

#include "constraints/heat/solver.h"

#include "constraints/heat/modal_step.h"
#include "constraints/heat/sparse_step.h"

namespace cairn {

template <class Value>
Stepper<Value>::Stepper(const Network& network, double tolerance, const NetworkSpread& spread,
                        std::size_t modal_up_to) {
  if (network.capacities.size() <= modal_up_to) {
    method_ = std::make_unique<ModalStep<Value>>(network, tolerance, spread);
  } else {
    method_ = std::make_unique<SparseStep<Value>>(network, tolerance, spread);
  }
  parts_ = &method_->parts();
  drives_ = &method_->drives();
  bend_ = &method_->bend();
}

template class Stepper<double>;
template class Stepper<Pair>;

}  // namespace cairn
