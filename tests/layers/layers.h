// The rule of who may include whom, and the reading of everything that could break it.
//
// Takes texts, so that the tests can hand in planted breaches; each function answers with one sentence per
// breach, and none means that the rule is kept.

#pragma once

#include <map>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "tests/layers/source_tree.h"

namespace cairn::test {

struct Room {
  std::string name;
  std::vector<std::string> paths;  // from the root of the project; a folder or a file
  std::set<std::string> edges;     // rooms it may include
};

struct Door {
  std::string header;               // "erfa.h", or "fmt/" for all that begins so
  std::vector<std::string> inside;  // the files and folders that may include it
};

struct Layers {
  std::vector<Room> rooms;
  std::vector<Door> doors;
  std::vector<std::string> mistakes;  // lines that could not be read, rooms listed twice

  [[nodiscard]] const Room* room(std::string_view name) const;
  // The room a file belongs to: the one with the longest path that leads to it.
  [[nodiscard]] const Room* room_of(std::string_view path) const;
};

// Reads a layers.txt of the wing ("constraints", "compiler") into `layers`.
void read_layers(std::string_view wing, std::string_view text, Layers& layers);

// Name and DEPENDS of every add_room call in a CMakeLists.txt.
std::map<std::string, std::set<std::string>> add_room_calls(std::string_view cmake);

// Every edge and every door, against every include of the files. Nothing found to check is itself a breach.
std::vector<std::string> check_includes(const Layers& layers, const std::vector<SourceText>& files);

// The list and the add_room calls say the same, edges lead to rooms, no circle, nothing from below to above.
std::vector<std::string> check_graph(const Layers& layers,
                                     const std::map<std::string, std::set<std::string>>& built);

}  // namespace cairn::test
