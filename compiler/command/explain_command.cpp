// cairn explain: the page of a diagnostic, from the pages built into the program.

#include <fmt/format.h>

#include <algorithm>

#include "compiler/command/commands.h"
#include "compiler/command/explain_pages.h"
#include "compiler/text/catalogue.h"
#include "compiler/text/spelling.h"

namespace cairn {

ExitCode run_explain(const World& world, const ExplainOptions& options) {
  std::vector<std::string> codes;
  for (const CatalogueEntry& entry : catalogue()) codes.emplace_back(entry.code);
  std::sort(codes.begin(), codes.end());
  if (options.code.empty()) {
    for (const std::string& code : codes) world.print(code + "\n");
    return ExitCode::Holds;
  }
  for (const ExplainPage& page : explain_pages()) {
    if (page.code == options.code) {
      world.print(page.text);
      return ExitCode::Holds;
    }
  }
  std::string sentence = fmt::format("error: there is no code `{}`", options.code);
  if (const auto near = nearest_word(options.code, codes))
    sentence += fmt::format("; did you mean `{}`?", *near);
  world.print_error(sentence + "\n   hint: `cairn explain` without a code lists all of them\n");
  return ExitCode::WrongInput;
}

}  // namespace cairn
