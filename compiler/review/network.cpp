// Conflicts by a sweep over each antenna's transmissions; text and JSON of the whole.

#include "compiler/review/network.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

#include "compiler/plan/read_json.h"
#include "compiler/review/json_view.h"
#include "constraints/quantity/leap_seconds.h"

namespace cairn {

namespace {

// ISO instants with unlike numbers of decimals do not sort as text: `Z` stands after the digits.
Instant instant_of(const std::string& utc) {
  return parse_utc(utc, published_leap_seconds()).value_or(Instant{});
}

struct Use {
  Instant begin;
  Instant end;
  std::size_t load = 0;
  const Transmission* transmission = nullptr;
};

int rank(std::string_view verdict) { return verdict == "fails" ? 2 : verdict == "unproven" ? 1 : 0; }

// The check to look at first: the worst verdict; among equals the least share of its limit that is left.
std::string least_check(const JsonView& checks) {
  std::string name;
  std::tuple<int, double> worst{-1, 0};
  checks.each([&](const JsonView& check) {
    const auto margin = check.at("margin").number_or_null();
    const auto limit = check.at("limit").number_or_null();
    const int word = rank(check.at("verdict").text());
    if (!margin && word == 0) return;
    const double share =
        margin.value_or(0) / std::max(1e-9, std::abs(limit.value_or(1)) + std::abs(margin.value_or(0)));
    if (std::tuple(word, -share) <= worst) return;
    worst = {word, -share};
    name = check.at("code").text() + " " + check.at("subject").text();
  });
  return name;
}

Json load_json(const NetworkLoad& load) {
  Json::Array transmissions;
  for (const Transmission& row : load.transmissions) {
    transmissions.emplace_back(Json::Object{
        {"antenna", row.antenna}, {"window", row.window}, {"begin", row.begin}, {"end", row.end}});
  }
  Json::Array inputs;
  for (const ReviewedInput& input : load.inputs) {
    inputs.emplace_back(Json::Object{{"name", input.name}, {"sha256", input.sha256}});
  }
  return Json::Object{{"file", load.file},
                      {"load", load.name},
                      {"station", load.station},
                      {"begin", load.begin},
                      {"end", load.end},
                      {"verdict", load.verdict},
                      {"commands", load.commands},
                      {"least", load.least},
                      {"problem", load.problem},
                      {"transmissions", std::move(transmissions)},
                      {"inputs", std::move(inputs)}};
}

}  // namespace

std::expected<NetworkLoad, std::string> network_load(std::string file, std::string_view plan_json) {
  const auto parsed = read_json(plan_json);
  if (!parsed) return std::unexpected(parsed.error());
  std::string error;
  const JsonView whole(*parsed, "", error);
  NetworkLoad load;
  load.file = std::move(file);
  const JsonView head = whole.at("load");
  load.name = head.at("name").text();
  load.station = head.at("station").text();
  load.begin = head.at("begin").text();
  load.end = head.at("end").text();
  load.verdict = whole.at("verdict").text();
  whole.at("commands").each([&](const JsonView&) { ++load.commands; });
  load.least = least_check(whole.at("checks"));
  whole.at("windows").each([&](const JsonView& window) {
    const JsonView batch = window.at("batch");
    if (batch.is_null()) return;
    load.transmissions.push_back({window.at("antenna").text(), window.at("opens").text(),
                                  batch.at("begin").text(), batch.at("end").text()});
  });
  whole.at("inputs").each([&](const JsonView& input) {
    load.inputs.push_back({input.at("name").text(), input.at("sha256").text()});
  });
  if (!error.empty()) return std::unexpected(error);
  return load;
}

std::vector<AntennaConflict> antenna_conflicts(const std::vector<NetworkLoad>& loads) {
  std::map<std::string, std::vector<Use>> antennas;
  for (std::size_t i = 0; i < loads.size(); ++i) {
    for (const Transmission& row : loads[i].transmissions) {
      antennas[row.antenna].push_back({instant_of(row.begin), instant_of(row.end), i, &row});
    }
  }
  std::vector<AntennaConflict> conflicts;
  for (auto& [antenna, uses] : antennas) {
    std::sort(uses.begin(), uses.end(), [](const Use& a, const Use& b) {
      return std::tuple(a.begin, a.load, a.end) < std::tuple(b.begin, b.load, b.end);
    });
    std::vector<Use> open;
    for (const Use& use : uses) {
      std::erase_if(open, [&](const Use& other) { return other.end <= use.begin; });
      for (const Use& other : open) {
        if (other.load == use.load) continue;
        const Use& first_over = other.end < use.end ? other : use;
        conflicts.push_back({std::min(other.load, use.load), std::max(other.load, use.load), antenna,
                             use.transmission->begin, first_over.transmission->end});
      }
      open.push_back(use);
    }
  }
  return conflicts;
}

std::vector<std::pair<std::size_t, std::size_t>> overlapping_spans(const std::vector<NetworkLoad>& loads) {
  std::vector<std::pair<std::size_t, std::size_t>> pairs;
  for (std::size_t i = 0; i < loads.size(); ++i) {
    for (std::size_t j = i + 1; j < loads.size(); ++j) {
      const NetworkLoad& a = loads[i];
      const NetworkLoad& b = loads[j];
      if (a.name.empty() || b.name.empty() || a.station != b.station) continue;
      if (instant_of(a.begin) < instant_of(b.end) && instant_of(b.begin) < instant_of(a.end))
        pairs.emplace_back(i, j);
    }
  }
  return pairs;
}

std::string network_text(const std::vector<NetworkLoad>& loads, bool colour) {
  std::size_t file_width = 4;
  std::size_t station_width = 7;
  for (const NetworkLoad& load : loads) {
    file_width = std::max(file_width, load.file.size());
    station_width = std::max(station_width, load.station.size());
  }
  std::string out = fmt::format("{:<8}  {:<{}}  {:<{}}  {:>8}  {:>7}  {}\n", "verdict", "load", file_width,
                                "station", station_width, "commands", "batches", "look first at");
  for (const NetworkLoad& load : loads) {
    const std::string word = fmt::format("{:<8}", load.name.empty() ? "error" : load.verdict);
    const bool good = load.verdict == "holds";
    out += fmt::format("{}  {:<{}}  {:<{}}  {:>8}  {:>7}  {}\n",
                       colour ? fmt::format("\x1b[{}m{}\x1b[0m", good ? "32" : "1;31", word) : word,
                       load.file, file_width, load.station, station_width, load.commands,
                       load.transmissions.size(), load.name.empty() ? load.problem : load.least);
  }
  for (const AntennaConflict& conflict : antenna_conflicts(loads)) {
    out += fmt::format("\nconflict: `{}` and `{}` both transmit over {} from {} to {}\n",
                       loads[conflict.first].file, loads[conflict.second].file, conflict.antenna,
                       conflict.begin, conflict.end);
  }
  for (const auto& [first, second] : overlapping_spans(loads)) {
    out += fmt::format(
        "\noverlap: the spans of `{}` and `{}`, both for {}, overlap: one follows the other only with "
        "--after\n",
        loads[first].file, loads[second].file, loads[first].station);
  }
  return out;
}

std::string network_json(const std::vector<NetworkLoad>& loads) {
  Json::Array rows;
  for (const NetworkLoad& load : loads) rows.push_back(load_json(load));
  Json::Array conflicts;
  for (const AntennaConflict& conflict : antenna_conflicts(loads)) {
    conflicts.emplace_back(
        Json::Object{{"antenna", conflict.antenna},
                     {"files", Json::Array{loads[conflict.first].file, loads[conflict.second].file}},
                     {"begin", conflict.begin},
                     {"end", conflict.end}});
  }
  Json::Array overlaps;
  for (const auto& [first, second] : overlapping_spans(loads)) {
    overlaps.emplace_back(Json::Array{loads[first].file, loads[second].file});
  }
  return Json(Json::Object{{"loads", std::move(rows)},
                           {"conflicts", std::move(conflicts)},
                           {"overlaps", std::move(overlaps)}})
      .canonical();
}

std::string network_cache(const std::vector<NetworkLoad>& loads, std::string_view key) {
  Json::Array rows;
  for (const NetworkLoad& load : loads) {
    if (!load.name.empty()) rows.push_back(load_json(load));
  }
  return Json(Json::Object{{"format", "cairn-check-cache"}, {"key", key}, {"loads", std::move(rows)}})
      .canonical();
}

std::vector<NetworkLoad> read_network_cache(std::string_view json, std::string_view key) {
  const auto parsed = read_json(json);
  if (!parsed) return {};
  std::string error;
  const JsonView whole(*parsed, "", error);
  if (whole.at("format").text() != "cairn-check-cache" || whole.at("key").text() != key) return {};
  std::vector<NetworkLoad> loads;
  whole.at("loads").each([&](const JsonView& row) {
    NetworkLoad load;
    load.file = row.at("file").text();
    load.name = row.at("load").text();
    load.station = row.at("station").text();
    load.begin = row.at("begin").text();
    load.end = row.at("end").text();
    load.verdict = row.at("verdict").text();
    load.commands = row.at("commands").count();
    load.least = row.at("least").text();
    row.at("transmissions").each([&](const JsonView& one) {
      load.transmissions.push_back(
          {one.at("antenna").text(), one.at("window").text(), one.at("begin").text(), one.at("end").text()});
    });
    row.at("inputs").each([&](const JsonView& one) {
      load.inputs.push_back({one.at("name").text(), one.at("sha256").text()});
    });
    loads.push_back(std::move(load));
  });
  if (!error.empty()) loads.clear();
  return loads;
}

}  // namespace cairn
