// The pages of docs/diagnostics/, built into the program.

#pragma once

#include <span>
#include <string_view>

namespace cairn {

struct ExplainPage {
  std::string_view code;  // "power/reserve"
  std::string_view text;  // Markdown
};

std::span<const ExplainPage> explain_pages();

}  // namespace cairn
