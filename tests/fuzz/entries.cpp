// What must hold for any input at all, and is held here: both lexers agree, a laid-out text stays as it is,
// every diagnostic lies inside its text.

#include "tests/fuzz/entries.h"

#include <string>

#include "compiler/model/model.h"
#include "compiler/plan/read_plan.h"
#include "compiler/review/reconcile/packets.h"
#include "compiler/review/reconcile/reports.h"
#include "compiler/review/reconcile/table_report.h"
#include "compiler/syntax/antlr_adapter.h"
#include "compiler/syntax/formatter.h"
#include "compiler/syntax/tokens.h"
#include "compiler/text/render.h"
#include "compiler/uplink/decoder/decoder.h"
#include "tests/sequence/small_station.h"

namespace cairn::test {

namespace {

std::string text_of(Octets input) { return {input.begin(), input.end()}; }

void places_lie_inside(const Diagnostics& diagnostics, const SourceFiles& files) {
  for (const Diagnostic& one : diagnostics.all()) {
    if (!one.primary.is_valid()) continue;
    must(one.primary.begin <= one.primary.end);
    must(one.primary.end <= files.text(one.primary.file).size());
  }
}

const Station& station() {
  static const Station made = small_station();
  return made;
}

}  // namespace

void fuzz_load(Octets input) {
  constexpr std::size_t most = 20'000;
  const std::string text = text_of(input.first(std::min(input.size(), most)));
  SourceFiles files;
  const FileId file = files.add("fuzz.cairn", text);
  Diagnostics diagnostics;
  const ParseLimits limits;
  parse(files, file, limits, diagnostics);
  places_lie_inside(diagnostics, files);
  bool readable = true;
  for (const Diagnostic& one : diagnostics.all()) readable = readable && one.code != "syntax/bad-encoding";
  if (readable) {
    const std::size_t offset = text.starts_with("\xEF\xBB\xBF") ? 3 : 0;
    const std::vector<Token> generated = generated_tokens(std::string_view(text).substr(offset));
    TokenSource source(text, offset, nullptr);
    for (const Token& token : generated) {
      const Token own = source.next();
      must(own.kind == token.kind);
      if (own.kind != TokenKind::EndOfFile)
        must(own.begin == token.begin + offset && own.end == token.end + offset);
    }
  }
  Diagnostics unheard;
  if (const auto once = format(files, file, limits, {}, unheard)) {
    SourceFiles again;
    const FileId second = again.add("fuzz.cairn", *once);
    must(format(again, second, limits, {}, unheard) == once);
    must(same_words(text, *once));
  }
  SequenceLimits few;
  few.commands = 2000;
  (void)compile_text(text, few);
}

void fuzz_station(Octets input) {
  const std::string text = text_of(input);
  SourceFiles files;
  Diagnostics diagnostics;
  const ReadText read = [&text](const std::string& path) -> std::expected<std::string, std::string> {
    if (path == "stations/fuzz.yaml") return text;
    return std::unexpected(std::string("there is no such file"));
  };
  (void)load_station("stations/fuzz.yaml", read, files, published_leap_seconds(), diagnostics);
  places_lie_inside(diagnostics, files);
  (void)render_text(diagnostics.all(), files, {});
}

void fuzz_plan(Octets input) {
  const std::string text = text_of(input);
  (void)read_plan(text);
  (void)read_end_state(text, station(), published_leap_seconds());
  (void)read_earlier_load(text, station(), published_leap_seconds());
}

void fuzz_octets(Octets input) {
  const Decoded decoded = decode(input, station(), published_leap_seconds());
  for (const DecodedRequest& request : decoded.requests) must(request.offset + request.size <= input.size());
}

void fuzz_reports(Octets input) {
  const std::string text = text_of(input);
  if (const auto reports = read_reports(text)) {
    for (const VerificationReport& report : *reports) must(report.sequence_count <= 0x3FFF);
  }
  (void)read_table_report(text, published_leap_seconds());
  if (const auto packets = read_report_packets(text, station())) {
    constexpr std::size_t shortest = 7;
    must((packets->reports.size() + packets->others) * shortest <= input.size());
  }
}

}  // namespace cairn::test
