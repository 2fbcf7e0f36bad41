// How it went on the station: the fates of the commands, in the order of their times, as stretches that the
// prediction can follow.

#pragma once

#include "compiler/review/reconcile/reconcile.h"

namespace cairn {

// Takes the fates and the end from `result`; gives its stretches and notes, and why commands cannot run.
void follow_course(const ReconcileInput& input, Reconciliation& result);

}  // namespace cairn
