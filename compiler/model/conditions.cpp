// Names that lead somewhere: nodes, units, parts, states, and the conditions made of them.

#include <algorithm>
#include <sstream>

#include "compiler/model/reader.h"

namespace cairn {

namespace {

struct Word {
  std::string_view text;
  std::size_t begin = 0;
  std::size_t end = 0;
};

std::vector<Word> words_of(std::string_view text) {
  std::vector<Word> words;
  for (std::size_t i = 0; i < text.size();) {
    if (text[i] == ' ') {
      ++i;
      continue;
    }
    const std::size_t end = std::min(text.find(' ', i), text.size());
    words.push_back({text.substr(i, end - i), i, end});
    i = end;
  }
  return words;
}

constexpr const char* condition_form = "write `PART is STATE or STATE`, or `PART is not STATE`";

}  // namespace

template <class Id>
std::vector<std::string> Reader::sorted_names(const std::unordered_map<std::string, Id>& table,
                                              std::size_t most) {
  std::vector<std::string> names;
  names.reserve(table.size());
  for (const auto& [name, id] : table) names.push_back(name);
  std::sort(names.begin(), names.end());
  if (names.size() > most) names.resize(most);
  return names;
}

std::vector<std::string> Reader::names_of_states(PartId part) const {
  std::vector<std::string> names;
  for (const StateId id : station.parts[part].states) names.push_back(station.states[id].name);
  return names;
}

NodeId Reader::node(const YamlNode& node, const std::string& what) {
  if (!is_text(node, what)) return {};
  const auto found = nodes_.find(node.text);
  if (found != nodes_.end()) return found->second;
  suggest(report(diagnostics::ModelUnknownName, inside(node), node.text, "node"), inside(node), node.text,
          sorted_names(nodes_, limits.candidates));
  return {};
}

UnitId Reader::unit(const YamlNode& node, const std::string& what) {
  if (!is_text(node, what)) return {};
  const auto found = units_.find(node.text);
  if (found != units_.end()) return found->second;
  suggest(report(diagnostics::ModelUnknownName, inside(node), node.text, "unit"), inside(node), node.text,
          sorted_names(units_, limits.candidates));
  return {};
}

std::optional<LinkEnd> Reader::link_end(const YamlNode& node) {
  if (!is_text(node, "an end of a link")) return std::nullopt;
  if (const auto found = nodes_.find(node.text); found != nodes_.end()) return LinkEnd{found->second, {}};
  if (const auto found = sinks_.find(node.text); found != sinks_.end()) return LinkEnd{{}, found->second};
  std::vector<std::string> known = sorted_names(nodes_, limits.candidates);
  for (std::string& name : sorted_names(sinks_, limits.candidates)) known.push_back(std::move(name));
  suggest(report(diagnostics::ModelUnknownName, inside(node), node.text, "node or sink"), inside(node),
          node.text, known);
  return std::nullopt;
}

PartId Reader::part(std::string_view full, Span place) {
  const auto found = parts_.find(std::string(full));
  if (found != parts_.end()) return found->second;
  auto builder =
      report(diagnostics::ModelUnknownName, place, std::string(full),
             full.find('.') == std::string_view::npos ? "unit with a state of its own" : "part of a unit");
  suggest(builder, place, full, sorted_names(parts_, limits.candidates));
  return {};
}

StateId Reader::state(PartId part, std::string_view name, Span place) {
  if (!part.is_valid()) return {};
  const auto found = states_.find(state_key(part, name));
  if (found != states_.end()) return found->second;
  suggest(report(diagnostics::ModelUnknownName, place, std::string(name),
                 "state of `" + full_name(station, part) + "`"),
          place, name, names_of_states(part));
  return {};
}

std::optional<StateCondition> Reader::condition(const YamlNode& node, const std::string& what) {
  if (!is_text(node, what)) return std::nullopt;
  const auto bad = [&](std::size_t begin, std::size_t end, const std::string& why) {
    report(diagnostics::ModelBadCondition, part_of(node, begin, end), node.text.substr(0, 120), why)
        .hint(condition_form);
    return std::nullopt;
  };
  const std::vector<Word> words = words_of(node.text);
  if (words.empty()) return bad(0, node.text.size(), "it is empty");
  if (words.size() < 2 || words[1].text != "is") {
    const Word& at = words[words.size() < 2 ? 0 : 1];
    return bad(at.begin, at.end, "`is` must follow the part");
  }
  const bool negated = words.size() > 2 && words[2].text == "not";
  std::size_t next = negated ? 3 : 2;
  if (next >= words.size()) return bad(words.back().begin, words.back().end, "a state must follow");
  StateCondition out;
  out.text = node.text;
  out.origin = origin(inside(node));
  out.part = part(words[0].text, part_of(node, words[0].begin, words[0].end));
  if (!out.part.is_valid()) return std::nullopt;
  const std::vector<StateId>& all = station.parts[out.part].states;
  std::vector<bool> named(all.size(), false);
  bool good = true;
  for (;; next += 2) {
    if (next >= words.size()) return bad(words.back().begin, words.back().end, "a state must follow `or`");
    const StateId id = state(out.part, words[next].text, part_of(node, words[next].begin, words[next].end));
    good = good && id.is_valid();
    if (id.is_valid()) named[id.value - all.front().value] = true;  // a part's states lie side by side
    if (next + 1 >= words.size()) break;
    if (words[next + 1].text != "or") {
      return bad(words[next + 1].begin, words[next + 1].end, "only `or` may stand between states");
    }
  }
  if (!good) return std::nullopt;
  for (std::size_t i = 0; i < all.size(); ++i) {
    if (named[i] != negated) out.states.push_back(all[i]);
  }
  if (out.states.empty())
    return bad(words[2].begin, words.back().end, "it leaves no state in which it could hold");
  return out;
}

std::vector<HeatShare> Reader::heat(const YamlNode& node, const std::string& what) {
  std::vector<HeatShare> shares;
  if (!is_map(node, what)) return shares;
  double sum = 0;
  for (const YamlEntry& entry : node.entries) {
    YamlNode name;
    name.kind = NodeKind::Scalar;
    name.text = entry.key;
    name.span = entry.key_span;
    HeatShare share;
    share.node = this->node(name, what);
    share.share = exact(entry.value, "the share of `" + entry.key + "`", dimensions::ratio, not_negative);
    sum += share.share;
    shares.push_back(share);
  }
  if (sum > 1 + 1e-9) {
    report(diagnostics::ModelHeatShares, node.span, show(sum, dimensions::ratio))
        .hint("what the shares leave over leaves the station; no more than all of it can go to nodes");
  }
  return shares;
}

}  // namespace cairn
