// Diagnostics as text for a terminal and as JSON for programs.

#include "compiler/text/render.h"

#include <fmt/format.h>

#include <algorithm>

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
  return fmt::format("{}{}:{}:{}", prefix, files.name(span.file), position.line, position.column);
}

// A source character as it may safely stand on a terminal: tabs become one blank, controls and broken UTF-8 a dot.
struct Cell {
  std::string shown;
  std::uint32_t offset = 0;
};

std::vector<Cell> cells_of(std::string_view line, std::uint32_t begin) {
  std::vector<Cell> cells;
  for (std::size_t i = 0; i < line.size();) {
    const auto lead = static_cast<unsigned char>(line[i]);
    std::size_t length = lead < 0x80 ? 1 : lead >= 0xF0 ? 4 : lead >= 0xE0 ? 3 : lead >= 0xC0 ? 2 : 0;
    bool good = length > 0 && i + length <= line.size();
    for (std::size_t k = 1; good && k < length; ++k) {
      good = (static_cast<unsigned char>(line[i + k]) & 0xC0U) == 0x80U;
    }
    std::string shown;
    if (!good) {
      length = 1;
      shown = ".";
    } else if (length == 1 && (lead < 0x20 || lead == 0x7F)) {
      shown = lead == '\t' ? " " : ".";
    } else {
      shown = std::string(line.substr(i, length));
    }
    cells.push_back({std::move(shown), begin + static_cast<std::uint32_t>(i)});
    i += length;
  }
  return cells;
}

// One excerpt: the line, and marks under the span.
std::string excerpt(const SourceFiles& files, Span span, std::string_view label, char mark, const Style& style,
                    std::string_view colour, int width) {
  const Position position = files.position(span.file, span.begin);
  const std::string_view line = files.line_text(span.file, position.line);
  const std::uint32_t begin = files.line_begin(span.file, position.line);
  const std::vector<Cell> cells = cells_of(line, begin);
  std::size_t first = cells.size();
  std::size_t last = cells.size();
  for (std::size_t i = 0; i < cells.size(); ++i) {
    if (cells[i].offset <= span.begin) first = i;
    if (cells[i].offset < std::max(span.end, span.begin + 1)) last = i + 1;
  }
  if (span.begin >= begin + line.size()) first = cells.size();
  last = std::max(last, first + 1);
  // Long lines are cut around the span.
  const std::size_t room = static_cast<std::size_t>(std::max(width - 10, 30));
  const std::size_t from = first > room / 2 && cells.size() > room ? first - room / 2 : 0;
  std::string shown;
  std::string under;
  for (std::size_t i = from; i < std::max(cells.size(), last) && i < from + room; ++i) {
    if (i < cells.size()) shown += cells[i].shown;
    under += i >= first && i < last ? mark : ' ';
  }
  while (!under.empty() && under.back() == ' ') under.pop_back();
  const std::string number = std::to_string(position.line);
  std::string out = fmt::format(" {:>5} | {}{}\n", number, from > 0 ? "..." : "", shown);
  out += fmt::format("       | {}{}", from > 0 ? "   " : "", style.paint(under, colour));
  if (!label.empty()) out += fmt::format(" {}", style.paint(label, colour));
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

// JSON must be UTF-8; source text that is not becomes the replacement character.
std::string clean(std::string_view text) {
  std::string out;
  for (const Cell& cell : cells_of(text, 0)) {
    const auto byte = static_cast<unsigned char>(text[cell.offset]);
    out += cell.shown == "." && byte >= 0x80 ? "\xEF\xBF\xBD"
           : cell.shown == "." || cell.shown == " " ? std::string(1, text[cell.offset])
                                                    : cell.shown;
  }
  return out;
}

std::string json_span(const SourceFiles& files, Span span) {
  if (!span.is_valid()) return "null";
  const Position begin = files.position(span.file, span.begin);
  const Position end = files.position(span.file, span.end);
  return fmt::format(
      R"({{"file":{},"begin":{{"line":{},"column":{},"offset":{}}},"end":{{"line":{},"column":{},"offset":{}}}}})",
      quoted(clean(files.name(span.file))), begin.line, begin.column, span.begin, end.line, end.column, span.end);
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
      out += fmt::format("{}{}: {}\n", placed ? place(files, diagnostic.primary, options.path_prefix) + ": " : "", head,
                         clean(diagnostic.message));
      continue;
    }
    out += fmt::format("{}: {}\n", style.paint(head, colour_of(diagnostic.severity)), clean(diagnostic.message));
    if (placed) {
      out += fmt::format("   --> {}\n", place(files, diagnostic.primary, options.path_prefix));
      out += excerpt(files, diagnostic.primary, diagnostic.primary_label, '^', style,
                     colour_of(diagnostic.severity), options.width);
    }
    for (const Label& label : diagnostic.labels) {
      out += fmt::format("   {} {}\n", label.role == LabelRole::Cause ? "by " : "see", place(files, label.span, options.path_prefix));
      out += excerpt(files, label.span, label.text, '-', style, "36", options.width);
    }
    for (const Fix& fix : diagnostic.fixes) out += fmt::format("   mend: {}\n", clean(fix.text));
    for (const std::string& hint : diagnostic.hints) out += fmt::format("   hint: {}\n", clean(hint));
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
                       quoted(clean(diagnostic.message)), json_span(files, diagnostic.primary),
                       quoted(clean(diagnostic.primary_label)));
    for (std::size_t k = 0; k < diagnostic.labels.size(); ++k) {
      const Label& label = diagnostic.labels[k];
      out += fmt::format(R"({}{{"role":"{}","text":{},"place":{}}})", k > 0 ? "," : "",
                         label.role == LabelRole::Cause ? "cause" : "context", quoted(clean(label.text)),
                         json_span(files, label.span));
    }
    out += R"(],"fixes":[)";
    for (std::size_t k = 0; k < diagnostic.fixes.size(); ++k) {
      const Fix& fix = diagnostic.fixes[k];
      out += fmt::format(R"({}{{"kind":"{}","text":{},"replacement":{},"place":{}}})", k > 0 ? "," : "",
                         fix.kind == FixKind::Safe ? "safe" : "guess", quoted(clean(fix.text)),
                         quoted(clean(fix.replacement)), json_span(files, fix.span));
    }
    out += R"(],"hints":[)";
    for (std::size_t k = 0; k < diagnostic.hints.size(); ++k) {
      out += fmt::format("{}{}", k > 0 ? "," : "", quoted(clean(diagnostic.hints[k])));
    }
    out += "]}";
  }
  return out + "]\n";
}

}  // namespace cairn
