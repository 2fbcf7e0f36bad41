// Puts template, style, data and script together, in one pass, so that no part can be mistaken for a place.

#include <array>
#include <utility>

#include "compiler/pages/page_parts.h"
#include "compiler/pages/pages.h"

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

std::string filled(std::string_view json, std::string_view script) {
  const std::string plan = without_markup(json);
  const std::array<std::pair<std::string_view, std::string_view>, 3> places{
      {{"/* style */", page_parts::style()}, {"/* plan */", plan}, {"/* script */", script}}};
  std::string_view rest = page_parts::html();
  std::string out;
  out.reserve(rest.size() + plan.size() + page_parts::style().size() + script.size());
  for (const auto& [place, content] : places) {
    const std::size_t at = rest.find(place);
    out += rest.substr(0, at);
    out += content;
    rest.remove_prefix(at + place.size());
  }
  out += rest;
  return out;
}

}  // namespace

std::string render_page(std::string_view plan_json) { return filled(plan_json, page_parts::script()); }

std::string render_difference_page(std::string_view difference_json, std::string_view old_plan_json,
                                   std::string_view new_plan_json) {
  std::string data = "{\"difference\":";
  data += difference_json;
  data += ",\"old\":";
  data += old_plan_json;
  data += ",\"new\":";
  data += new_plan_json;
  data += "}";
  return filled(data, page_parts::difference_script());
}

}  // namespace cairn
