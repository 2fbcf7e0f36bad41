// cairn check FOLDER: all loads in it together, over all cores, each only when something that went into it
// changed.

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <filesystem>
#include <thread>

#include "compiler/command/commands.h"
#include "compiler/plan/digest.h"
#include "compiler/review/network.h"
#include "compiler/text/catalogue.h"
#include "compiler/text/render.h"

namespace cairn {

namespace {

namespace fs = std::filesystem;

constexpr std::size_t most_loads = 10'000;

// A file of the language that has a load, and not only routines: a line that begins with that word.
bool has_load(const std::string& text) {
  for (std::size_t at = text.find("load"); at != std::string::npos; at = text.find("load", at + 1)) {
    const std::size_t line = text.rfind('\n', at) + 1;
    const bool first = text.find_first_not_of(" \t", line) == at;
    const std::size_t next = text.find_first_not_of(" \t", at + 4);
    if (first && next != std::string::npos && text[next] == '"') return true;
  }
  return false;
}

struct Found {
  std::vector<std::string> paths;
  bool too_many = false;
};

Found find_loads(const World& world, const std::string& folder) {
  Found found;
  std::error_code error;
  const auto options = fs::directory_options::skip_permission_denied;  // links to folders are not followed
  for (fs::recursive_directory_iterator entry(folder, options, error), end; !error && entry != end;
       entry.increment(error)) {
    if (!entry->is_regular_file(error) || entry->path().extension() != ".cairn") continue;
    const auto text = world.read(entry->path().string());
    if (!text || !has_load(*text)) continue;
    if (found.paths.size() == most_loads) {
      found.too_many = true;
      break;
    }
    found.paths.push_back(entry->path().lexically_relative(folder).generic_string());
  }
  std::sort(found.paths.begin(), found.paths.end());
  return found;
}

class Network {
 public:
  Network(const World& world, const CheckOptions& options) : world_(world), options_(options) {}

  std::vector<NetworkLoad> all(const std::vector<std::string>& paths) {
    std::vector<NetworkLoad> known;
    if (!options_.cache.empty()) {
      if (const auto text = world_.read(options_.cache)) known = read_network_cache(*text, key());
    }
    std::vector<NetworkLoad> loads(paths.size());
    std::atomic<std::size_t> next = 0;
    const auto work = [&] {
      for (std::size_t i = next++; i < paths.size(); i = next++) loads[i] = one(paths[i], known);
    };
    std::vector<std::thread> workers;
    const std::size_t cores = std::max(1U, std::thread::hardware_concurrency());
    for (std::size_t i = 1; i < std::min(cores, paths.size()); ++i) workers.emplace_back(work);
    work();
    for (std::thread& worker : workers) worker.join();
    return loads;
  }

  // All that an answer depends on besides the files that went in.
  [[nodiscard]] std::string key() const {
    const CompileOptions& compile_options = options_.compile;
    const auto digest = [this](const std::string& path) {
      if (path.empty()) return std::string();
      const auto text = world_.read(path);
      return text ? sha256(*text) : std::string("unreadable");
    };
    return fmt::format("{}; uplink-from {}; leap-seconds {}", tool_name, compile_options.uplink_from,
                       digest(compile_options.leap_seconds));
  }

 private:
  NetworkLoad one(const std::string& path, const std::vector<NetworkLoad>& known) const {
    const std::string whole = (fs::path(options_.compile.load) / path).string();
    const auto before =
        std::find_if(known.begin(), known.end(), [&](const NetworkLoad& load) { return load.file == path; });
    if (before != known.end() && unchanged(*before, whole)) return *before;
    CompileOptions compile_options = options_.compile;
    compile_options.load = whole;
    SourceFiles files;
    Diagnostics diagnostics;
    const auto compiled = compile(world_, compile_options, files, diagnostics);
    if (compiled) {
      if (auto load = network_load(path, compiled->plan)) return std::move(*load);
    }
    NetworkLoad load;
    load.file = path;
    diagnostics.sort(files);
    for (const Diagnostic& diagnostic : diagnostics.all()) {
      if (diagnostic.severity != Severity::Error) continue;
      load.problem = fmt::format("{}: {}", diagnostic.code, diagnostic.message);
      break;
    }
    return load;
  }

  [[nodiscard]] bool unchanged(const NetworkLoad& load, const std::string& path) const {
    const ReadText read = reader_in(world_, project_folder(path));
    return !load.inputs.empty() &&
           std::all_of(load.inputs.begin(), load.inputs.end(), [&](const ReviewedInput& input) {
             const auto text = read(input.name);
             return text && sha256(*text) == input.sha256;
           });
  }

  const World& world_;
  const CheckOptions& options_;
};

}  // namespace

ExitCode run_check_folder(const World& world, const CheckOptions& options) {
  Diagnostics diagnostics;
  SourceFiles files;
  const std::string& folder = options.compile.load;
  const Found found = find_loads(world, folder);
  const auto wrong = [&](const std::string& sentence) {
    diagnostics.report(diagnostics::InputUnreadable, {}, folder, sentence);
    if (options.show.json) {
      std::string list = render_json(diagnostics.all(), files);
      list.pop_back();
      world.print(fmt::format("{{\"diagnostics\":{},\"network\":null}}\n", list));
    }
    show_diagnostics(world, diagnostics, files, options.show, "-");
    return ExitCode::WrongInput;
  };
  if (found.too_many) return wrong("it has more than 10000 loads");
  if (found.paths.empty()) return wrong("there is no load in it");
  if (!options.compile.station.empty() || !options.compile.after.empty() || !options.page.empty())
    return wrong("of a folder, --station, --after and --page cannot be used");
  Network network(world, options);
  const std::vector<NetworkLoad> loads = network.all(found.paths);
  if (!options.cache.empty()) {
    if (const auto written = world.write_file(options.cache, network_cache(loads, network.key())); !written)
      return wrong("the cache cannot be written: " + written.error().sentence);
  }
  if (options.show.json) {
    world.print(fmt::format("{{\"diagnostics\":[],\"network\":{}}}\n", network_json(loads)));
  } else {
    world.print(network_text(loads, world.colour_for_output()));
  }
  const auto some = [&loads](auto which) { return std::any_of(loads.begin(), loads.end(), which); };
  if (some([](const NetworkLoad& load) { return load.name.empty(); })) return ExitCode::WrongInput;
  const bool stopped = some([](const NetworkLoad& load) { return load.verdict != "holds"; }) ||
                       !antenna_conflicts(loads).empty() || !overlapping_spans(loads).empty();
  return stopped ? ExitCode::CheckStops : ExitCode::Holds;
}

}  // namespace cairn
