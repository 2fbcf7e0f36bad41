// Times and margins that stand beside the text.

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "compiler/editor/features.h"
#include "constraints/quantity/unit.h"

namespace cairn {

namespace {

struct Times {
  Instant first;
  std::size_t count = 0;
};

// "power +43.5 W, heat +21.6 K, table 12 entries": the least of each check.
std::string least_margins(const CheckResults& results) {
  std::map<CheckKind, const Finding*> least;
  for (const Finding& finding : results.findings) {
    if (!finding.has_margin) continue;
    const Finding*& known = least[finding.check];
    const bool comparable = known == nullptr || known->dimension == finding.dimension;
    if (known == nullptr || (comparable && finding.margin < known->margin)) known = &finding;
  }
  std::string words;
  for (const auto& [kind, finding] : least) {
    const Dimension dimension =
        finding->check == CheckKind::Heat ? dimensions::temperature_difference : finding->dimension;
    words +=
        fmt::format("{}{} {}{} ({})", words.empty() ? "" : ", ", to_word(kind),
                    finding->margin > 0 ? "+" : "", show(finding->margin, dimension, 4), finding->subject);
  }
  return words;
}

}  // namespace

std::vector<InlayHint> inlay_hints(const Analysis& analysis, FileId file, TextRange range,
                                   const LeapSecondTable& leap_seconds) {
  std::vector<InlayHint> hints;
  if (!analysis.load) return hints;
  const SequencedLoad& load = *analysis.load;
  const auto add = [&](std::uint32_t offset, std::string label, std::string tooltip) {
    const TextPosition position = analysis.lines[file.value].position(analysis.files.text(file), offset);
    if (position < range.begin || range.end < position) return;
    hints.push_back({position, std::move(label), std::move(tooltip)});
  };
  std::map<std::uint32_t, Times> sent;  // by the end of the statement
  const std::uint32_t begin = analysis.offset(file, range.begin);
  const std::uint32_t end = analysis.offset(file, range.end);
  for (std::size_t i = 0; i < load.provenance.size(); ++i) {
    const Span source = load.provenance[i].source;
    if (source.file != file || source.end < begin || source.end > end) continue;
    Times& times = sent[source.end];
    if (times.count++ == 0) times.first = load.commands[i].time;
  }
  for (const auto& [offset, times] : sent) {
    std::string label = format_utc(times.first, leap_seconds);
    if (times.count > 1) label += fmt::format(" and {} more", times.count - 1);
    add(offset, std::move(label), predicted_words(analysis, times.first));
  }
  for (const ResolvedMark& mark : load.marks) {
    if (mark.source.file == file)
      add(mark.source.end, format_utc(mark.time, leap_seconds), predicted_words(analysis, mark.time));
  }
  if (load.name_span.file == file && analysis.checked) {
    const CheckResults& results = analysis.checked->results;
    add(load.name_span.end, fmt::format("{}; {}", to_word(overall(results.findings)), least_margins(results)),
        "verdict, and the least margin of each check");
  }
  std::sort(hints.begin(), hints.end(),
            [](const InlayHint& a, const InlayHint& b) { return a.position < b.position; });
  return hints;
}

}  // namespace cairn
