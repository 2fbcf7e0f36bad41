// Every place in a load's files where something is named: where it is defined, and where it is used.
//
// What a name stands for is told by the place where it is defined: in a file of the language, or in the
// station's YAML.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "compiler/editor/analysis.h"

namespace cairn {

enum class NameKind : std::uint8_t {
  Constant,
  Mark,
  Parameter,
  Turn,
  Block,
  Routine,
  Rule,  // of the language
  Station,
  Unit,
  Part,
  State,
  Command,
  Argument,
  Choice,
  Antenna,
  File,      // of other files
  Quantity,  // sun.elevation and the station's facts; defined nowhere
};

struct NameUse {
  Span span;
  NameKind kind = NameKind::Constant;
  Span target;  // where it is defined; invalid: nowhere that is known
  bool defines = false;
  // Of the dictionary, whichever fit the kind.
  UnitId unit;
  PartId part;
  StateId state;
  CommandId command;
  std::uint32_t argument = 0;
};

constexpr bool is_of_language(NameKind kind) { return kind <= NameKind::Rule; }
std::string_view to_word(NameKind kind);

// Rising by file and place.
std::vector<NameUse> names_of(const Analysis& analysis);

// The name that stands at an offset, its end included.
const NameUse* name_at(const std::vector<NameUse>& names, FileId file, std::uint32_t offset);

// All uses of what the name stands for, its definition among them.
std::vector<NameUse> uses_of(const std::vector<NameUse>& names, const NameUse& name);

}  // namespace cairn
