// Station files for tests, from memory or from the repository.

#pragma once

#include <fstream>
#include <map>
#include <optional>
#include <sstream>
#include <string>

#include "compiler/model/model.h"
#include "compiler/text/render.h"
#include "tests/place.h"

namespace cairn::samples {

using Texts = std::map<std::string, std::string>;

inline std::expected<std::string, std::string> file_text(const std::string& path) {
  std::ifstream file(std::string(cairn::test::source_folder()) + "/" + path);
  if (!file) return std::unexpected("there is no such file");
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

struct Result {
  SourceFiles files;
  Diagnostics diagnostics;
  std::optional<LoadedStation> loaded;

  [[nodiscard]] bool has(std::string_view code) const {
    for (const Diagnostic& diagnostic : diagnostics.all()) {
      if (diagnostic.code == code) return true;
    }
    return false;
  }
  [[nodiscard]] const Diagnostic* first(std::string_view code) const {
    for (const Diagnostic& diagnostic : diagnostics.all()) {
      if (diagnostic.code == code) return &diagnostic;
    }
    return nullptr;
  }
  [[nodiscard]] std::string rendered() const { return render_text(diagnostics.all(), files, {}); }
};

// Loads docs/diagnostics/example.yaml; `texts` go before what is in the repository.
inline void load(Result& result, const Texts& texts,
                 const std::string& path = "docs/diagnostics/example.yaml") {
  const ReadText read = [&](const std::string& wanted) -> std::expected<std::string, std::string> {
    const auto found = texts.find(wanted);
    if (found != texts.end()) return found->second;
    return file_text(wanted);
  };
  result.loaded = load_station(path, read, result.files, published_leap_seconds(), result.diagnostics);
}

inline void load_text(Result& result, const std::string& text) {
  load(result, {{"docs/diagnostics/example.yaml", text}});
}

// `text` on top of the base station.
inline void load_over(Result& result, const std::string& text) {
  load_text(result, "include: [base-station.yaml]\n" + text);
}

}  // namespace cairn::samples
