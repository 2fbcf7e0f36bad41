// Up to how many nodes a network is stepped mode by mode.

#pragma once

#include <cstddef>

namespace cairn {

// Larger networks are stepped by sparse algebra; about here both cost the same, see docs/benchmarks.md.
inline constexpr std::size_t most_modal_nodes = 340;

}  // namespace cairn
