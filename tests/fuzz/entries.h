// Where hostile input comes in: one function for each kind of input. Each ends by itself, whatever it is
// given, and stops the program when something is not as it must be.

#pragma once

#include <cstdint>
#include <cstdlib>
#include <span>
#include <string_view>

namespace cairn::test {

using Octets = std::span<const std::uint8_t>;

void fuzz_load(Octets input);     // the text of a load: tokens, tree, layout, meaning, commands
void fuzz_station(Octets input);  // a station file
void fuzz_plan(Octets input);     // a plan, as `--after` reads it
void fuzz_octets(Octets input);   // what goes up to the station, as `cairn decode` reads it
void fuzz_reports(Octets input);  // what comes back: reports as rows and as packets, lists of the table
void fuzz_editor(Octets input);   // the messages of an editor

// What an entry says of its answer: a fuzzer and the tests notice a program that stops.
inline void must(bool holds) {
  if (!holds) std::abort();
}

struct FuzzEntry {
  std::string_view name;
  void (*run)(Octets input);
};
inline constexpr FuzzEntry fuzz_entries[] = {{"load", fuzz_load},       {"station", fuzz_station},
                                             {"plan", fuzz_plan},       {"octets", fuzz_octets},
                                             {"reports", fuzz_reports}, {"editor", fuzz_editor}};

}  // namespace cairn::test
