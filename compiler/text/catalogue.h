// The catalogue: one entry per diagnostic code, in one file per room under catalogue/.
//
//   DIAG(UnknownUnit, "syntax/unknown-unit", Error, "`{}` is no unit of measure", std::string)
//
// gives `diagnostics::UnknownUnit`, to be used as
//
//   diagnostics.report(diagnostics::UnknownUnit, span, symbol).hint("...");
//
// A code is never reused. Each code has a page in docs/diagnostics/ (slash written as a dash).

#pragma once

#include <span>
#include <string>
#include <string_view>

#include "compiler/text/diagnostic.h"

namespace cairn {

namespace diagnostics {
#define DIAG(name, code, severity, message, ...) \
  inline constexpr DiagnosticKind<__VA_ARGS__> name{code, Severity::severity, message};
#include "compiler/text/catalogue/all.def"
#undef DIAG
}  // namespace diagnostics

struct CatalogueEntry {
  std::string_view code;
  Severity severity;
  std::string_view message;
};
std::span<const CatalogueEntry> catalogue();

}  // namespace cairn
