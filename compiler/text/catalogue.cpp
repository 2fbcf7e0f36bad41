// The catalogue as a list, for `explain` and for the tests that hold pages and codes together.

#include "compiler/text/catalogue.h"

#include <array>

namespace cairn {

namespace {

// The marker keeps the array non-empty and its trailing commas legal; it is left out of the answer.
constexpr CatalogueEntry entries[] = {
#define DIAG(name, code, severity, message, ...) {code, Severity::severity, message},
#include "compiler/text/catalogue/all.def"
#undef DIAG
    {"", Severity::Note, ""},
};

}  // namespace

std::span<const CatalogueEntry> catalogue() { return std::span(entries).first(std::size(entries) - 1); }

}  // namespace cairn
