// The project's own files, as the tests that guard its shape read them.
//
// Text is read by a small scanner that knows comments, strings and raw strings, so that a word in a comment
// neither breaks a rule nor hides a breach.

#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace cairn::test {

struct SourceText {
  std::string path;  // from the root of the project, '/' between parts
  std::string text;
};

// Every file under `folder` (from the root of the project) whose name ends in one of `endings`, by path.
std::vector<SourceText> files_under(std::string_view folder, const std::vector<std::string>& endings);

// The whole of one file; empty when it cannot be read.
std::string read_file(std::string_view path);

// C++ text with comments blanked, and the insides of strings and character constants too; lines stay lines.
std::string code_only(std::string_view text);

struct Include {
  std::string header;
  bool quoted = false;  // "..." rather than <...>
  int line = 0;
};
std::vector<Include> includes_of(std::string_view text);

std::vector<std::string> lines_of(std::string_view text);
std::vector<std::string> words_of(std::string_view text);

}  // namespace cairn::test
