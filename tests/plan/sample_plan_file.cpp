// Writes a plan to standard output, for tools that read plans from outside.

#include <cstdio>

#include "tests/plan/made_plan.h"

int main() {
  const auto made = cairn::test::make_plan();
  if (made->text.empty()) {
    std::fputs(made->rendered().c_str(), stderr);
    return 1;
  }
  std::fwrite(made->text.data(), 1, made->text.size(), stdout);
  return 0;
}
