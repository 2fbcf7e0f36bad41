// Reading the list of rooms and holding it against includes and build files.

#include "tests/layers/layers.h"

#include <algorithm>
#include <functional>
#include <iterator>

namespace cairn::test {

namespace {

bool leads_to(std::string_view path, std::string_view file) {
  return file == path || (file.starts_with(path) && file.size() > path.size() && file[path.size()] == '/');
}

std::string wing_of(const Room& room) { return room.paths.front().substr(0, room.paths.front().find('/')); }

bool is_allowed(const Room& from, const Room& to) {
  return from.name == to.name || from.edges.contains(to.name);
}

std::string joined(const std::set<std::string>& names) {
  std::string out;
  for (const std::string& name : names) out += (out.empty() ? "" : " ") + name;
  return out;
}

}  // namespace

const Room* Layers::room(std::string_view name) const {
  const auto found =
      std::find_if(rooms.begin(), rooms.end(), [&](const Room& room) { return room.name == name; });
  return found == rooms.end() ? nullptr : &*found;
}

const Room* Layers::room_of(std::string_view path) const {
  const Room* best = nullptr;
  std::size_t longest = 0;
  for (const Room& room : rooms) {
    for (const std::string& candidate : room.paths) {
      if (!leads_to(candidate, path) || candidate.size() <= longest) continue;
      best = &room;
      longest = candidate.size();
    }
  }
  return best;
}

void read_layers(std::string_view wing, std::string_view text, Layers& layers) {
  const std::string before = std::string(wing) + "/";
  for (const std::string& line : lines_of(text)) {
    if (line.empty() || line.starts_with("#")) continue;
    const std::size_t colon = line.find(':');
    const std::vector<std::string> left = words_of(line.substr(0, colon));
    const std::vector<std::string> right = words_of(colon == std::string::npos ? "" : line.substr(colon + 1));
    const bool is_room = left.size() == 2 || (left.size() > 3 && left[2] == "at");
    if (colon != std::string::npos && is_room && left[0] == "room") {
      Room room{left[1], {}, {right.begin(), right.end()}};
      for (std::size_t i = 3; i < left.size(); ++i) room.paths.push_back(before + left[i]);
      if (room.paths.empty()) room.paths.push_back(before + room.name);
      if (layers.room(room.name) != nullptr) layers.mistakes.push_back(room.name + " is listed twice");
      layers.rooms.push_back(std::move(room));
    } else if (colon != std::string::npos && left.size() == 2 && left[0] == "door" && !right.empty()) {
      Door door{left[1], {}};
      for (const std::string& inside : right) door.inside.push_back(before + inside);
      layers.doors.push_back(std::move(door));
    } else {
      layers.mistakes.push_back("not a room and not a door: " + line);
    }
  }
}

std::map<std::string, std::set<std::string>> add_room_calls(std::string_view cmake) {
  std::map<std::string, std::set<std::string>> calls;
  std::string text;
  for (const std::string& line : lines_of(cmake)) text += line.substr(0, line.find('#')) + "\n";
  const std::string opening = "add_room(";
  for (std::size_t at = text.find(opening); at != std::string::npos; at = text.find(opening, at + 1)) {
    const std::size_t begin = at + opening.size();
    const std::vector<std::string> words = words_of(text.substr(begin, text.find(')', begin) - begin));
    if (words.empty()) continue;
    std::set<std::string>& edges = calls[words.front()];
    bool inside = false;
    for (const std::string& word : words) {
      const bool keyword = word == "SOURCES" || word == "HEADERS" || word == "DEPENDS" ||
                           word == "PRIVATE_DEPENDS" || word == "APART";
      if (keyword) {
        inside = word == "DEPENDS";
      } else if (inside) {
        edges.insert(word);
      }
    }
  }
  return calls;
}

std::vector<std::string> check_includes(const Layers& layers, const std::vector<SourceText>& files) {
  std::vector<std::string> breaches;
  std::size_t own = 0;
  for (const SourceText& file : files) {
    const Room* room = layers.room_of(file.path);
    if (room == nullptr) {
      breaches.push_back(file.path + " belongs to no room");
      continue;
    }
    for (const Include& include : includes_of(file.text)) {
      const std::string place = file.path + ":" + std::to_string(include.line) + ": ";
      if (include.quoted) {
        ++own;
        const Room* target = layers.room_of(include.header);
        if (target == nullptr) {
          breaches.push_back(place + "\"" + include.header +
                             "\" belongs to no room; name it from the project's root");
        } else if (!is_allowed(*room, *target)) {
          breaches.push_back(place + "room " + room->name + " may not include room " + target->name);
        }
        continue;
      }
      // The standard library's own headers have neither an ending nor a folder.
      if (include.header.find_first_of("./") == std::string::npos) continue;
      const auto door = std::find_if(layers.doors.begin(), layers.doors.end(), [&](const Door& candidate) {
        return candidate.header.ends_with('/') ? include.header.starts_with(candidate.header)
                                               : include.header == candidate.header;
      });
      if (door == layers.doors.end()) {
        breaches.push_back(place + "<" + include.header + "> has no door");
      } else if (std::none_of(door->inside.begin(), door->inside.end(),
                              [&](const std::string& inside) { return leads_to(inside, file.path); })) {
        breaches.push_back(place + "<" + include.header + "> comes in by another door");
      }
    }
  }
  if (files.empty()) breaches.emplace_back("no file was read");
  if (own == 0) breaches.emplace_back("no include of our own was found");
  return breaches;
}

std::vector<std::string> check_graph(const Layers& layers,
                                     const std::map<std::string, std::set<std::string>>& built) {
  std::vector<std::string> breaches = layers.mistakes;
  if (layers.rooms.empty()) breaches.emplace_back("no room is listed");
  if (built.empty()) breaches.emplace_back("no add_room call was found");
  for (const auto& [name, edges] : built) {
    const Room* room = layers.room(name);
    if (room == nullptr) {
      breaches.push_back("room " + name + " is built but not listed");
    } else if (room->edges != edges) {
      breaches.push_back("room " + name + " is listed with [" + joined(room->edges) + "] and built with [" +
                         joined(edges) + "]");
    }
  }
  for (const Room& room : layers.rooms) {
    if (!built.contains(room.name)) breaches.push_back("room " + room.name + " is listed but not built");
    for (const std::string& edge : room.edges) {
      const Room* target = layers.room(edge);
      if (target == nullptr) {
        breaches.push_back("room " + room.name + " may include " + edge + ", which is no room");
      } else if (wing_of(room) == "constraints" && wing_of(*target) != "constraints") {
        breaches.push_back("room " + room.name + " of constraints may include " + edge + " of " +
                           wing_of(*target));
      }
    }
  }
  // A room from which a way leads back to itself.
  for (const Room& start : layers.rooms) {
    std::set<std::string> seen;
    const std::function<void(const Room&)> walk = [&](const Room& room) {
      for (const std::string& edge : room.edges) {
        const Room* target = layers.room(edge);
        if (target != nullptr && seen.insert(edge).second) walk(*target);
      }
    };
    walk(start);
    if (seen.contains(start.name)) breaches.push_back("room " + start.name + " leads back to itself");
  }
  return breaches;
}

}  // namespace cairn::test
