// Collecting diagnostics: one message for one mistake, in a stable order.

#include "compiler/text/diagnostic.h"

#include <algorithm>
#include <tuple>

namespace cairn {

DiagnosticBuilder Diagnostics::add(Diagnostic diagnostic) {
  // A repeated code at the same span is the same mistake, met again; without a place there is no telling.
  if (diagnostic.primary.is_valid()) {
    const bool repeated = std::any_of(all_.rbegin(), all_.rend(), [&](const Diagnostic& earlier) {
      return earlier.code == diagnostic.code && earlier.primary == diagnostic.primary;
    });
    if (repeated) {
      dropped_ = {};
      return {*this, 0, true};
    }
  }
  if (diagnostic.severity == Severity::Error) ++errors_;
  all_.push_back(std::move(diagnostic));
  return {*this, all_.size() - 1, false};
}

void Diagnostics::append(Diagnostics other) {
  for (Diagnostic& diagnostic : other.all_) add(std::move(diagnostic));
}

bool Diagnostics::has_error_at(Span place) const {
  return std::any_of(all_.begin(), all_.end(), [place](const Diagnostic& diagnostic) {
    return diagnostic.severity == Severity::Error && diagnostic.primary == place;
  });
}

void Diagnostics::drop(std::string_view code) {
  std::erase_if(all_, [&](const Diagnostic& diagnostic) {
    if (diagnostic.code != code) return false;
    if (diagnostic.severity == Severity::Error) --errors_;
    return true;
  });
}

void Diagnostics::sort(const SourceFiles& files) {
  const auto key = [&](const Diagnostic& d) {
    return std::make_tuple(
        d.primary.is_valid() ? std::string_view(files.name(d.primary.file)) : std::string_view(),
        d.primary.begin, d.primary.end, d.code);
  };
  std::stable_sort(all_.begin(), all_.end(),
                   [&](const Diagnostic& a, const Diagnostic& b) { return key(a) < key(b); });
}

Diagnostic& DiagnosticBuilder::target() { return dropped_ ? owner_->dropped_ : owner_->all_[index_]; }

DiagnosticBuilder& DiagnosticBuilder::under(std::string text) {
  target().primary_label = std::move(text);
  return *this;
}

DiagnosticBuilder& DiagnosticBuilder::context(Span span, std::string text) {
  if (span.is_valid()) target().labels.push_back({span, LabelRole::Context, std::move(text)});
  return *this;
}

DiagnosticBuilder& DiagnosticBuilder::cause(Span span, std::string text) {
  if (span.is_valid()) target().labels.push_back({span, LabelRole::Cause, std::move(text)});
  return *this;
}

DiagnosticBuilder& DiagnosticBuilder::fix(Span span, std::string replacement, FixKind kind,
                                          std::string text) {
  target().fixes.push_back({span, std::move(replacement), kind, std::move(text)});
  return *this;
}

DiagnosticBuilder& DiagnosticBuilder::hint(std::string text) {
  target().hints.push_back(std::move(text));
  return *this;
}

}  // namespace cairn
