// From trees to a sequenced load: the span, then passes of expansion until the blocks' times stand still.

#include <algorithm>
#include <array>
#include <string_view>

#include "compiler/sequence/expand.h"
#include "compiler/sequence/withdrawals.h"
#include "compiler/text/catalogue.h"

namespace cairn {

namespace {

constexpr int most_passes = 12;

struct LoadSpan {
  Instant begin;
  Instant end;
};

std::optional<LoadSpan> span_of(const Program& program, const SequenceLimits& limits,
                                Diagnostics& diagnostics) {
  const Item& load = *program.load;
  if (!load.span_from.is_valid() || !load.span_to.is_valid()) return std::nullopt;  // said by the parser
  Evaluator evaluator(program, diagnostics, [](const Binding&) { return Value::error(); });
  const Value from =
      evaluator.evaluate_as(ValueKind::Instant, 0, load.span_from, evaluator.globals(), "the span's begin");
  const Value to =
      evaluator.evaluate_as(ValueKind::Instant, 0, load.span_to, evaluator.globals(), "the span's end");
  if (!from.is_usable() || !to.is_usable()) return std::nullopt;
  const auto& expressions = program.trees->front().expressions;
  const Span place = cover(expressions[load.span_from].span, expressions[load.span_to].span);
  if (to.instant <= from.instant) {
    diagnostics
        .report(diagnostics::BadSpan, place,
                to.instant == from.instant ? "has no length" : "ends before it begins")
        .hint(to.instant == from.instant ? "let it end later than it begins"
                                         : "the earlier instant comes first: swap the two");
    return std::nullopt;
  }
  if (to.instant - from.instant > limits.span) {
    diagnostics
        .report(diagnostics::BadSpan, place,
                "is " + to_text(to.instant - from.instant) + " long, at most " + to_text(limits.span) +
                    " are planned at once")
        .hint(
            "split it: the second load begins where the first ends, and is compiled with --after the first "
            "one's plan.json");
    return std::nullopt;
  }
  if (const Site& site = program.station->station.site; !sky_covers(site, from.instant, to.instant)) {
    diagnostics
        .report(diagnostics::BadSpan, place,
                "reaches beyond the station's table `sky`, which goes from " +
                    format_utc(site.sky.front().time, *program.leap_seconds) + " to " +
                    format_utc(site.sky.back().time, *program.leap_seconds))
        .hint("give the table more rows, or leave it out: then models say where Sun and Earth stand");
    return std::nullopt;
  }
  if (is_after_expiry(to.instant, *program.leap_seconds)) {
    const auto expiry = from_utc_day_time({program.leap_seconds->expiry_utc_day, 0}, *program.leap_seconds);
    const std::string date = expiry ? format_utc(*expiry, *program.leap_seconds).substr(0, 10) : "the day";
    diagnostics.report(diagnostics::AfterLeapTable, place, date)
        .hint(
            "give a newer table with --leap-seconds FILE when there is one, and build again before it is "
            "sent");
  }
  return LoadSpan{from.instant, to.instant};
}

void sort_marks(SequencedLoad& load) {
  std::sort(load.marks.begin(), load.marks.end(), [](const ResolvedMark& a, const ResolvedMark& b) {
    return std::tie(a.time, a.name) < std::tie(b.time, b.name);
  });
}

// Runs passes until nothing hangs on a time that has changed.
std::optional<SequencedLoad> expand(const Program& program, const StartState& start,
                                    const SequenceLimits& limits, LoadSpan span, Diagnostics& diagnostics) {
  BlockTable known;
  Span unsettled;
  for (int pass = 0; pass < most_passes; ++pass) {
    SequencedLoad load;
    load.name = unescape(program.load->text.text);
    load.name_span = program.load->text.span;
    load.begin = span.begin;
    load.end = span.end;
    Diagnostics found;
    Expander expander(program, start, limits, span.begin, span.end, known, found);
    expander.run(load);
    const bool settled =
        !expander.is_pending() && (!expander.consulted_blocks() || expander.found_blocks() == known);
    const bool stuck = !settled && expander.found_blocks() == known;
    if (settled || (stuck && found.has_errors())) {
      const bool failed = found.has_errors();
      diagnostics.append(std::move(found));
      if (failed) return std::nullopt;
      sort_marks(load);
      return load;
    }
    unsettled = expander.is_pending() ? expander.pending_place() : program.load->keyword;
    if (stuck) break;
    known = expander.found_blocks();
  }
  diagnostics.report(diagnostics::BlockCycle, unsettled, "")
      .hint("a block may begin at the end of another only if that one does not wait for it in turn");
  return std::nullopt;
}

constexpr std::array<std::string_view, 3> following_states{
    "sequence/bring-no-path", "sequence/bring-from-unknown", "sequence/expect-alone"};
constexpr std::array<std::string_view, 11> missing_names{
    "meaning/unknown-name",   "meaning/unknown-routine", "meaning/no-load",           "meaning/extra-load",
    "sequence/unknown-block", "waiver/unknown-check",    "sequence/backwards",        "sequence/spacing",
    "sequence/outside-span",  "sequence/no-time",        "sequence/too-many-commands"};

// A mistake of meaning on the line of one of syntax, or on the line before it, comes of it; and so do others
// of its code.
void drop_beside(Diagnostics& found, const Diagnostics& before, const SourceFiles& files) {
  const auto line_of = [&](Span span) { return files.position(span.file, span.begin).line; };
  std::vector<std::string_view> codes;
  for (const Diagnostic& one : found.all()) {
    if (!one.primary.is_valid() || one.severity != Severity::Error) continue;
    for (const Diagnostic& cause : before.all()) {
      if (cause.severity != Severity::Error || !cause.primary.is_valid()) continue;
      if (cause.primary.file != one.primary.file) continue;
      const auto line = line_of(one.primary);
      const auto of_cause = line_of(cause.primary);
      if (line == of_cause || line + 1 == of_cause) codes.push_back(one.code);
    }
  }
  for (const std::string_view code : codes) found.drop(code);
}

std::optional<SequencedLoad> compile_checked(const std::vector<Tree>& trees, const SourceFiles& files,
                                             const LoadedStation& station, const StartState& start,
                                             const LeapSecondTable& leap_seconds,
                                             const SequenceLimits& limits, Diagnostics& diagnostics) {
  const auto program = check_program(trees, files, station, leap_seconds, diagnostics);
  if (!program) return std::nullopt;
  const auto span = span_of(*program, limits, diagnostics);
  std::vector<Withdrawal> withdrawals = read_withdrawals(*program, diagnostics);
  if (!span) return std::nullopt;
  auto load = expand(*program, start, limits, *span, diagnostics);
  if (load) load->withdrawals = std::move(withdrawals);
  return load;
}

}  // namespace

std::optional<SequencedLoad> compile_load(const std::vector<Tree>& trees, const SourceFiles& files,
                                          const LoadedStation& station, const StartState& start,
                                          const LeapSecondTable& leap_seconds, const SequenceLimits& limits,
                                          Diagnostics& diagnostics) {
  const bool was_broken = diagnostics.has_errors();
  Diagnostics found;
  auto load = compile_checked(trees, files, station, start, leap_seconds, limits, found);
  const bool failed = found.has_errors();
  const auto follows = [](std::string_view code) {
    return std::find(following_states.begin(), following_states.end(), code) != following_states.end();
  };
  const bool is_cause =
      was_broken || std::any_of(found.all().begin(), found.all().end(), [&](const Diagnostic& one) {
        return one.severity == Severity::Error && !follows(one.code);
      });
  if (is_cause) {
    // A command that was reported and left out may be what would have brought the part there.
    for (const std::string_view code : following_states) found.drop(code);
  }
  if (was_broken) {
    // What is missing may have stood in a statement that was reported and left out.
    for (const std::string_view code : missing_names) found.drop(code);
    drop_beside(found, diagnostics, files);
  }
  diagnostics.append(std::move(found));
  if (failed) return std::nullopt;
  return load;
}

}  // namespace cairn
