// Writes the page of a plan, or of the sample plan, to be looked at:
//
//   sample_page > page.html
//   sample_page < plan.json > page.html with the argument `-`

#include <cstdio>
#include <iostream>
#include <iterator>
#include <string>
#include <string_view>

#include "compiler/pages/pages.h"
#include "tests/pages/sample_plan.h"

int main(int count, char** arguments) {
  const bool given = count > 1 && std::string_view(arguments[1]) == "-";
  const std::string plan =
      given ? std::string(std::istreambuf_iterator<char>(std::cin), {}) : cairn::test::sample_plan();
  const std::string page = cairn::render_page(plan);
  return std::fwrite(page.data(), 1, page.size(), stdout) == page.size() ? 0 : 1;
}
