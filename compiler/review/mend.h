// What could be changed in a load so that a failing check holds: small changes of its text, the least ones
// first.
//
// Nothing here says that a change helps: each has to be compiled and checked as a whole load
// (command/mend_command.cpp).

#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "compiler/syntax/tree.h"

namespace cairn {

struct LoadEdit {
  std::uint32_t begin = 0;  // bytes of the load's text, half-open
  std::uint32_t end = 0;
  std::string text;
};

enum class MendKind : std::uint8_t { Shift, Bring, Trim, Swap, Split, Remove };

struct Mend {
  MendKind kind = MendKind::Shift;
  std::string words;  // "shift `at sunset - 1 h` by +10 min"
  std::vector<LoadEdit> edits;
  std::int64_t cost = 0;   // the less, the smaller the change; a shift's is its seconds
  std::int64_t shift = 0;  // of a shift: seconds
  std::uint32_t family = 0;
};

// A state that a command of the failing ones asks for: `bring UNIT[.PART] to STATE` may be what is missing.
struct WantedState {
  Span before;       // the statement of the load before which it would go
  std::string unit;  // "camera" or "camera.cover"
  std::string state;
};

struct MendInput {
  const SourceFiles* files = nullptr;
  const Tree* tree = nullptr;  // of the load
  std::vector<Span> causes;    // places in the load that the failing checks name
  std::vector<WantedState> wanted;
  // Units, and parts of one unit, that can stand for one another: "transmitter-a" and "transmitter-b".
  std::vector<std::pair<std::string, std::string>> alike;
  // Instants from which on a window can be used, rising: where the rest of a block that is too much for one
  // window may go. Each as it is written in a load.
  std::vector<std::string> window_begins;
};

// Rising by cost.
std::vector<Mend> possible_mends(const MendInput& input);

// The shift of the same family by so many seconds; nullopt when `mend` is no shift.
std::optional<Mend> with_shift(const MendInput& input, const Mend& mend, std::int64_t seconds);

std::string with_edits(std::string_view text, std::vector<LoadEdit> edits);

// A patch in the unified form that `patch -p1` and `git apply` take.
std::string unified_patch(const std::string& name, const std::string& before, const std::string& after);

}  // namespace cairn
