// Reading and merging included files, with every step bounded.

#include "compiler/model/include.h"

#include <algorithm>
#include <map>
#include <unordered_map>
#include <utility>

#include "compiler/model/windows_csv.h"
#include "compiler/text/catalogue.h"

namespace cairn {

namespace {

std::size_t count_nodes(const YamlNode& node) {
  std::size_t count = 1;
  for (const YamlNode& item : node.items) count += count_nodes(item);
  for (const YamlEntry& entry : node.entries) count += count_nodes(entry.value);
  return count;
}

// `over` goes on top of `base`.
void merge(YamlNode& base, YamlNode over, bool at_root) {
  if (base.kind != NodeKind::Map || over.kind != NodeKind::Map) {
    base = std::move(over);
    return;
  }
  std::unordered_map<std::string, std::size_t> places;
  for (std::size_t i = 0; i < base.entries.size(); ++i) places.emplace(base.entries[i].key, i);
  for (YamlEntry& entry : over.entries) {
    const auto found = places.find(entry.key);
    if (found == places.end()) {
      base.entries.push_back(std::move(entry));
      continue;
    }
    YamlEntry& below = base.entries[found->second];
    below.key_span = entry.key_span;
    if (at_root && entry.key == "windows" && below.value.kind == NodeKind::Sequence &&
        entry.value.kind == NodeKind::Sequence) {
      std::move(entry.value.items.begin(), entry.value.items.end(), std::back_inserter(below.value.items));
      below.value.span = entry.value.span;
      continue;
    }
    merge(below.value, std::move(entry.value), false);
  }
  base.span = over.span;
}

class Includer {
 public:
  Includer(const ReadText& read, SourceFiles& files, const IncludeLimits& limits, Diagnostics& diagnostics)
      : read_(read), files_(files), limits_(limits), diagnostics_(diagnostics) {}

  std::optional<YamlNode> load(const std::string& path, Span asked_at) {
    if (++files_read_ > limits_.files)
      return too_large("the list of included files", limits_.files, "files", asked_at);
    if (open_.size() >= limits_.depth)
      return too_large("the chain of includes", limits_.depth, "files", asked_at);
    const YamlNode* own = parse(path, asked_at);
    if (own == nullptr) return std::nullopt;
    if (own->kind != NodeKind::Map) {
      diagnostics_
          .report(diagnostics::ModelWrongKind, own->span, "the file",
                  own->kind == NodeKind::Null ? "empty" : "no map", "a map of keys")
          .context(asked_at, "it is included here");
      return std::nullopt;
    }
    check_version(*own);
    nodes_ += count_nodes(*own);
    if (nodes_ > limits_.yaml.nodes) {
      return too_large("the station with its included files", limits_.yaml.nodes, "values", asked_at);
    }
    open_.push_back({path, asked_at});
    YamlNode merged{.kind = NodeKind::Map, .span = own->span, .text = {}, .items = {}, .entries = {}};
    bool whole = true;
    if (const YamlNode* includes = own->find("include")) whole = load_list(*includes, path, merged);
    open_.pop_back();
    if (!whole) return std::nullopt;
    merge(merged, *own, true);
    std::erase_if(merged.entries, [](const YamlEntry& entry) { return entry.key == "include"; });
    return merged;
  }

  std::vector<FileId> take_order() { return std::move(order_); }

 private:
  struct Open {
    std::string path;
    Span asked_at;
  };

  std::optional<YamlNode> too_large(std::string what, std::size_t limit, std::string of, Span place) {
    diagnostics_.report(diagnostics::ModelTooLarge, place, std::move(what), limit, std::move(of));
    return std::nullopt;
  }

  // The format version is each file's own, so that a merge cannot hide a wrong one.
  void check_version(const YamlNode& root) {
    const YamlNode* version = root.find("cairn-station");
    if (version == nullptr || (version->kind == NodeKind::Scalar && !version->quoted && version->text == "1"))
      return;
    const std::string found = version->kind == NodeKind::Scalar ? "`" + version->text + "`" : "no number";
    diagnostics_.report(diagnostics::ModelVersion, version->span, found)
        .fix(version->span, "1", FixKind::Guess, "write `1`, when the file keeps to that format");
  }

