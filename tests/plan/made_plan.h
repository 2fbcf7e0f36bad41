// A plan made by the real stages from a small post (post.yaml) and a load given as text.

#pragma once

#include <fstream>
#include <memory>
#include <optional>
#include <sstream>
#include <string>

#include "compiler/plan/assemble.h"
#include "compiler/plan/read_plan.h"
#include "compiler/text/render.h"
#include "tests/place.h"

namespace cairn::test {

inline constexpr const char* day_load = R"(# A day of the Elder post.
routine look() {
  note "the cover <closes> & \"opens\""
  send camera.cover position=open
  bring camera to imaging
}
load "elder-7-day" for elder {
  span 2031-05-14T00:00:00Z to 2031-05-15T00:00:00Z
  note "Follows elder-6-day."
  mark pass = window west-dish 1 opens
  at pass + 2 h as picture {
    do look()
    after 10 min bring camera to standby
    bring camera to standby
    send camera.cover position=closed
  }
  from 2031-05-14T09:00:00Z to 2031-05-14T21:00:00Z every 6 h {
    send probe.sample depth=0.8 m gain=3
  }
  at 2031-05-14T22:00:00Z {
    send release.arm
    send release.free
  }
}
)";

struct MadePlan {
  SourceFiles files;
  Diagnostics diagnostics;
  LoadedStation station;
  SequencedLoad load;
  StartState start;
  std::vector<CarriedEntry> carried;
  Timeline timeline;
  Staging staging;
  CheckResults results;
  std::unique_ptr<Sky> sky;
  std::string text;  // plan.json; empty when the load is wrong
  std::vector<std::string> differences;

  [[nodiscard]] std::string rendered() const { return render_text(diagnostics.all(), files, {}); }
  [[nodiscard]] std::string assemble() const {
    PlanInput input;
    input.load = &load;
    input.station = &station;
    input.files = &files;
    for (std::uint32_t i = 0; i < files.size(); ++i) input.inputs.push_back(FileId{i});
    input.timeline = &timeline;
    input.results = &results;
    input.staging = &staging;
    input.carried = &carried;
    input.sky = sky.get();
    input.leap_seconds = &published_leap_seconds();
    return assemble_plan(input);
  }
};

inline std::expected<std::string, std::string> repository_text(const std::string& path) {
  std::ifstream file(std::string(cairn::test::source_folder()) + "/" + path);
  if (!file) return std::unexpected(std::string("there is no such file"));
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

// Nothing goes up before `uplink_from`; empty: seven days before the load.
inline std::unique_ptr<MadePlan> make_plan(const std::string& load_text = day_load,
                                           const std::string& previous = "",
                                           std::string_view uplink_from = "") {
  auto made = std::make_unique<MadePlan>();
  const LeapSecondTable& leap_seconds = published_leap_seconds();
  auto station =
      load_station("tests/plan/post.yaml", repository_text, made->files, leap_seconds, made->diagnostics);
  if (!station) return made;
  made->station = std::move(*station);
  const Station& model = made->station.station;
  PlanEndState before;
  before.start = initial_state(model);
  if (!previous.empty()) {
    auto read = read_end_state(previous, model, leap_seconds);
    if (!read) return made;
    before = std::move(*read);
  }
  made->start = before.start;
  const FileId file = made->files.add("loads/day.cairn", load_text);
  const GatherResult gathered = gather(made->files, file, repository_text, {}, made->diagnostics);
  auto load = compile_load(gathered.trees, made->files, made->station, made->start, leap_seconds, {},
                           made->diagnostics);
  if (!load || made->diagnostics.has_errors()) return made;
  made->load = std::move(*load);
  for (TimedCommand& command : made->load.commands) {
    command.time = representable_time(model.clock, command.time, leap_seconds);
  }
  const Instant from = uplink_from.empty() ? made->load.begin - seconds_to_duration(7 * 86'400)
                                           : parse_utc(uplink_from, leap_seconds).value();
  for (const CarriedEntry& entry : before.carried) {
    if (entry.time > from) made->carried.push_back(entry);
  }
  made->timeline = predict(model, made->start, made->load.begin, made->load.end, made->load.commands);
  made->sky = sampled_sky(model.site, made->load.begin, made->load.end);
  made->staging = stage({&model, &made->timeline.commands, &made->carried, before.sequence_count,
                         made->load.begin, from, 1.4, &leap_seconds, before.frame_count});
  CheckInput input;
  input.station = &model;
  input.start = &made->start;
  input.timeline = &made->timeline;
  input.sky = made->sky.get();
  input.table_uses = &made->staging.uses;
  made->results = run_checks(input);
  made->differences = translation_check(model, made->timeline.commands, made->staging, leap_seconds);
  made->text = made->assemble();
  return made;
}

}  // namespace cairn::test
