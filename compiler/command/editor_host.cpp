// Files by the operating system; checks by the same stages as `cairn check`.

#include "compiler/command/editor_host.h"

#include <algorithm>
#include <filesystem>

#include "compiler/command/findings.h"

namespace cairn {

namespace {

namespace fs = std::filesystem;

constexpr std::size_t most_files = 2000;

bool same_command(const TimedCommand& a, const TimedCommand& b) {
  return a.time == b.time && a.command == b.command &&
         std::equal(a.arguments.begin(), a.arguments.end(), b.arguments.begin(), b.arguments.end(),
                    [](const ArgumentValue& x, const ArgumentValue& y) { return x.raw == y.raw; });
}

}  // namespace

std::expected<std::string, std::string> WorldHost::read(const std::string& path) { return world_.read(path); }

std::string WorldHost::whole(const std::string& path) {
  std::error_code error;
  const fs::path found = fs::weakly_canonical(path, error);
  return error ? path : found.string();
}

std::string WorldHost::project_folder(const std::string& load) { return cairn::project_folder(load); }

std::expected<std::string, std::string> WorldHost::inside(const std::string& folder,
                                                          const std::string& path) {
  std::error_code error;
  const fs::path root = fs::weakly_canonical(folder, error);
  const fs::path whole = fs::weakly_canonical(root / path, error);
  const fs::path below = whole.lexically_relative(root);
  if (error || below.empty() || *below.begin() == "..") {
    return std::unexpected(std::string("it lies outside the project folder"));
  }
  return whole.string();
}

std::string WorldHost::relative(const std::string& folder, const std::string& path) {
  std::error_code error;
  const fs::path below =
      fs::weakly_canonical(path, error).lexically_relative(fs::weakly_canonical(folder, error));
  if (error || below.empty() || *below.begin() == "..") return fs::path(path).filename().string();
  return below.generic_string();
}

bool WorldHost::exists(const std::string& path) {
  std::error_code error;
  return fs::exists(path, error);
}

std::vector<std::string> WorldHost::files_below(const std::string& folder, const std::string& ending) {
  std::vector<std::string> files;
  std::error_code error;
  std::size_t seen = 0;
  for (auto at = fs::recursive_directory_iterator(folder, error); !error && at != fs::end(at);
       at.increment(error)) {
    if (++seen > most_files) break;
    const std::string name = at->path().lexically_relative(folder).generic_string();
    if (name.ends_with(ending)) files.push_back(name);
  }
  std::sort(files.begin(), files.end());
  return files;
}

CheckedLoad WorldHost::check(const std::shared_ptr<const LoadedStation>& station, SequencedLoad& load,
                             const SourceFiles&, Diagnostics& diagnostics) {
  for (TimedCommand& command : load.commands) {
    command.time = representable_time(station->station.clock, command.time, leap_seconds_);
  }
  PlanEndState before;
  before.start = initial_state(station->station);
  if (is_known(station, load)) {
    last_.load = load;
    check_stated(last_, before, *sky_, leap_seconds_, diagnostics);
  } else {
    make(station, load, before, diagnostics);
  }
  report_findings(last_, leap_seconds_, diagnostics);
  return {last_.timeline, last_.results, true};
}

// Verdicts hang on the commands alone: a comment or a name changes none.
bool WorldHost::is_known(const std::shared_ptr<const LoadedStation>& station,
                         const SequencedLoad& load) const {
  return station == station_ && load.begin == last_.load.begin && load.end == last_.load.end &&
         std::equal(load.commands.begin(), load.commands.end(), last_.load.commands.begin(),
                    last_.load.commands.end(), same_command);
}

void WorldHost::make(const std::shared_ptr<const LoadedStation>& station, const SequencedLoad& load,
                     const PlanEndState& before, Diagnostics& diagnostics) {
  if (station != station_) last_.station = *station;
  if (station != station_ || load.begin != last_.load.begin || load.end != last_.load.end) {
    sky_ = sampled_sky(station->station.site, load.begin, load.end);
    surroundings_ = surroundings_of(last_.station.station, *sky_, load.begin, load.end);
  }
  station_ = station;
  last_.load = load;
  last_.waiver_notes.clear();
  constexpr Duration ahead = seconds_to_duration(7 * 86'400);
  check_load(last_, before, {}, load.begin - ahead, *sky_, leap_seconds_, diagnostics, &surroundings_);
}

}  // namespace cairn
