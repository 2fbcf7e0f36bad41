// The plan as a page: one HTML file that shows a plan offline, on paper, by light and in the dark.
//
// The page carries the plan's own JSON and a script that draws it; it asks for nothing from anywhere.

#pragma once

#include <string>
#include <string_view>

namespace cairn {

// `plan_json` is what assemble_plan gives. Any text is safe to give: what is no plan makes a page that says so.
std::string render_page(std::string_view plan_json);

}  // namespace cairn
