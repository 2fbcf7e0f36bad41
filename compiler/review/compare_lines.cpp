// The longest common subsequence of lines, by the plain table: sources are short, and what is equal at both
// ends is taken off first.

#include <algorithm>

#include "compiler/review/difference.h"

namespace cairn {

namespace {

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  for (std::size_t begin = 0; begin < text.size();) {
    std::size_t end = text.find('\n', begin);
    if (end == std::string::npos) end = text.size();
    lines.push_back(text.substr(begin, end - begin));
    if (!lines.back().empty() && lines.back().back() == '\r') lines.back().pop_back();
    begin = end + 1;
  }
  return lines;
}

std::size_t indent_of(const std::string& line) {
  const std::size_t first = line.find_first_not_of(" -");
  return first == std::string::npos || line[first] == '#' ? std::string::npos : first;
}

std::string trimmed(const std::string& line) {
  const std::size_t first = line.find_first_not_of(' ');
  return first == std::string::npos ? std::string() : line.substr(first);
}

// The keys or block heads around a line, by indentation: both languages are written that way.
std::string surroundings(const std::vector<std::string>& lines, std::size_t at) {
  if (at >= lines.size()) return {};
  std::size_t indent = indent_of(lines[at]);
  std::string path;
  for (std::size_t i = at; i-- > 0 && indent != 0;) {
    const std::size_t found = indent_of(lines[i]);
    if (found == std::string::npos || found >= indent) continue;
    indent = found;
    std::string head = trimmed(lines[i]);
    if (head.ends_with(" {")) {
      head.resize(head.size() - 2);
      path = path.empty() ? head : head + ", " + path;
    } else if (const std::size_t colon = head.find(':'); colon < head.find_first_of(" =")) {
      path = head.substr(0, colon) + (path.empty() ? "" : "." + path);
    }
  }
  return path;
}

class Comparison {
 public:
  Comparison(std::vector<std::string> before, std::vector<std::string> after)
      : before_(std::move(before)), after_(std::move(after)) {}

  std::vector<LineDifference> all() {
    std::size_t head = 0;
    while (head < before_.size() && head < after_.size() && before_[head] == after_[head]) ++head;
    std::size_t olds = before_.size();
    std::size_t news = after_.size();
    while (olds > head && news > head && before_[olds - 1] == after_[news - 1]) {
      --olds;
      --news;
    }
    if (olds - head > line_limit || news - head > line_limit) {
      take(head, olds, head, news);
    } else {
      walk(head, olds, news);
    }
    return std::move(result_);
  }

 private:
  void walk(std::size_t head, std::size_t olds, std::size_t news) {
    const std::size_t rows = olds - head;
    const std::size_t columns = news - head;
    // common[i][j]: lines in common from i and j on.
    std::vector<std::uint16_t> common((rows + 1) * (columns + 1), 0);
    const auto at = [&](std::size_t i, std::size_t j) -> std::uint16_t& {
      return common[i * (columns + 1) + j];
    };
    for (std::size_t i = rows; i-- > 0;) {
      for (std::size_t j = columns; j-- > 0;) {
        at(i, j) = before_[head + i] == after_[head + j] ? static_cast<std::uint16_t>(at(i + 1, j + 1) + 1)
                                                         : std::max(at(i + 1, j), at(i, j + 1));
      }
    }
    std::size_t i = 0;
    std::size_t j = 0;
    while (i < rows || j < columns) {
      const std::size_t old_first = i;
      const std::size_t new_first = j;
      while ((i < rows || j < columns) &&
             !(i < rows && j < columns && before_[head + i] == after_[head + j])) {
        if (i < rows && (j == columns || at(i + 1, j) >= at(i, j + 1))) {
          ++i;
        } else {
          ++j;
        }
      }
      if (i > old_first || j > new_first) take(head + old_first, head + i, head + new_first, head + j);
      while (i < rows && j < columns && before_[head + i] == after_[head + j]) {
        ++i;
        ++j;
      }
    }
  }

  void take(std::size_t old_begin, std::size_t old_end, std::size_t new_begin, std::size_t new_end) {
    if (old_begin == old_end && new_begin == new_end) return;
    LineDifference run;
    run.old_first = old_begin + 1;
    run.new_first = new_begin + 1;
    for (std::size_t i = old_begin; i < old_end; ++i) run.old_lines.push_back(before_[i]);
    for (std::size_t i = new_begin; i < new_end; ++i) run.new_lines.push_back(after_[i]);
    run.within = new_end > new_begin ? surroundings(after_, new_begin) : surroundings(before_, old_begin);
    result_.push_back(std::move(run));
  }

  std::vector<std::string> before_;
  std::vector<std::string> after_;
  std::vector<LineDifference> result_;
};

}  // namespace

std::vector<LineDifference> compare_lines(const std::string& before, const std::string& after) {
  return Comparison(lines_of(before), lines_of(after)).all();
}

}  // namespace cairn
