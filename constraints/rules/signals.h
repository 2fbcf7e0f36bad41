// Predicted numbers as signals.

#pragma once

#include "constraints/rules/predictions.h"

namespace cairn {

// Empty where the prediction is not there.
Signal signal_of(const RuleSignal& wanted, const Predictions& predictions);

}  // namespace cairn
