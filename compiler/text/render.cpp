// Diagnostics as text for a terminal and as JSON for programs.

#include "compiler/text/render.h"

#include <fmt/format.h>

#include <algorithm>

#include "compiler/text/characters.h"

namespace cairn {

namespace {

std::string_view word(Severity severity) {
  switch (severity) {
    case Severity::Error:
      return "error";
    case Severity::Warning:
      return "warning";
    case Severity::Note:
      return "note";
  }
  return {};
}

struct Style {
  bool on = false;
  [[nodiscard]] std::string paint(std::string_view text, std::string_view code) const {
    return on ? fmt::format("\x1b[{}m{}\x1b[0m", code, text) : std::string(text);
  }
};

std::string_view colour_of(Severity severity) { return severity == Severity::Error ? "1;31" : "1;33"; }

std::string place(const SourceFiles& files, Span span, const std::string& prefix) {
  const Position position = files.position(span.file, span.begin);
  return fmt::format("{}:{}:{}", shown(prefix + files.name(span.file)), position.line, position.column);
}

struct Cell {
  std::string shown;
  std::uint32_t offset = 0;
  int columns = 1;
};

std::vector<Cell> cells_of(std::string_view line, std::uint32_t begin) {
  std::vector<Cell> cells;
  for (std::size_t at = 0; at < line.size();) {
    const Character character = character_at(line, at);
    std::string as_shown = shown(line, character, at);
    const int columns = as_shown.size() == 1 ? 1 : columns_of(character.code);
    cells.push_back({std::move(as_shown), begin + static_cast<std::uint32_t>(at), columns});
    at += character.length;
  }
  return cells;
}

// The cells a span covers, at least one: [first, second). The last cell is where the line ends.
std::pair<std::size_t, std::size_t> covered(const std::vector<Cell>& cells, Span span) {
  std::size_t first = 0;
  std::size_t last = 0;
  for (std::size_t i = 0; i < cells.size(); ++i) {
    if (cells[i].offset <= span.begin) first = i;
    if (cells[i].offset < span.end) last = i + 1;
  }
  last = std::max(last, first + 1);
  if (last == cells.size() && first + 1 < last) --last;
  // A mark that combines has no column of its own: it is shown with the character it stands on.
  while (first > 0 && cells[first].columns == 0) --first;
  return {first, last};
}

// From where to show a line that is too long, so that `first` is seen.
std::size_t cut_before(const std::vector<Cell>& cells, std::size_t first, int room) {
  int total = 0;
  for (const Cell& cell : cells) total += cell.columns;
  if (total <= room) return 0;
  std::size_t from = first;
  for (int before = 0; from > 0 && before + cells[from - 1].columns <= room / 2; --from) {
    before += cells[from - 1].columns;
  }
  return from;
}

// One excerpt: the line, and marks under the span.
std::string excerpt(const SourceFiles& files, Span span, std::string_view label, char mark,
                    const Style& style, std::string_view colour, int width) {
  const Position position = files.position(span.file, span.begin);
  const std::string_view line = files.line_text(span.file, position.line);
  const std::uint32_t begin = files.line_begin(span.file, position.line);
  std::vector<Cell> cells = cells_of(line, begin);
  cells.push_back({"", begin + static_cast<std::uint32_t>(line.size()), 1});
  const auto [first, last] = covered(cells, span);
  const int room = std::max(width - 16, 30);
  const std::size_t from = cut_before(cells, first, room);
  std::string text;
  std::string under;
  std::size_t i = from;
  for (int used = 0; i < cells.size() && used + cells[i].columns <= room; ++i) {
    text += cells[i].shown;
    under.append(static_cast<std::size_t>(cells[i].columns), i >= first && i < last ? mark : ' ');
    used += cells[i].columns;
  }
  while (!under.empty() && under.back() == ' ') under.pop_back();
  const bool cut = i + 1 < cells.size();
  std::string out =
      fmt::format(" {:>5} | {}{}{}\n", position.line, from > 0 ? "..." : "", text, cut ? "..." : "");
  out += fmt::format("       | {}{}", from > 0 ? "   " : "", style.paint(under, colour));
  if (!label.empty()) out += fmt::format(" {}", style.paint(shown(label), colour));
  out += '\n';
  return out;
}

std::string quoted(std::string_view text) {
  std::string out = "\"";
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (c == '"' || c == '\\') {
      out += '\\';
      out += c;
    } else if (c == '\n') {
      out += "\\n";
    } else if (byte < 0x20) {
      out += fmt::format("\\u{:04x}", static_cast<unsigned>(byte));
    } else {
      out += c;
    }
  }
  return out + "\"";
}

std::string json_span(const SourceFiles& files, Span span) {
  if (!span.is_valid()) return "null";
  const Position begin = files.position(span.file, span.begin);
  const Position end = files.position(span.file, span.end);
  return fmt::format(
      R"({{"file":{},"begin":{{"line":{},"column":{},"offset":{}}},"end":{{"line":{},"column":{},"offset":{}}}}})",
      quoted(well_formed(files.name(span.file))), begin.line, begin.column, span.begin, end.line, end.column,
      span.end);
}

}  // namespace