  bool load_list(const YamlNode& includes, const std::string& path, YamlNode& merged) {
    if (includes.kind != NodeKind::Sequence) {
      diagnostics_
          .report(diagnostics::ModelWrongKind, includes.span, "`include`",
                  includes.kind == NodeKind::Scalar ? "one value" : "no list", "a list of file names")
          .hint("write `include: [shared/site.yaml]`");
      return false;
    }
    bool whole = true;
    for (const YamlNode& item : includes.items) {
      if (item.kind != NodeKind::Scalar || item.text.empty()) {
        diagnostics_.report(diagnostics::ModelWrongKind, item.span, "an item of `include`", "no file name",
                            "a file name");
        whole = false;
        continue;
      }
      std::optional<YamlNode> included = load_item(item, path);
      if (included) {
        merge(merged, std::move(*included), true);
      } else {
        whole = false;
      }
      if (files_read_ > limits_.files || nodes_ > limits_.yaml.nodes) return false;
    }
    return whole;
  }

  std::optional<YamlNode> load_item(const YamlNode& item, const std::string& path) {
    const std::optional<std::string> target = resolve_include(path, item.text);
    if (!target) {
      diagnostics_.report(diagnostics::ModelIncludeOutside, item.span, item.text)
          .hint("name a file inside the project folder, relative to this one, with `/` between folders");
      return std::nullopt;
    }
    const auto same = [&](const Open& open) { return open.path == *target; };
    const auto cycle = std::find_if(open_.begin(), open_.end(), same);
    if (cycle != open_.end()) {
      auto report = diagnostics_.report(diagnostics::ModelIncludeCycle, item.span, *target);
      for (auto step = cycle + 1; step != open_.end(); ++step) {
        report.context(step->asked_at, "which includes `" + step->path + "`");
      }
      report.hint("take one of these includes away");
      return std::nullopt;
    }
    return load(*target, item.span);
  }

  const YamlNode* parse(const std::string& path, Span asked_at) {
    const auto known = parsed_.find(path);
    if (known != parsed_.end()) return known->second ? &*known->second : nullptr;
    std::expected<std::string, std::string> text = read_(path);
    if (!text) {
      diagnostics_.report(diagnostics::ModelCannotRead, asked_at, path, text.error());
      parsed_.emplace(path, std::nullopt);
      return nullptr;
    }
    const FileId file = files_.add(path, std::move(*text));
    order_.push_back(file);
    const auto& stored =
        parsed_
            .emplace(path, path.ends_with(".csv") ? load_windows_csv(files_, file, limits_.yaml, diagnostics_)
                                                  : load_yaml(files_, file, limits_.yaml, diagnostics_))
            .first->second;
    return stored ? &*stored : nullptr;
  }

  const ReadText& read_;
  SourceFiles& files_;
  const IncludeLimits& limits_;
  Diagnostics& diagnostics_;
  std::map<std::string, std::optional<YamlNode>> parsed_;
  std::vector<FileId> order_;
  std::vector<Open> open_;
  std::size_t files_read_ = 0;
  std::size_t nodes_ = 0;
};

std::string_view folder_of(std::string_view path) {
  const std::size_t slash = path.rfind('/');
  return slash == std::string_view::npos ? std::string_view() : path.substr(0, slash + 1);
}

}  // namespace

std::optional<std::string> resolve_include(std::string_view from, std::string_view written) {
  const bool drive = written.size() >= 2 && written[1] == ':';
  if (written.empty() || written.front() == '/' || drive) return std::nullopt;
  if (written.find('\\') != std::string_view::npos || written.find('\0') != std::string_view::npos)
    return std::nullopt;
  std::string_view folder = folder_of(from);
  std::string kept;  // what no `..` may take away
  if (folder.starts_with("/") || folder.starts_with("../")) {
    kept = folder;
    folder = {};
  }
  std::vector<std::string_view> parts;
  for (std::string_view rest : {folder, written}) {
    while (!rest.empty()) {
      const std::size_t slash = std::min(rest.find('/'), rest.size());
      const std::string_view part = rest.substr(0, slash);
      rest.remove_prefix(std::min(slash + 1, rest.size()));
      if (part.empty() || part == ".") continue;
      if (part != "..") {
        parts.push_back(part);
        continue;
      }
      if (parts.empty()) return std::nullopt;
      parts.pop_back();
    }
  }
  if (parts.empty()) return std::nullopt;
  for (std::size_t i = 0; i < parts.size(); ++i) {
    if (i > 0) kept += '/';
    kept += parts[i];
  }
  return kept;
}

std::optional<MergedTree> read_with_includes(const std::string& path, const ReadText& read,
                                             SourceFiles& files, const IncludeLimits& limits,
                                             Diagnostics& diagnostics) {
  Includer includer(read, files, limits, diagnostics);
  std::optional<YamlNode> root = includer.load(path, Span{});
  if (!root) return std::nullopt;
  return MergedTree{std::move(*root), includer.take_order()};
}

}  // namespace cairn
