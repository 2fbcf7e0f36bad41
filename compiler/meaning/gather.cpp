// Reads the load and every file it uses, once each.
//
// A depth-first walk that keeps the chain of files being read, so that a circle can be shown whole. Paths are
// relative to the file that uses them and must stay inside the project folder.

#include <map>

#include "compiler/meaning/meaning.h"
#include "compiler/meaning/program.h"
#include "compiler/text/catalogue.h"

namespace cairn {

namespace {

// nullopt when the path leaves the project folder.
std::optional<std::string> resolve_path(std::string_view from, std::string_view path) {
  if (path.empty() || path.front() == '/' || path.find('\\') != std::string_view::npos ||
      path.find('\0') != std::string_view::npos || path.find(':') != std::string_view::npos) {
    return std::nullopt;
  }
  const bool rooted = !from.empty() && from.front() == '/';
  std::vector<std::string> parts;
  const auto slash = from.rfind('/');
  std::string whole = slash == std::string_view::npos ? "" : std::string(from.substr(0, slash + 1));
  whole += path;
  std::size_t begin = 0;
  while (begin <= whole.size()) {
    const std::size_t end = std::min(whole.find('/', begin), whole.size());
    const std::string part = whole.substr(begin, end - begin);
    begin = end + 1;
    if (part.empty() || part == ".") continue;
    if (part == "..") {
      if (parts.empty()) return std::nullopt;
      parts.pop_back();
    } else {
      parts.push_back(part);
    }
  }
  std::string result = rooted ? "/" : "";
  for (std::size_t i = 0; i < parts.size(); ++i) result += (i > 0 ? "/" : "") + parts[i];
  return result;
}

class Gatherer {
 public:
  Gatherer(SourceFiles& files, const ReadText& read, const ParseLimits& limits, Diagnostics& diagnostics)
      : files_(&files), read_(&read), limits_(&limits), diagnostics_(&diagnostics) {}

  void visit(FileId file) {
    const std::string name = files_->name(file);
    reached_[name] = true;
    chain_.push_back(name);
    result_.trees.push_back(parse(*files_, file, *limits_, *diagnostics_));
    result_.files.push_back(file);
    const std::size_t index = result_.trees.size() - 1;
    const std::size_t count = result_.trees[index].items.size();
    for (std::size_t i = 0; i < count; ++i) {
      const Item& item = result_.trees[index].items[i];
      if (item.kind == ItemKind::Use) use(name, Word(item.text));
    }
    chain_.pop_back();
  }

  GatherResult take() { return std::move(result_); }

 private:
  void use(const std::string& from, Word word) {
    const std::string written = unescape(word.text);
    const auto path = resolve_path(from, written);
    if (!path) {
      diagnostics_->report(diagnostics::UseOutside, word.span, written)
          .hint(
              "paths are relative to this file, with `/` between parts, and stay inside the project folder");
      return;
    }
    for (std::size_t i = 0; i < chain_.size(); ++i) {
      if (chain_[i] != *path) continue;
      std::string circle;
      for (std::size_t j = i; j < chain_.size(); ++j) circle += chain_[j] + " -> ";
      diagnostics_->report(diagnostics::UseCycle, word.span, *path, circle + *path)
          .hint("take this `use` away; what both files need can stand in a third");
      return;
    }
    if (reached_.contains(*path)) return;
    if (chain_.size() >= 64) {
      diagnostics_->report(diagnostics::UseUnreadable, word.span, *path, "files are nested more than 64 deep")
          .hint("let the load use the files directly");
      return;
    }
    auto text = (*read_)(*path);
    if (!text) {
      reached_[*path] = true;
      diagnostics_->report(diagnostics::UseUnreadable, word.span, *path, text.error())
          .hint("paths are relative to this file; it was looked for at `" + *path +
                "` in the project folder");
      return;
    }
    visit(files_->add(*path, std::move(*text)));
  }

  SourceFiles* files_;
  const ReadText* read_;
  const ParseLimits* limits_;
  Diagnostics* diagnostics_;
  GatherResult result_;
  std::map<std::string, bool> reached_;
  std::vector<std::string> chain_;
};

}  // namespace

GatherResult gather(SourceFiles& files, FileId load, const ReadText& read, const ParseLimits& limits,
                    Diagnostics& diagnostics) {
  Gatherer gatherer(files, read, limits, diagnostics);
  gatherer.visit(load);
  return gatherer.take();
}

std::optional<Word> station_of(const Tree& tree, Diagnostics& diagnostics) {
  for (const Item& item : tree.items) {
    if (item.kind == ItemKind::Load) return item.station;
  }
  if (diagnostics.has_errors()) return std::nullopt;  // the load may be what could not be read
  bool has_routines = false;
  for (const Item& item : tree.items) has_routines = has_routines || item.kind == ItemKind::Routine;
  diagnostics.report(diagnostics::NoLoad, Span{tree.file, 0, 0}, "")
      .hint(has_routines ? "it holds routines only: compile a load that brings them in with `use`"
                         : "a load begins with `load \"NAME\" for STATION { span BEGIN to END ... }`");
  return std::nullopt;
}

}  // namespace cairn
