// cairn windows: the uplink windows of a station, or of the plans of several, listed and drawn.
//
// An antenna points to one station at a time: batches of different plans that need it at once are found here,
// for no plan by itself can know.

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <tuple>

#include "compiler/command/commands.h"
#include "compiler/plan/canonical_json.h"
#include "compiler/plan/read_plan.h"
#include "compiler/text/catalogue.h"

namespace cairn {

namespace {

// A stretch of time of one antenna: a window, or a batch in it.
struct Stretch {
  std::string antenna;
  std::string station;
  std::string load;  // empty: the window itself
  Instant begin;
  Instant end;
};

struct Shown {
  std::vector<Stretch> windows;
  std::vector<Stretch> batches;
};

bool add_plan(const PlanDocument& plan, const std::string& path, const LeapSecondTable& leap_seconds,
              Shown& shown, Diagnostics& diagnostics) {
  for (const PlanWindow& window : plan.windows) {
    const auto add = [&](const std::string& begin, const std::string& end, const std::string& load,
                         std::vector<Stretch>& to) {
      const auto from = parse_utc(begin, leap_seconds);
      const auto until = parse_utc(end, leap_seconds);
      if (!from || !until) return false;
      to.push_back({window.antenna, plan.station, load, *from, *until});
      return true;
    };
    if (!add(window.opens, window.closes, "", shown.windows) ||
        (!window.file.empty() && !add(window.begin, window.end, plan.load, shown.batches))) {
      diagnostics.report(diagnostics::InputPlan, {}, path, "a window's time is no instant")
          .hint("give the plan.json that `cairn build` wrote");
      return false;
    }
  }
  return true;
}

void add_station(const Station& station, Shown& shown) {
  for (std::size_t i = 0; i < station.windows.size(); ++i) {
    const Window& window = station.windows[station.windows.id_at(i)];
    shown.windows.push_back(
        {station.antennas[window.antenna].name, station.name, "", window.opens, window.closes});
  }
}

void sort_stretches(std::vector<Stretch>& stretches) {
  std::stable_sort(stretches.begin(), stretches.end(), [](const Stretch& a, const Stretch& b) {
    return std::tie(a.begin, a.antenna, a.end, a.station) < std::tie(b.begin, b.antenna, b.end, b.station);
  });
}

// Plans share windows; each is shown once.
void join_windows(std::vector<Stretch>& windows) {
  sort_stretches(windows);
  const auto same = [](const Stretch& a, const Stretch& b) {
    return a.antenna == b.antenna && a.begin == b.begin && a.end == b.end;
  };
  std::vector<Stretch> joined;
  for (Stretch& window : windows) {
    if (!joined.empty() && same(joined.back(), window)) {
      if (joined.back().station.find(window.station) == std::string::npos)
        joined.back().station += ", " + window.station;
    } else {
      joined.push_back(std::move(window));
    }
  }
  windows = std::move(joined);
}

void find_overlaps(const std::vector<Stretch>& batches, const LeapSecondTable& leap_seconds,
                   Diagnostics& diagnostics) {
  for (std::size_t i = 0; i < batches.size(); ++i) {
    for (std::size_t k = i + 1; k < batches.size() && batches[k].begin < batches[i].end; ++k) {
      if (batches[k].antenna != batches[i].antenna) continue;
      const auto who = [](const Stretch& batch) { return fmt::format("{} ({})", batch.station, batch.load); };
      diagnostics
          .report(diagnostics::InputAntenna, {}, batches[i].antenna, who(batches[i]), who(batches[k]),
                  format_utc(batches[k].begin, leap_seconds),
                  format_utc(std::min(batches[i].end, batches[k].end), leap_seconds))
          .hint("build one of them again with --uplink-from, for windows that the other leaves free");
    }
  }
}

constexpr std::size_t columns = 96;  // a quarter of an hour each

// One line for each antenna and day, the stretches of `batches` over those of `windows`.
std::string drawing(const Shown& shown, const LeapSecondTable& leap_seconds) {
  std::map<std::pair<std::string, std::string>, std::string> lines;                  // by antenna and day
  std::map<std::tuple<std::string, std::string, std::size_t>, std::string> senders;  // and by column
  const auto draw = [&](const Stretch& stretch, bool sends) {
    for (Instant time = stretch.begin; time < stretch.end;) {
      const UtcDayTime utc = to_utc_day_time(time, leap_seconds);
      constexpr std::int64_t quarter = 900 * nanoseconds_per_second;
      const auto column = std::min(static_cast<std::size_t>(utc.nanoseconds_of_day / quarter), columns - 1);
      const std::string day = format_utc(time, leap_seconds).substr(0, 10);
      std::string& line = lines[{stretch.antenna, day}];
      line.resize(columns, '.');
      char& cell = line[column];
      if (sends) {
        // A cell in which two loads send is marked, whether or not they meet within the quarter; the batches
        // of one load follow one another.
        const std::string who = stretch.station + " " + stretch.load;
        const auto [first, is_new] = senders.try_emplace({stretch.antenna, day, column}, who);
        cell = cell == '2' || (!is_new && first->second != who) ? '2' : '#';
      } else if (cell == '.') {
        cell = '-';
      }
      time = time + Duration{quarter - utc.nanoseconds_of_day % quarter};
    }
  };
  for (const Stretch& window : shown.windows) draw(window, false);
  for (const Stretch& batch : shown.batches) draw(batch, true);
  std::string out = fmt::format("{:<12} {:<10}  ", "antenna", "UTC");
  for (int hour = 0; hour < 24; hour += 3) out += fmt::format("{:<12}", fmt::format("{:02}", hour));
  while (out.ends_with(' ')) out.pop_back();
  out += '\n';
  for (const auto& [key, line] : lines) out += fmt::format("{:<12} {}  {}\n", key.first, key.second, line);
  return out;
}

std::string listing(const Shown& shown, const LeapSecondTable& leap_seconds) {
  std::string out = fmt::format("{:>5}  {:<12} {:<20}  {:<20}  {:>14}  {}\n", "no.", "antenna", "opens (UTC)",
                                "closes", "length", "sends");
  std::size_t number = 0;
  for (const Stretch& window : shown.windows) {
    std::string sends;
    for (const Stretch& batch : shown.batches) {
      if (batch.antenna != window.antenna || batch.begin < window.begin || batch.begin >= window.end)
        continue;
      sends += fmt::format("{}{} to {} from {}", sends.empty() ? "" : "; ", batch.load, batch.station,
                           format_utc(batch.begin, leap_seconds));
    }
    std::string row =
        fmt::format("{:>5}  {:<12} {:<20}  {:<20}  {:>14}  {}", ++number, window.antenna,
                    format_utc(window.begin, leap_seconds), format_utc(window.end, leap_seconds),
                    to_text(window.end - window.begin), sends);
    while (row.ends_with(' ')) row.pop_back();
    out += row + '\n';
  }
  return out;
}

std::string as_json(const Shown& shown, const LeapSecondTable& leap_seconds) {
  const auto rows = [&](const std::vector<Stretch>& stretches) {
    Json::Array list;
    for (const Stretch& stretch : stretches) {
      list.push_back(Json::Object{{"antenna", stretch.antenna},
                                  {"station", stretch.station},
                                  {"load", stretch.load.empty() ? Json() : Json(stretch.load)},
                                  {"begin", format_utc_exact(stretch.begin, leap_seconds)},
                                  {"end", format_utc_exact(stretch.end, leap_seconds)}});
    }
    return list;
  };
  return Json(Json::Object{{"windows", rows(shown.windows)}, {"batches", rows(shown.batches)}}).canonical() +
         "\n";
}

}  // namespace

ExitCode run_windows(const World& world, const WindowsOptions& options) {
  SourceFiles sources;
  Diagnostics diagnostics;
  Shown shown;
  const auto leap_seconds = leap_second_table(world, options.leap_seconds, diagnostics);
  bool good = leap_seconds.has_value();
  if (good && !options.station.empty()) {
    const auto station = find_station_file(world, options.station, sources, *leap_seconds, diagnostics);
    good = station.has_value();
    if (station) add_station(station->station, shown);
  }
  if (good && options.station.empty() && options.plans.empty()) {
    diagnostics.report(diagnostics::InputNoStation, {}, "").hint("name plans, or a station with --station");
    good = false;
  }
  for (const std::string& path : options.plans) {
    if (!good) break;
    const auto text = world.read(path);
    if (!text) {
      diagnostics.report(diagnostics::InputUnreadable, {}, path, text.error());
      good = false;
    } else if (const auto plan = read_plan(*text); !plan) {
      diagnostics.report(diagnostics::InputPlan, {}, path, plan.error())
          .hint("give the plan.json that `cairn build` wrote");
      good = false;
    } else {
      good = add_plan(*plan, path, *leap_seconds, shown, diagnostics);
    }
  }
  ShowOptions show = options.show;
  show.json = false;  // problems go to standard error in any case
  if (!good) {
    show_diagnostics(world, diagnostics, sources, show, "-");
    return ExitCode::WrongInput;
  }
  join_windows(shown.windows);
  sort_stretches(shown.batches);
  find_overlaps(shown.batches, *leap_seconds, diagnostics);
  if (options.show.json) {
    world.print(as_json(shown, *leap_seconds));
  } else {
    world.print(listing(shown, *leap_seconds) + "\n" + drawing(shown, *leap_seconds) +
                "\n- open   # sends   2 more than one sends\n");
  }
  const bool overlaps = diagnostics.has_errors();
  show_diagnostics(world, diagnostics, sources, show, "-");
  return overlaps ? ExitCode::CheckStops : ExitCode::Holds;
}

}  // namespace cairn
