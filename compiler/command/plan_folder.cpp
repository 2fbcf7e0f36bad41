// The folder as values: everything after this works on what was read here, so that nothing can be exchanged
// meanwhile.

#include "compiler/command/plan_folder.h"

#include <chrono>
#include <filesystem>

#include "compiler/pages/pages.h"
#include "compiler/plan/digest.h"
#include "compiler/plan/text_list.h"
#include "compiler/text/catalogue.h"
#include "constraints/quantity/leap_seconds.h"

namespace cairn {

namespace {

namespace fs = std::filesystem;

constexpr std::size_t most_files = 4096;
constexpr int deepest_folder = 16;
constexpr std::size_t most_octets = std::size_t{512} << 20U;

class Walk {
 public:
  Walk(const World& world, fs::path root) : world_(world), root_(std::move(root)) {}

  std::expected<PlanFolder, std::string> all() {
    if (!visit(root_, 0)) return std::unexpected(problem_);
    return std::move(result_);
  }

 private:
  bool visit(const fs::path& folder, int depth) {
    if (depth > deepest_folder) return stop("its folders are nested deeper than 16");
    std::error_code error;
    for (fs::directory_iterator entry(folder, error), end; !error && entry != end; entry.increment(error)) {
      if (++count_ > most_files) return stop("it has more than 4096 files");
      const fs::file_status status = entry->symlink_status(error);
      if (error) break;
      const std::string name = entry->path().lexically_relative(root_).generic_string();
      if (fs::is_directory(status)) {
        if (!visit(entry->path(), depth + 1)) return false;
      } else if (!fs::is_regular_file(status)) {
        result_.refused[name] = fs::is_symlink(status) ? "it is a symbolic link" : "it is no plain file";
      } else if (!file(entry->path(), name)) {
        return false;
      }
    }
    return error ? stop(error.message()) : true;
  }

  bool file(const fs::path& path, const std::string& name) {
    std::error_code error;
    const std::uintmax_t size = fs::file_size(path, error);
    if (error || size > most_octets - octets_) return stop("it has more than 512 MiB");
    auto text = world_.read(path.string());
    if (!text) {
      result_.refused[name] = text.error();
      return true;
    }
    octets_ += text->size();
    if (octets_ > most_octets) return stop("it has more than 512 MiB");
    result_.files[name] = std::move(*text);
    return true;
  }

  bool stop(std::string sentence) {
    problem_ = std::move(sentence);
    return false;
  }

  const World& world_;
  fs::path root_;
  PlanFolder result_;
  std::string problem_;
  std::size_t count_ = 0;
  std::size_t octets_ = 0;
};

}  // namespace

std::expected<PlanFolder, std::string> read_plan_folder(const World& world, const std::string& folder) {
  std::error_code error;
  const fs::path root(folder);
  if (!fs::is_directory(root, error)) return std::unexpected(std::string("it is no folder"));
  return Walk(world, root).all();
}

Views views_of(const std::string& plan_json) {
  const auto plan = read_plan(plan_json);
  if (!plan) return {};
  return {{"list.txt", text_list(*plan) + "\n" + verdict_table(*plan, false)},
          {"report.html", render_page(plan_json)}};
}

std::optional<PolicyFile> read_policy_file(const World& world, const std::string& path, SourceFiles& files,
                                           Diagnostics& diagnostics) {
  const auto text = world.read(path);
  if (!text) {
    diagnostics.report(diagnostics::InputUnreadable, {}, path, text.error());
    return std::nullopt;
  }
  const FileId file = files.add(path, *text);
  auto policy = read_policy(files, file, diagnostics);
  if (!policy) return std::nullopt;
  const std::string signers_path = (fs::path(path).parent_path() / policy->signers).string();
  const auto signers = world.read(signers_path);
  if (!signers) {
    diagnostics.report(diagnostics::InputUnreadable, {}, signers_path, signers.error())
        .hint("it is OpenSSH's file of allowed signers, which the policy names");
    return std::nullopt;
  }
  return PolicyFile{std::move(*policy), sha256(*text), *signers};
}

std::optional<Instant> gate_time(const std::string& given, Diagnostics& diagnostics) {
  const LeapSecondTable& leap_seconds = published_leap_seconds();
  if (!given.empty()) {
    const auto time = parse_utc(given, leap_seconds);
    if (time) return *time;
    diagnostics.report(diagnostics::InputInstant, {}, given).hint("write it as 2031-05-14T06:00:00Z");
    return std::nullopt;
  }
  const auto since_1970 =
      std::chrono::duration_cast<std::chrono::seconds>(std::chrono::system_clock::now().time_since_epoch())
          .count();
  constexpr std::int64_t days_1958_to_1970 = 4383;
  constexpr std::int64_t seconds_per_day = 86'400;
  const UtcDayTime now{since_1970 / seconds_per_day + days_1958_to_1970,
                       since_1970 % seconds_per_day * nanoseconds_per_second};
  return from_utc_day_time(now, leap_seconds).value_or(Instant{});
}

}  // namespace cairn
