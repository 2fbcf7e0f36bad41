// The parts of the page that are made at build time: template, style, and the bundled script.

#pragma once

#include <string_view>

namespace cairn::page_parts {

std::string_view html();
std::string_view style();
std::string_view script();
std::string_view difference_script();

}  // namespace cairn::page_parts
