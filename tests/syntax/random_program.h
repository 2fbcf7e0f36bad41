// Random programs of the language, made rule by rule from grammar/CairnParser.g4, in random layout.
//
// They are right in form only: names lead nowhere and units do not fit.

#pragma once

#include <cstdint>
#include <random>
#include <string>
#include <vector>

namespace cairn::test {

// The words of one file, without layout.
std::vector<std::string> random_words(std::mt19937_64& random);

// The words with random blanks, line ends of all kinds and comments between them.
std::string random_layout(const std::vector<std::string>& words, std::mt19937_64& random);

}  // namespace cairn::test