std::string render_text(const std::vector<Diagnostic>& diagnostics, const SourceFiles& files,
                        const RenderOptions& options) {
  const Style style{options.colour};
  std::string out;
  std::size_t errors = 0;
  std::size_t warnings = 0;
  for (const Diagnostic& diagnostic : diagnostics) {
    errors += diagnostic.severity == Severity::Error ? 1 : 0;
    warnings += diagnostic.severity == Severity::Warning ? 1 : 0;
    const std::string head = fmt::format("{}[{}]", word(diagnostic.severity), diagnostic.code);
    const bool placed = diagnostic.primary.is_valid();
    if (options.one_line) {
      out += fmt::format("{}{}: {}\n",
                         placed ? place(files, diagnostic.primary, options.path_prefix) + ": " : "", head,
                         shown(diagnostic.message));
      continue;
    }
    out +=
        fmt::format("{}: {}\n", style.paint(head, colour_of(diagnostic.severity)), shown(diagnostic.message));
    if (placed) {
      out += fmt::format("   --> {}\n", place(files, diagnostic.primary, options.path_prefix));
      out += excerpt(files, diagnostic.primary, diagnostic.primary_label, '^', style,
                     colour_of(diagnostic.severity), options.width);
    }
    for (const Label& label : diagnostic.labels) {
      out += fmt::format("   {} {}\n", label.role == LabelRole::Cause ? "by " : "see",
                         place(files, label.span, options.path_prefix));
      out += excerpt(files, label.span, label.text, '-', style, "36", options.width);
    }
    for (const Fix& fix : diagnostic.fixes) out += fmt::format("   mend: {}\n", shown(fix.text));
    for (const std::string& hint : diagnostic.hints) out += fmt::format("   hint: {}\n", shown(hint));
    out += '\n';
  }
  if (errors + warnings > 0 && !options.one_line) {
    out += fmt::format("{} error{}, {} warning{}; `cairn explain CODE` tells more about each\n", errors,
                       errors == 1 ? "" : "s", warnings, warnings == 1 ? "" : "s");
  }
  return out;
}

std::string render_json(const std::vector<Diagnostic>& diagnostics, const SourceFiles& files) {
  std::string out = "[";
  for (std::size_t i = 0; i < diagnostics.size(); ++i) {
    const Diagnostic& diagnostic = diagnostics[i];
    if (i > 0) out += ",";
    out += fmt::format(R"({{"code":{},"severity":{},"message":{},"place":{},"under":{},"labels":[)",
                       quoted(diagnostic.code), quoted(word(diagnostic.severity)),
                       quoted(well_formed(diagnostic.message)), json_span(files, diagnostic.primary),
                       quoted(well_formed(diagnostic.primary_label)));
    for (std::size_t k = 0; k < diagnostic.labels.size(); ++k) {
      const Label& label = diagnostic.labels[k];
      out += fmt::format(R"({}{{"role":"{}","text":{},"place":{}}})", k > 0 ? "," : "",
                         label.role == LabelRole::Cause ? "cause" : "context",
                         quoted(well_formed(label.text)), json_span(files, label.span));
    }
    out += R"(],"fixes":[)";
    for (std::size_t k = 0; k < diagnostic.fixes.size(); ++k) {
      const Fix& fix = diagnostic.fixes[k];
      out += fmt::format(R"({}{{"kind":"{}","text":{},"replacement":{},"place":{}}})", k > 0 ? "," : "",
                         fix.kind == FixKind::Safe ? "safe" : "guess", quoted(well_formed(fix.text)),
                         quoted(well_formed(fix.replacement)), json_span(files, fix.span));
    }
    out += R"(],"hints":[)";
    for (std::size_t k = 0; k < diagnostic.hints.size(); ++k) {
      out += fmt::format("{}{}", k > 0 ? "," : "", quoted(well_formed(diagnostic.hints[k])));
    }
    out += "]}";
  }
  return out + "]\n";
}

}  // namespace cairn
