// Corrections are sorted by place and put in from the end, so that the places before them stay true.

#include "compiler/command/apply.h"

#include <algorithm>
#include <vector>

namespace cairn {

std::map<FileId, std::string> corrected(const SourceFiles& files, const Diagnostics& diagnostics,
                                        bool guesses, std::size_t& applied) {
  std::map<FileId, std::vector<const Fix*>> chosen;
  for (const Diagnostic& one : diagnostics.all()) {
    for (const Fix& fix : one.fixes) {
      if (fix.kind == FixKind::Guess && !guesses) continue;
      if (!fix.span.is_valid() || !files.name(fix.span.file).ends_with(".cairn")) continue;
      chosen[fix.span.file].push_back(&fix);
      break;
    }
  }
  std::map<FileId, std::string> texts;
  for (auto& [file, fixes] : chosen) {
    std::stable_sort(fixes.begin(), fixes.end(),
                     [](const Fix* a, const Fix* b) { return a->span.begin < b->span.begin; });
    std::vector<const Fix*> apart;
    for (const Fix* fix : fixes) {
      if (apart.empty() || fix->span.begin > apart.back()->span.end) apart.push_back(fix);
    }
    std::string text(files.text(file));
    for (auto fix = apart.rbegin(); fix != apart.rend(); ++fix) {
      text.replace((*fix)->span.begin, (*fix)->span.end - (*fix)->span.begin, (*fix)->replacement);
    }
    applied += apart.size();
    texts.emplace(file, std::move(text));
  }
  return texts;
}

}  // namespace cairn
