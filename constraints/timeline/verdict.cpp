// The words for verdicts, assurances and checks.

#include "constraints/verdict.h"

namespace cairn {

std::string_view to_word(Verdict verdict) {
  switch (verdict) {
    case Verdict::Holds:
      return "holds";
    case Verdict::Unproven:
      return "unproven";
    case Verdict::Fails:
      return "fails";
  }
  return {};
}

std::string_view to_word(Assurance assurance) {
  return assurance == Assurance::Guaranteed ? "guaranteed" : "nominal";
}

std::string_view to_word(CheckKind kind) {
  switch (kind) {
    case CheckKind::Power:
      return "power";
    case CheckKind::Heat:
      return "heat";
    case CheckKind::Modes:
      return "modes";
    case CheckKind::Table:
      return "table";
    case CheckKind::Rules:
      return "rules";
    case CheckKind::Commanding:
      return "commanding";
  }
  return {};
}

}  // namespace cairn
