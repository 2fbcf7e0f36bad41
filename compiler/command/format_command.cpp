// cairn format: lays files out, in place or from standard input to standard output.

#include <algorithm>
#include <filesystem>

#include "compiler/command/commands.h"
#include "compiler/syntax/formatter.h"
#include "compiler/text/catalogue.h"
#include "compiler/text/render.h"

namespace cairn {

namespace {

namespace fs = std::filesystem;

// The files themselves, and of each folder all loads in it and below, in order of their names.
std::vector<std::string> files_of(const std::vector<std::string>& paths) {
  std::vector<std::string> files;
  for (const std::string& path : paths) {
    std::error_code error;
    if (path == "-" || !fs::is_directory(path, error)) {
      files.push_back(path);
      continue;
    }
    std::vector<std::string> inside;
    for (auto at = fs::recursive_directory_iterator(path, error); !error && at != fs::end(at);
         at.increment(error)) {
      if (at->path().extension() == ".cairn" && at->is_regular_file(error)) {
        inside.push_back(at->path().generic_string());
      }
    }
    std::sort(inside.begin(), inside.end());
    files.insert(files.end(), inside.begin(), inside.end());
  }
  return files;
}

std::size_t first_difference(const std::string& before, const std::string& after) {
  const auto at = std::mismatch(before.begin(), before.end(), after.begin(), after.end()).first;
  return static_cast<std::size_t>(std::count(before.begin(), at, '\n')) + 1;
}

class Formatter {
 public:
  Formatter(const World& world, const FormatCommandOptions& options) : world_(world), options_(options) {}

  ExitCode run() {
    const std::vector<std::string> paths = files_of(options_.files);
    for (const std::string& path : paths) one(path);
    diagnostics_.sort(sources_);
    RenderOptions render;
    render.colour = world_.colour_for_errors();
    render.one_line = options_.one_line;
    render.width = world_.width();
    if (!diagnostics_.all().empty()) world_.print_error(render_text(diagnostics_.all(), sources_, render));
    if (faulty_) return ExitCode::ToolFault;
    if (diagnostics_.has_errors()) return ExitCode::WrongInput;
    return options_.check && changed_ ? ExitCode::CheckStops : ExitCode::Holds;
  }

 private:
  void one(const std::string& path) {
    const auto text = world_.read(path);
    if (!text) {
      diagnostics_.report(diagnostics::InputUnreadable, {}, path, text.error());
      return;
    }
    const std::string name = path == "-" ? "standard input" : path;
    const auto after = format(sources_, sources_.add(name, *text), {}, {}, diagnostics_);
    if (!after) return;
    if (!same_words(*text, *after)) {
      world_.print_error("fault: laying out " + name + " would change its words; it was left as it is\n");
      faulty_ = true;
      return;
    }
    if (path == "-" && !options_.check) world_.print(*after);
    if (*text == *after) return;
    changed_ = true;
    if (options_.check) {
      world_.print(name + ":" + std::to_string(first_difference(*text, *after)) + ": not laid out\n");
    } else if (path != "-") {
      write(path, *after);
    }
  }

  // What a link leads to is written, not the link.
  void write(const std::string& path, const std::string& text) {
    std::error_code error;
    const fs::path place = fs::canonical(path, error);
    const fs::perms mode = fs::status(place, error).permissions();
    const auto written = world_.write_file(place.string(), text);
    if (!written) {
      diagnostics_.report(diagnostics::OutputUnwritable, {}, path, written.error().sentence);
      return;
    }
    fs::permissions(place, mode, error);
    world_.print(path + "\n");
  }

  const World& world_;
  const FormatCommandOptions& options_;
  SourceFiles sources_;
  Diagnostics diagnostics_;
  bool changed_ = false;
  bool faulty_ = false;
};

}  // namespace

ExitCode run_format(const World& world, const FormatCommandOptions& options) {
  return Formatter(world, options).run();
}

}  // namespace cairn
