// Diagnostics: everything Cairn has to say about wrong or doubtful input, as data.
//
// A diagnostic is a code, a primary span, labels at other places, and fixes. Terminal text and JSON are
// renderings of the same value (render.h); nothing prints or returns an error by another road. Passes take a
// `Diagnostics&` and report into it; they never print or exit.

#pragma once

#include <fmt/core.h>

#include <cstdint>
#include <string>
#include <string_view>
#include <type_traits>
#include <utility>
#include <vector>

#include "compiler/text/source.h"

namespace cairn {

enum class Severity : std::uint8_t { Error, Warning, Note };

enum class LabelRole : std::uint8_t { Cause, Context };

struct Label {
  Span span;
  LabelRole role = LabelRole::Context;
  std::string text;
};

enum class FixKind : std::uint8_t {
  Safe,   // meaning is certain; may be applied without asking
  Guess,  // probably what was meant
};

// Replace the text of `span` by `replacement`; `text` says it in words ("did you mean `camera`?").
struct Fix {
  Span span;
  std::string replacement;
  FixKind kind = FixKind::Guess;
  std::string text;
};

struct Diagnostic {
  std::string_view code;  // "syntax/unexpected"; stands in the catalogue for good
  Severity severity = Severity::Error;
  std::string message;        // lower case, no full stop, names in backticks
  Span primary;               // invalid only where no place exists (a missing file named on the command line)
  std::string primary_label;  // optional words under the primary span
  std::vector<Label> labels;
  std::vector<Fix> fixes;
  std::vector<std::string> hints;  // last lines: what would mend it, in words
};

// A catalogue entry: its arguments are checked against the message at compile time.
template <class... Args>
struct DiagnosticKind {
  std::string_view code;
  Severity severity;
  fmt::format_string<const Args&...> message;
};

class DiagnosticBuilder;

class Diagnostics {
 public:
  // Reports one problem. Same code at the same span is dropped (one mistake, one message).
  template <class... Args>
  DiagnosticBuilder report(const DiagnosticKind<Args...>& kind, Span primary,
                           const std::type_identity_t<Args>&... args);

  [[nodiscard]] const std::vector<Diagnostic>& all() const { return all_; }
  [[nodiscard]] bool has_errors() const { return errors_ > 0; }
  [[nodiscard]] std::size_t error_count() const { return errors_; }
  // Has an error been reported at this very place?
  [[nodiscard]] bool has_error_at(Span place) const;
  // Stable order for output: file, place, code.
  void sort(const SourceFiles& files);
  void append(Diagnostics other);
  // Takes back every diagnostic of this code: what follows from a mistake already reported is not said again.
  void drop(std::string_view code);

 private:
  friend class DiagnosticBuilder;
  DiagnosticBuilder add(Diagnostic diagnostic);
  std::vector<Diagnostic> all_;
  Diagnostic dropped_;  // where a repeated report's details go
  std::size_t errors_ = 0;
};

// Adds details to the diagnostic just reported; use at once, in one expression.
class DiagnosticBuilder {
 public:
  DiagnosticBuilder(Diagnostics& owner, std::size_t index, bool dropped)
      : owner_(&owner), index_(index), dropped_(dropped) {}
  DiagnosticBuilder& under(std::string text);  // words under the primary span
  DiagnosticBuilder& context(Span span, std::string text);
  DiagnosticBuilder& cause(Span span, std::string text);
  DiagnosticBuilder& fix(Span span, std::string replacement, FixKind kind, std::string text);
  DiagnosticBuilder& hint(std::string text);

 private:
  Diagnostic& target();
  Diagnostics* owner_;
  std::size_t index_;
  bool dropped_;
};

template <class... Args>
DiagnosticBuilder Diagnostics::report(const DiagnosticKind<Args...>& kind, Span primary,
                                      const std::type_identity_t<Args>&... args) {
  Diagnostic diagnostic;
  diagnostic.code = kind.code;
  diagnostic.severity = kind.severity;
  diagnostic.message = fmt::format(kind.message, args...);
  diagnostic.primary = primary;
  return add(std::move(diagnostic));
}

}  // namespace cairn
