// The plain tree that YAML text becomes: scalars, sequences and maps, each with its place.
//
// Aliases are already expanded and keys are unique; every later step of the loader reads only this tree, so
// that nothing but load_yaml.cpp depends on the YAML library.

#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "compiler/text/source.h"

namespace cairn {

enum class NodeKind : std::uint8_t { Null, Scalar, Sequence, Map };

struct YamlEntry;

struct YamlNode {
  NodeKind kind = NodeKind::Null;
  Span span;            // a scalar: all of it, quotes included; others: their key, or where they begin
  bool quoted = false;  // a scalar that cannot be a number or a flag
  std::string text;     // of a scalar
  std::vector<YamlNode> items;
  std::vector<YamlEntry> entries;  // in the order of the text

  [[nodiscard]] const YamlNode* find(std::string_view key) const;
};

struct YamlEntry {
  std::string key;
  Span key_span;
  YamlNode value;
};

inline const YamlNode* YamlNode::find(std::string_view key) const {
  for (const YamlEntry& entry : entries) {
    if (entry.key == key) return &entry.value;
  }
  return nullptr;
}

}  // namespace cairn
