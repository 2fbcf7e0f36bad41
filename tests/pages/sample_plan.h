// A plan in the shape that compiler/plan/assemble.cpp gives it, made by hand: four days of the Alder post.
//
// It holds one of everything the page can show: each verdict, each class of command, a part that is not
// known, a part on its way, a command that no window carries, text that would be markup if it could.

#pragma once

#include <string>

namespace cairn::test {

inline constexpr int sample_commands = 60;

std::string sample_plan();

}  // namespace cairn::test
