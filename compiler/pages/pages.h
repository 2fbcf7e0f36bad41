// The plan as a page: one HTML file that shows a plan offline, on paper, by light and in the dark.
//
// The page carries the plan's own JSON and a script that draws it; it asks for nothing from anywhere.

#pragma once

#include <string>
#include <string_view>

namespace cairn {

// `plan_json` is what assemble_plan gives. Any text is safe to give: what is no plan makes a page that says
// so.
std::string render_page(std::string_view plan_json);

// The page of a difference; each text is JSON. It holds both plans, whose courses it draws over one another.
std::string render_difference_page(std::string_view difference_json, std::string_view old_plan_json,
                                   std::string_view new_plan_json);

}  // namespace cairn
