// Finding and reading the project's own files.

#include "tests/layers/source_tree.h"

#include <algorithm>
#include <cctype>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "tests/place.h"

namespace cairn::test {

namespace {

const std::filesystem::path root = cairn::test::source_folder();

bool is_word_character(char c) { return std::isalnum(static_cast<unsigned char>(c)) != 0 || c == '_'; }

// Where the string, character constant or comment that begins at `at` ends; `at` itself when none begins
// there.
std::size_t end_of_passage(std::string_view text, std::size_t at) {
  const std::string_view rest = text.substr(at);
  if (rest.starts_with("//")) return std::min(text.find('\n', at), text.size());
  if (rest.starts_with("/*")) {
    const std::size_t close = text.find("*/", at + 2);
    return close == std::string_view::npos ? text.size() : close + 2;
  }
  if (rest.starts_with("R\"") && (at == 0 || !is_word_character(text[at - 1]))) {
    const std::size_t open = text.find('(', at);
    if (open == std::string_view::npos) return text.size();
    const std::string close = ")" + std::string(text.substr(at + 2, open - at - 2)) + "\"";
    const std::size_t found = text.find(close, open);
    return found == std::string_view::npos ? text.size() : found + close.size();
  }
  // A quote between digits parts thousands.
  const bool separator = rest.starts_with("'") && at > 0 && is_word_character(text[at - 1]);
  if (!separator && (rest.starts_with("\"") || rest.starts_with("'"))) {
    std::size_t i = at + 1;
    while (i < text.size() && text[i] != text[at] && text[i] != '\n') i += text[i] == '\\' ? 2U : 1U;
    return std::min(i + 1, text.size());
  }
  return at;
}

}  // namespace

std::vector<SourceText> files_under(std::string_view folder, const std::vector<std::string>& endings) {
  std::vector<SourceText> files;
  std::error_code trouble;
  for (std::filesystem::recursive_directory_iterator at(root / folder, trouble), end; !trouble && at != end;
       at.increment(trouble)) {
    const std::string name = at->path().filename().string();
    const bool wanted =
        at->is_regular_file() && std::any_of(endings.begin(), endings.end(),
                                             [&](const auto& ending) { return name.ends_with(ending); });
    if (!wanted) continue;
    const std::string path = std::filesystem::relative(at->path(), root).generic_string();
    files.push_back({path, read_file(path)});
  }
  std::sort(files.begin(), files.end(), [](const auto& a, const auto& b) { return a.path < b.path; });
  return files;
}

std::string read_file(std::string_view path) {
  std::ifstream file(root / path, std::ios::binary);
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

std::string code_only(std::string_view text) {
  std::string code(text);
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = end_of_passage(text, at);
    for (std::size_t i = at; i < end; ++i) {
      if (code[i] != '\n') code[i] = ' ';
    }
    at = std::max(end, at + 1);
  }
  return code;
}

std::vector<Include> includes_of(std::string_view text) {
  std::vector<Include> includes;
  const std::vector<std::string> code = lines_of(code_only(text));
  const std::vector<std::string> lines = lines_of(text);
  for (std::size_t i = 0; i < lines.size(); ++i) {
    std::size_t at = code[i].find_first_not_of(" \t");
    if (at == std::string::npos || code[i][at] != '#') continue;
    at = code[i].find_first_not_of(" \t", at + 1);
    if (at == std::string::npos || code[i].compare(at, 7, "include") != 0) continue;
    const std::size_t open = lines[i].find_first_of("<\"", at + 7);
    if (open == std::string::npos) continue;
    const bool quoted = lines[i][open] == '"';
    const std::size_t close = lines[i].find(quoted ? '"' : '>', open + 1);
    if (close == std::string::npos) continue;
    includes.push_back({lines[i].substr(open + 1, close - open - 1), quoted, static_cast<int>(i + 1)});
  }
  return includes;
}

std::vector<std::string> lines_of(std::string_view text) {
  std::vector<std::string> lines;
  std::size_t begin = 0;
  while (begin < text.size()) {
    const std::size_t end = std::min(text.find('\n', begin), text.size());
    lines.emplace_back(text.substr(begin, end - begin));
    begin = end + 1;
  }
  return lines;
}

std::vector<std::string> words_of(std::string_view text) {
  std::vector<std::string> words;
  std::istringstream stream{std::string(text)};
  for (std::string word; stream >> word;) words.push_back(word);
  return words;
}

}  // namespace cairn::test
