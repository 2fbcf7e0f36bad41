// What a checked load withdraws; for the rooms' own use.

#pragma once

#include <vector>

#include "compiler/meaning/program.h"
#include "compiler/sequence/sequence.h"

namespace cairn {

std::vector<Withdrawal> read_withdrawals(const Program& program, Diagnostics& diagnostics);

}  // namespace cairn
