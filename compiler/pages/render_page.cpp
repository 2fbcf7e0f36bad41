// Puts template, style, data and script together, in one pass, so that no part can be mistaken for a place.

#include "compiler/pages/pages.h"

#include <array>
#include <utility>

#include "compiler/pages/page_parts.h"

namespace cairn {

namespace {

// JSON holds `<` inside texts only, where its escape means the same; without `<` no text can end the script
// element or open a comment in it.
std::string without_markup(std::string_view json) {
  std::string out;
  out.reserve(json.size() + json.size() / 64);
  for (const char c : json) {
    if (c == '<') {
      out += "\\u003c";
    } else {
      out += c;
    }
  }
  return out;
}

}  // namespace

std::string render_page(std::string_view plan_json) {
  const std::string plan = without_markup(plan_json);
  const std::array<std::pair<std::string_view, std::string_view>, 3> places{
      {{"/* style */", page_parts::style()}, {"/* plan */", plan}, {"/* script */", page_parts::script()}}};
  std::string_view rest = page_parts::html();
  std::string out;
  out.reserve(rest.size() + plan.size() + page_parts::style().size() + page_parts::script().size());
  for (const auto& [place, content] : places) {
    const std::size_t at = rest.find(place);
    out += rest.substr(0, at);
    out += content;
    rest.remove_prefix(at + place.size());
  }
  out += rest;
  return out;
}

}  // namespace cairn
