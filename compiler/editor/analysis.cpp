// The stages in order, each as far as what stands before it allows.

#include "compiler/editor/analysis.h"

#include <algorithm>

#include "compiler/syntax/tokens.h"
#include "compiler/text/catalogue.h"

namespace cairn {

namespace {

// The word after `for` in the head of the load, also where the rest of the file cannot be read.
std::string station_name(std::string_view text) {
  TokenSource source(text, text.starts_with("\xEF\xBB\xBF") ? 3 : 0, nullptr);
  Token before[3];
  for (Token token = source.next(); token.kind != TokenKind::EndOfFile; token = source.next()) {
    if (before[0].kind == TokenKind::Load && before[1].kind == TokenKind::Text &&
        before[2].kind == TokenKind::For) {
      return token.kind == TokenKind::Name ? std::string(text.substr(token.begin, token.end - token.begin))
                                           : std::string();
    }
    before[0] = before[1];
    before[1] = before[2];
    before[2] = token;
  }
  return {};
}

ReadText reader_in(Workspace& workspace, const std::string& folder, std::set<std::string>& asked_paths) {
  return
      [&workspace, folder, &asked_paths](const std::string& path) -> std::expected<std::string, std::string> {
        const auto whole = workspace.host().inside(folder, path);
        if (!whole) return std::unexpected(whole.error());
        asked_paths.insert(*whole);
        return workspace.read(*whole);
      };
}

bool has_load(const Tree& tree) {
  return std::any_of(tree.items.begin(), tree.items.end(),
                     [](const Item& item) { return item.kind == ItemKind::Load; });
}

void report_no_station(Workspace& workspace, const Analysis& analysis, Word name, Diagnostics& diagnostics) {
  std::string known;
  for (const std::string& file : workspace.host().files_below(analysis.folder + "/stations", ".yaml")) {
    if (file.find('/') != std::string::npos) continue;
    known += (known.empty() ? "" : ", ") + file.substr(0, file.size() - std::string_view(".yaml").size());
  }
  diagnostics.report(diagnostics::InputNoStation, name.span, std::string(name.text))
      .hint(known.empty()
                ? "put it at `stations/" + std::string(name.text) + ".yaml` beside or above the load"
                : "there are: " + known);
}

// What stands in one file and in its text before.
struct Edit {
  std::uint32_t begin = 0;  // what stands before it is the same
  std::uint32_t end = 0;    // of the text before; what stands after it is the same
  std::int64_t shift = 0;   // of what stands after it
};

Edit edit_between(std::string_view before, std::string_view after) {
  const std::size_t shorter = std::min(before.size(), after.size());
  const auto begin = static_cast<std::size_t>(
      std::mismatch(before.begin(), before.begin() + static_cast<std::ptrdiff_t>(shorter), after.begin())
          .first -
      before.begin());
  std::size_t tail = 0;
  while (tail < shorter - begin && before[before.size() - 1 - tail] == after[after.size() - 1 - tail]) ++tail;
  return {static_cast<std::uint32_t>(begin), static_cast<std::uint32_t>(before.size() - tail),
          static_cast<std::int64_t>(after.size()) - static_cast<std::int64_t>(before.size())};
}

// False when the edit touches it.
bool move(Span& span, const Edit& edit) {
  if (span.end <= edit.begin) return true;
  if (span.begin < edit.end) return false;
  span.begin = static_cast<std::uint32_t>(span.begin + edit.shift);
  span.end = static_cast<std::uint32_t>(span.end + edit.shift);
  return true;
}

// Until the new checks are done, what the last ones said stands where it belongs in the new text. Without
// corrections: those were for the old one.
void carry_over(const Analysis& before, Analysis& after) {
  if (before.check_diagnostics.empty() || before.paths != after.paths) return;
  std::vector<Edit> edits;
  for (std::size_t i = 0; i < after.files.size(); ++i) {
    const FileId id{static_cast<std::uint32_t>(i)};
    edits.push_back(edit_between(before.files.text(id), after.files.text(id)));
  }
  const auto moved = [&edits](Span& span) {
    return !span.is_valid() || (span.file.value < edits.size() && move(span, edits[span.file.value]));
  };
  for (Diagnostic one : before.check_diagnostics) {
    if (!moved(one.primary)) continue;
    std::erase_if(one.labels, [&moved](Label& label) { return !moved(label.span); });
    one.fixes.clear();
    after.check_diagnostics.push_back(std::move(one));
  }
}

}  // namespace

bool Analysis::is_of(const Workspace& workspace) const {
  return std::all_of(asked_paths.begin(), asked_paths.end(),
                     [&](const std::string& asked) { return workspace.revision_of(asked) <= revision; });
}

std::optional<FileId> Analysis::file_of(const std::string& file) const {
  // The load's own last: a station file is never one.
  for (std::size_t i = 0; i < paths.size(); ++i) {
    if (paths[i] == file) return FileId{static_cast<std::uint32_t>(i)};
  }
  return std::nullopt;
}

TextRange Analysis::range(Span span) const {
  const std::string_view text = files.text(span.file);
  const TextLines& own = lines[span.file.value];
  return {own.position(text, span.begin), own.position(text, span.end)};
}

std::uint32_t Analysis::offset(FileId file, TextPosition position) const {
  return lines[file.value].offset(files.text(file), position);
}

const StationModel& StationCache::get(Workspace& workspace, const std::string& folder,
                                      const std::string& path) {
  std::unique_ptr<StationModel>& slot = models_[folder + "\n" + path];
  const bool is_current =
      slot != nullptr &&
      std::all_of(slot->asked_paths.begin(), slot->asked_paths.end(),
                  [&](const std::string& asked) { return workspace.revision_of(asked) <= slot->revision; });
  if (is_current) return *slot;
  slot = std::make_unique<StationModel>();
  StationModel& model = *slot;
  model.revision = workspace.revision();
  auto station = load_station(path, reader_in(workspace, folder, model.asked_paths), model.files,
                              workspace.host().leap_seconds(), model.diagnostics);
  if (station) model.station = std::make_shared<const LoadedStation>(std::move(*station));
  return model;
}

std::shared_ptr<Analysis> analyse(Workspace& workspace, StationCache& stations, const std::string& path,
                                  const std::shared_ptr<Analysis>& before) {
  auto result = std::make_shared<Analysis>();
  Analysis& self = *result;
  self.path = path;
  self.revision = workspace.revision();
  self.asked_paths.insert(path);
  self.folder = before ? before->folder : workspace.host().project_folder(path);
  std::string text = workspace.read(path).value_or(std::string());

  // The station's files come first, so that they have here the ids that its values carry.
  const std::string name = station_name(text);
  const StationModel* model = nullptr;
  if (!name.empty()) {
    const std::string file = "stations/" + name + ".yaml";
    const auto whole = workspace.host().inside(self.folder, file);
    if (whole) self.asked_paths.insert(*whole);
    if (whole && workspace.read(*whole)) {
      model = &stations.get(workspace, self.folder, file);
      self.asked_paths.insert(model->asked_paths.begin(), model->asked_paths.end());
      for (std::size_t i = 0; i < model->files.size(); ++i) {
        const FileId id{static_cast<std::uint32_t>(i)};
        self.files.add(model->files.name(id), std::string(model->files.text(id)));
      }
      self.station = model->station;
    }
  }
  const FileId load_file = self.files.add(workspace.host().relative(self.folder, path), std::move(text));
  self.gathered = gather(self.files, load_file, reader_in(workspace, self.folder, self.asked_paths), {},
                         self.diagnostics);
  for (std::size_t i = 0; i < self.files.size(); ++i) {
    const FileId id{static_cast<std::uint32_t>(i)};
    const std::string& file = self.files.name(id);
    self.paths.push_back(id == load_file ? path : workspace.host().inside(self.folder, file).value_or(file));
    self.lines.emplace_back(self.files.text(id));
  }
  if (before) carry_over(*before, self);
  if (!has_load(self.tree())) return result;
  if (model != nullptr) {
    self.diagnostics.append(model->diagnostics);
  } else if (const auto word = station_of(self.tree(), self.diagnostics)) {
    report_no_station(workspace, self, *word, self.diagnostics);
  }
  if (!self.station) return result;
  const StartState start = initial_state(self.station->station);
  self.load = compile_load(self.gathered.trees, self.files, *self.station, start,
                           workspace.host().leap_seconds(), {}, self.diagnostics);
  if (self.diagnostics.has_errors()) self.load.reset();
  self.needs_check = self.load.has_value();
  return result;
}

void run(EditorHost& host, CheckJob& job) {
  const Analysis& analysis = *job.analysis;
  job.load = *analysis.load;
  job.checked = host.check(analysis.station, job.load, analysis.files, job.diagnostics);
}

}  // namespace cairn
