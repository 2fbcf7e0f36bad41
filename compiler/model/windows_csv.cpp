// Lines and commas to a tree; no quoting, for no value has a comma in it.

#include "compiler/model/windows_csv.h"

#include <algorithm>
#include <string>
#include <vector>

#include "compiler/text/catalogue.h"

namespace cairn {

namespace {

// What a table can be: its columns, and where its rows go in the tree.
struct Form {
  std::vector<std::string_view> columns;
  std::string key;
  std::string what;
  std::string rows;
};

const Form& form_of(const std::vector<std::string_view>& head) {
  static const Form windows{{"antenna", "opens", "closes"}, "windows", "a table of windows", "windows"};
  static const Form sky{{"time", "sun_elevation", "sun_azimuth", "sun_distance", "earth_elevation",
                         "earth_azimuth", "light_time"},
                        "sky",
                        "a table of the sky",
                        "rows"};
  // The form that more of the columns belong to.
  const auto known = [&](const Form& form) {
    return std::count_if(head.begin(), head.end(), [&](std::string_view name) {
      return std::find(form.columns.begin(), form.columns.end(), name) != form.columns.end();
    });
  };
  return known(sky) > known(windows) ? sky : windows;
}

std::string joined(const std::vector<std::string_view>& names) {
  std::string text;
  for (const std::string_view name : names) text += (text.empty() ? "" : ",") + std::string(name);
  return text;
}

struct Cell {
  std::string_view text;
  Span span;
};

class CsvReader {
 public:
  CsvReader(std::string_view text, FileId file) : text_(text), file_(file) {}

  // The cells of the next line that is not empty; none at the end.
  std::vector<Cell> next() {
    std::vector<Cell> cells;
    while (at_ < text_.size() && cells.empty()) {
      const std::size_t end = std::min(text_.find('\n', at_), text_.size());
      std::string_view line = text_.substr(at_, end - at_);
      if (line.ends_with('\r')) line.remove_suffix(1);
      if (line.find_first_not_of(" \t") != std::string_view::npos) split(line, at_, cells);
      at_ = end + 1;
    }
    return cells;
  }

 private:
  void split(std::string_view line, std::size_t offset, std::vector<Cell>& cells) const {
    for (std::size_t from = 0;;) {
      const std::size_t comma = std::min(line.find(',', from), line.size());
      std::size_t begin = from;
      std::size_t end = comma;
      while (begin < end && (line[begin] == ' ' || line[begin] == '\t')) ++begin;
      while (end > begin && (line[end - 1] == ' ' || line[end - 1] == '\t')) --end;
      cells.push_back(
          {line.substr(begin, end - begin),
           {file_, static_cast<std::uint32_t>(offset + begin), static_cast<std::uint32_t>(offset + end)}});
      if (comma == line.size()) return;
      from = comma + 1;
    }
  }

  std::string_view text_;
  FileId file_;
  std::size_t at_ = 0;
};

YamlNode scalar(const Cell& cell) {
  YamlNode node;
  node.kind = NodeKind::Scalar;
  node.span = cell.span;
  node.quoted = true;
  node.text = std::string(cell.text);
  return node;
}

}  // namespace

std::optional<YamlNode> load_windows_csv(const SourceFiles& files, FileId file, const YamlLimits& limits,
                                         Diagnostics& diagnostics) {
  std::string_view text = files.text(file);
  CsvReader reader(text, file);
  const std::vector<Cell> head = reader.next();
  const Span whole{file, 0, 0};
  std::vector<std::string_view> names;
  for (const Cell& cell : head) names.push_back(cell.text);
  const Form& form = form_of(names);
  const std::vector<std::string_view>& columns = form.columns;
  std::vector<std::size_t> places(columns.size());
  bool good = true;
  for (std::size_t c = 0; c < columns.size(); ++c) {
    const auto found =
        std::find_if(head.begin(), head.end(), [&](const Cell& cell) { return cell.text == columns[c]; });
    places[c] = static_cast<std::size_t>(found - head.begin());
    if (found != head.end()) continue;
    diagnostics
        .report(diagnostics::ModelMissingKey, head.empty() ? whole : head.front().span, "the first line",
                std::string(columns[c]))
        .hint("it names the columns: " + joined(columns));
    good = false;
  }
  for (const Cell& cell : head) {
    if (std::find(columns.begin(), columns.end(), cell.text) != columns.end()) continue;
    diagnostics.report(diagnostics::ModelUnknownKey, cell.span, std::string(cell.text), form.what);
    good = false;
  }
  if (!good) return std::nullopt;
  YamlNode list;
  list.kind = NodeKind::Sequence;
  list.span = head.front().span;
  for (std::vector<Cell> cells = reader.next(); !cells.empty(); cells = reader.next()) {
    if (cells.size() != head.size()) {
      const Span line{file, cells.front().span.begin, cells.back().span.end};
      diagnostics.report(diagnostics::ModelWrongKind, line, "the line",
                         std::to_string(cells.size()) + " values", std::to_string(head.size()));
      return std::nullopt;
    }
    YamlNode row;
    row.kind = NodeKind::Map;
    row.span = {file, cells.front().span.begin, cells.back().span.end};
    for (std::size_t c = 0; c < columns.size(); ++c) {
      row.entries.push_back({std::string(columns[c]), head[places[c]].span, scalar(cells[places[c]])});
    }
    list.items.push_back(std::move(row));
    if (list.items.size() * (columns.size() + 1) > limits.nodes) {
      diagnostics.report(diagnostics::ModelTooLarge, list.items.back().span, form.what,
                         limits.nodes / (columns.size() + 1), form.rows);
      return std::nullopt;
    }
  }
  YamlNode root;
  root.kind = NodeKind::Map;
  root.span = whole;
  root.entries.push_back({form.key, head.front().span, std::move(list)});
  return root;
}

}  // namespace cairn
