// What binds a code, its page and its use together.
//
// Takes texts, so that the tests can hand in planted breaches; each function answers with one sentence per
// breach, and none means that the rule is kept.

#pragma once

#include <map>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "tests/layers/source_tree.h"

namespace cairn::test {

struct Entry {
  std::string name;  // SurvivalLimit
  std::string code;  // heat/survival
  std::string file;  // the .def it stands in
};

// The DIAG lines of a .def file.
std::vector<Entry> entries_of(const SourceText& definitions);

// Codes that findings bear: literals "area/word" in `sources` whose area is one of `areas`.
std::set<std::string> finding_codes(const std::vector<SourceText>& sources,
                                    const std::set<std::string>& areas);

// Codes are words, none twice, no name twice, and each name used as diagnostics::Name in some source.
std::vector<std::string> check_entries(const std::vector<Entry>& entries,
                                       const std::vector<SourceText>& sources);

// A page per code, a code per page ("area-word.md"), and every page built alike.
std::vector<std::string> check_pages(const std::set<std::string>& codes,
                                     const std::vector<SourceText>& pages);

// One page: title, one sentence, why it matters, a failing example, a mended one.
std::vector<std::string> check_page(std::string_view code, std::string_view text);

}  // namespace cairn::test
