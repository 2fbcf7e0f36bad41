// Stage after stage; each hands its value to the next.

#include "compiler/command/pipeline.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <map>

#include "compiler/command/findings.h"
#include "compiler/command/stated_checks.h"
#include "compiler/command/withdraw.h"
#include "compiler/plan/digest.h"
#include "compiler/plan/read_plan.h"
#include "compiler/text/catalogue.h"

namespace cairn {

namespace {

namespace fs = std::filesystem;

std::string relative_name(const fs::path& folder, const std::string& path) {
  std::error_code error;
  const fs::path inside =
      fs::weakly_canonical(path, error).lexically_relative(fs::weakly_canonical(folder, error));
  if (error || inside.empty() || *inside.begin() == "..") return fs::path(path).filename().string();
  return inside.generic_string();
}

std::vector<std::string> known_stations(const fs::path& folder) {
  std::vector<std::string> names;
  std::error_code error;
  for (const auto& entry : fs::directory_iterator(folder / "stations", error)) {
    if (entry.path().extension() == ".yaml") names.push_back(entry.path().stem().string());
  }
  std::sort(names.begin(), names.end());
  return names;
}

std::string joined(const std::vector<std::string>& words) {
  std::string out;
  for (const std::string& word : words) out += (out.empty() ? "" : ", ") + word;
  return out;
}

// Where the load begins: the station's initial state, or the previous plan's end.
struct Beginning {
  PlanEndState state;
  std::string plan_digest;
  std::string state_digest;  // of a state from reports that stands for the plan's end
  std::string plan;          // the text of what --after names; empty: nothing
};

std::optional<Beginning> beginning(const World& world, const CompileOptions& options, const Station& station,
                                   const LeapSecondTable& leap_seconds, Diagnostics& diagnostics) {
  Beginning result;
  if (options.after.empty()) {
    result.state.start = initial_state(station);
    return result;
  }
  const auto text = world.read(options.after);
  if (!text) {
    diagnostics.report(diagnostics::InputUnreadable, {}, options.after, text.error());
    return std::nullopt;
  }
  auto state = read_end_state(*text, station, leap_seconds);
  if (!state) {
    diagnostics.report(diagnostics::InputPlan, {}, options.after, state.error())
        .hint("give the plan.json of the load before this one, made for the same station");
    return std::nullopt;
  }
  result.state = std::move(*state);
  const std::string digest = sha256(*text);
  const bool is_reported = !result.state.plan_sha256.empty();
  result.plan_digest = is_reported ? result.state.plan_sha256 : digest;
  if (is_reported) result.state_digest = digest;
  result.plan = *text;
  return result;
}

// What the load withdraws, if it does, and in which state it then begins: in `state`. nullopt when an error
// was reported.
std::optional<Withdrawn> withdraw_entries(const std::vector<Tree>& trees, const SourceFiles& files,
                                          const LoadedStation& station, const std::string& path,
                                          Beginning& begin, const LeapSecondTable& leap_seconds,
                                          Diagnostics& diagnostics) {
  // Mistakes in these statements are reported where the load is sequenced.
  Diagnostics found;
  const std::vector<Withdrawal> withdrawals = find_withdrawals(trees, files, station, leap_seconds, found);
  if (withdrawals.empty() || found.has_errors()) return Withdrawn{};
  if (path.empty()) {
    for (const Withdrawal& one : withdrawals) {
      diagnostics.report(diagnostics::WithdrawNoPlan, one.source, full_name(station.station, one.command))
          .hint("name the plan of the load that left it in the table: --after PLAN");
    }
    return std::nullopt;
  }
  if (!begin.state_digest.empty()) {
    for (const Withdrawal& one : withdrawals) {
      diagnostics
          .report(diagnostics::WithdrawReported, one.source, full_name(station.station, one.command), path)
          .hint(
              "what comes of a load without one of its commands is known from its plan alone: name that, or "
              "leave "
              "the entry and command what makes up for it");
    }
    return std::nullopt;
  }
  auto result =
      withdraw({&withdrawals, &station, &begin.state, path, begin.plan, &leap_seconds}, diagnostics);
  if (!result) return std::nullopt;
  begin.state.start = result->start;
  std::erase_if(begin.state.carried, [&](const CarriedEntry& entry) {
    return std::any_of(result->entries.begin(), result->entries.end(), [&](const CarriedEntry& one) {
      return one.command == entry.command && one.time == entry.time &&
             one.sequence_count == entry.sequence_count;
    });
  });
  return result;
}

// Whether the load begins where the plan before it ends; what is not known there is said.
bool follows(const std::string& path, const PlanEndState& before, const SequencedLoad& load,
             const LeapSecondTable& leap_seconds, Diagnostics& diagnostics) {
  const std::string end = format_utc_exact(before.time, leap_seconds);
  for (const std::string& gap : before.gaps)
    diagnostics.report(diagnostics::InputPlanGap, load.name_span, path, gap);
  if (load.begin < before.time) {
    diagnostics
        .report(diagnostics::InputOverlap, load.name_span, format_utc_exact(load.begin, leap_seconds), path,
                end)
        .hint(fmt::format("begin its span at {} or later", end));
    return false;
  }
  if (load.begin > before.time) {
    diagnostics.report(diagnostics::InputPause, load.name_span, to_text(load.begin - before.time), path)
        .hint(fmt::format("begin its span at {}, or see that its temperatures hold until then", end));
  }
  return true;
}

std::optional<LoadedStation> load_station_for(const World& world, const CompileOptions& options,
                                              const fs::path& folder, const Word& name, SourceFiles& files,
                                              const LeapSecondTable& leap_seconds, Diagnostics& diagnostics) {
  if (!options.station.empty()) {
    return find_station_file(world, options.station, files, leap_seconds, diagnostics);
  }
  const std::string path = fmt::format("stations/{}.yaml", name.text);
  std::error_code error;
  if (!fs::exists(folder / path, error)) {
    const std::vector<std::string> known = known_stations(folder);
    auto report = diagnostics.report(diagnostics::InputNoStation, name.span, std::string(name.text));
    if (known.empty()) {
      report.hint(
          fmt::format("put it at `{}` beside or above the load, or name it with --station FILE", path));
    } else {
      report.hint("there are: " + joined(known));
    }
    return std::nullopt;
  }
  return load_station(path, reader_in(world, folder.string()), files, leap_seconds, diagnostics);
}

// Commands of one block bear one number.
std::vector<std::uint32_t> blocks_of(const SequencedLoad& load) {
  std::map<std::string_view, std::uint32_t> numbers;
  std::vector<std::uint32_t> blocks;
  for (const Provenance& from : load.provenance) {
    const auto next = static_cast<std::uint32_t>(numbers.size());
    blocks.push_back(numbers.emplace(from.block, next).first->second);
  }
  return blocks;
}

}  // namespace

ReadText reader_in(const World& world, const std::string& folder) {
  return [&world, folder](const std::string& path) -> std::expected<std::string, std::string> {
    std::error_code error;
    const fs::path root = fs::weakly_canonical(folder, error);
    const fs::path whole = fs::weakly_canonical(root / path, error);
    const fs::path inside = whole.lexically_relative(root);
    if (error || inside.empty() || *inside.begin() == "..") {
      return std::unexpected(std::string("it lies outside the project folder"));
    }
    return world.read(whole.string());
  };
}

std::string project_folder(const std::string& load) {
  std::error_code error;
  fs::path folder = load == "-" ? fs::current_path(error) : fs::weakly_canonical(load, error).parent_path();
  if (folder.empty()) folder = fs::current_path(error);
  const fs::path own = folder;
  for (;; folder = folder.parent_path()) {
    if (fs::is_directory(folder / "stations", error)) return folder.string();
    if (folder == folder.parent_path()) return own.string();
  }
}

std::optional<LeapSecondTable> leap_second_table(const World& world, const std::string& path,
                                                 Diagnostics& diagnostics) {
  if (path.empty()) return published_leap_seconds();
  const auto text = world.read(path);
  if (!text) {
    diagnostics.report(diagnostics::InputUnreadable, {}, path, text.error());
    return std::nullopt;
  }
  auto table = parse_leap_seconds(*text);
  if (!table) {
    diagnostics.report(diagnostics::InputLeapSeconds, {}, path, table.error())
        .hint("a table in the published form of leap-seconds.list is needed");
    return std::nullopt;
  }
  return std::move(*table);
}

std::optional<LoadedStation> find_station_file(const World& world, const std::string& name_or_path,
                                               SourceFiles& files, const LeapSecondTable& leap_seconds,
                                               Diagnostics& diagnostics) {
  std::error_code error;
  const bool is_path = name_or_path.find('/') != std::string::npos || name_or_path.ends_with(".yaml");
  fs::path path = name_or_path;
  if (!is_path) {
    fs::path folder = project_folder("-");
    if (!fs::exists(folder / "stations", error) && fs::exists(folder / "examples" / "stations", error))
      folder /= "examples";
    path = folder / "stations" / (name_or_path + ".yaml");
  }
  if (!fs::exists(path, error)) {
    diagnostics.report(diagnostics::InputNoStation, {}, name_or_path)
        .hint("give the path of its file, or its name in a project that has stations/NAME.yaml");
    return std::nullopt;
  }
  const fs::path folder = project_folder(path.string());
  return load_station(relative_name(folder, path.string()), reader_in(world, folder.string()), files,
                      leap_seconds, diagnostics);
}

void check_load(Compiled& result, const PlanEndState& before, const std::vector<CarriedEntry>& carried,
                Instant uplink_from, const Sky& sky, const LeapSecondTable& leap_seconds,
                Diagnostics& diagnostics, const Surroundings* surroundings) {
  const Station& model = result.station.station;
  // What is sent is what is checked: times are those that the station's time code can say.
  for (TimedCommand& command : result.load.commands) {
    command.time = representable_time(model.clock, command.time, leap_seconds);
  }
  result.timeline = predict(model, before.start, result.load.begin, result.load.end, result.load.commands);
  const double light = greatest_light_time(sky, result.load.begin, result.load.end);
  StagingInput staging{&model,
                       &result.timeline.commands,
                       &carried,
                       before.sequence_count,
                       result.load.begin,
                       uplink_from,
                       light,
                       &leap_seconds,
                       before.frame_count};
  const std::vector<std::uint32_t> blocks = blocks_of(result.load);
  staging.blocks = &blocks;
  staging.withdrawn = &result.withdrawn;
  result.staging = stage(staging);
  result.conflict = find_conflict(staging);
  CheckInput input;
  input.station = &model;
  input.start = &before.start;
  input.timeline = &result.timeline;
  input.sky = &sky;
  input.heat.surroundings = surroundings;
  input.heat.trace_tolerance = 0.002;  // K; the plan keeps its courses within 5 mK
  input.table_uses = &result.staging.uses;
  std::vector<NamedInstant> marks;
  for (const ResolvedMark& mark : result.load.marks) marks.push_back({mark.name, mark.time});
  input.carried = &carried;
  input.marks = &marks;
  for (const Batch& batch : result.staging.batches) {
    input.last_uplink = std::max(input.last_uplink.value_or(batch.end), batch.end);
  }
  result.results = run_checks(input);
  result.results.findings.insert(result.results.findings.end(), result.without.begin(), result.without.end());
  check_rules(result, input);
  apply_waivers(result, leap_seconds, diagnostics);
}

void check_stated(Compiled& result, const PlanEndState& before, const Sky& sky,
                  const LeapSecondTable& leap_seconds, Diagnostics& diagnostics) {
  std::vector<Finding>& findings = result.results.findings;
  findings.erase(findings.begin() + static_cast<std::ptrdiff_t>(result.first_rule), findings.end());
  for (Finding& finding : findings) finding.waiver = 0;
  result.waiver_notes.clear();
  CheckInput input;
  input.station = &result.station.station;
  input.start = &before.start;
  input.timeline = &result.timeline;
  input.sky = &sky;
  check_rules(result, input);
  apply_waivers(result, leap_seconds, diagnostics);
}

std::optional<Compiled> compile(const World& world, const CompileOptions& options, SourceFiles& files,
                                Diagnostics& diagnostics) {
  const auto leap_seconds = leap_second_table(world, options.leap_seconds, diagnostics);
  if (!leap_seconds) return std::nullopt;
  const auto text = world.read(options.load);
  if (!text) {
    diagnostics.report(diagnostics::InputUnreadable, {}, options.load, text.error());
    return std::nullopt;
  }
  const fs::path folder = project_folder(options.load);
  const std::string name = options.load == "-" ? "standard input" : relative_name(folder, options.load);
  const FileId load_file = files.add(name, *text);
  GatherResult gathered = gather(files, load_file, reader_in(world, folder.string()), {}, diagnostics);
  const std::optional<Word> station_name = station_of(gathered.trees.front(), diagnostics);
  if (!station_name) return std::nullopt;
  std::optional<LoadedStation> station =
      load_station_for(world, options, folder, *station_name, files, *leap_seconds, diagnostics);
  if (!station) return std::nullopt;
  auto begin_state = beginning(world, options, station->station, *leap_seconds, diagnostics);
  if (!begin_state) return std::nullopt;
  auto withdrawn = withdraw_entries(gathered.trees, files, *station, options.after, *begin_state,
                                    *leap_seconds, diagnostics);
  if (!withdrawn) return std::nullopt;
  std::optional<SequencedLoad> load =
      compile_load(gathered.trees, files, *station, begin_state->state.start, *leap_seconds, {}, diagnostics);
  if (!load || diagnostics.has_errors()) return std::nullopt;

  if (!options.after.empty() &&
      !follows(options.after, begin_state->state, *load, *leap_seconds, diagnostics)) {
    return std::nullopt;
  }

  Instant uplink_from = load->begin - seconds_to_duration(std::int64_t{7} * 86'400);
  if (!options.uplink_from.empty()) {
    const auto given = parse_utc(options.uplink_from, *leap_seconds);
    if (!given) {
      diagnostics.report(diagnostics::InputInstant, {}, options.uplink_from)
          .hint("write it as 2031-05-14T06:00:00Z");
      return std::nullopt;
    }
    uplink_from = *given;
  }

  if (begin_state->state.uplink_end) {
    uplink_from = std::max(uplink_from, *begin_state->state.uplink_end + station->station.link.gap);
  }

  Compiled result;
  result.station = std::move(*station);
  result.load = std::move(*load);
  result.withdrawn = std::move(withdrawn->entries);
  result.without = std::move(withdrawn->findings);
  std::vector<CarriedEntry> carried = begin_state->state.carried;
  std::erase_if(carried, [&](const CarriedEntry& entry) { return entry.time <= uplink_from; });
  const auto sky = site_sky(result.station.station.site, result.load.begin, result.load.end);
  check_load(result, begin_state->state, carried, uplink_from, *sky, *leap_seconds, diagnostics);
  result.translation = translation_check(result.station.station, result.timeline.commands, result.staging,
                                         *leap_seconds, carried);

  PlanInput plan;
  plan.load = &result.load;
  plan.station = &result.station;
  plan.files = &files;
  plan.inputs = gathered.files;
  plan.inputs.insert(plan.inputs.end(), result.station.files.begin(), result.station.files.end());
  plan.timeline = &result.timeline;
  plan.results = &result.results;
  plan.staging = &result.staging;
  plan.carried = &carried;
  plan.sky = sky.get();
  plan.leap_seconds = &*leap_seconds;
  plan.previous_digest = begin_state->plan_digest;
  plan.previous_state = begin_state->state_digest;
  result.plan = assemble_plan(plan);
  report_findings(result, *leap_seconds, diagnostics);
  return result;
}

}  // namespace cairn
