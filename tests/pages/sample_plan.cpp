// Smooth curves stand for what the checks would have computed; the page cannot tell.

#include "tests/pages/sample_plan.h"

#include <fmt/format.h>

#include <cmath>
#include <nlohmann/json.hpp>
#include <numbers>
#include <utility>
#include <vector>

namespace cairn::test {

namespace {

using nlohmann::json;

constexpr int day = 86400;
constexpr int length = 4 * day;
constexpr int sunset = 2 * day + 5 * 3600 + 1234;

// Offsets into the sample's span, which begins on 2031-05-10 at midnight.
std::string utc(int offset) {
  return fmt::format("2031-05-{:02}T{:02}:{:02}:{:02}Z", 10 + offset / day, offset / 3600 % 24,
                     offset / 60 % 60, offset % 60);
}

json list(std::initializer_list<json> items) { return json::array_t(items); }

json place(std::string_view file, int line) { return {{"file", file}, {"line", line}}; }

std::string digest(int seed) {
  std::string hex;
  for (int i = 0; i < 64; ++i) hex += "0123456789abcdef"[(seed * 7 + i * i * 5 + i * 3) % 16];
  return hex;
}

json argument(std::string_view name, std::string_view value, json raw) {
  return {{"name", name}, {"value", value}, {"raw", std::move(raw)}};
}

struct Kind {
  const char* unit;
  const char* name;
  const char* command_class;
  json arguments;
};

const std::vector<Kind>& kinds() {
  static const std::vector<Kind> all{
      {"camera", "standby", "routine", list({})},
      {"camera", "cover", "routine", list({argument("position", "open", 1)})},
      {"camera", "imaging", "routine", list({})},
      {"camera", "expose", "routine", list({argument("exposure", "40 ms", 40), argument("frames", "4", 4)})},
      {"probe", "drill-step", "caution", list({argument("direction", "down", 0)})},
      {"release", "arm", "hazardous", list({})},
      {"release", "fire", "irreversible", list({})},
      {"vane", "turn", "routine", list({argument("axis", "x", 0), argument("by", "180 deg", 1800)})},
      {"keeper", "report-interval", "routine", list({argument("period", "5 min", "300")})},
      {"dust", "shutter", "routine", list({argument("position", "open", 1)})}};
  return all;
}

int command_offset(int index) { return 6 * 3600 + index / 6 * 9 * 3600 + index % 6 * 95; }

json command(int index) {
  const Kind& kind = kinds()[static_cast<std::size_t>(index) % kinds().size()];
  const int offset = command_offset(index);
  const bool lost = index == sample_commands - 1;
  json notes = list({});
  if (index % 6 == 0) notes.push_back("dust is lofted at the terminator; the counter runs through sunset");
  if (index == 3) notes.push_back("no markup: </script><script>alert(1)</script> & <b>bold</b> <!--");
  return {{"number", index + 1},
          {"time", utc(offset)},
          {"offset", offset},
          {"ticks", std::to_string(2568844837000LL + offset * 1000LL)},
          {"unit", kind.unit},
          {"name", kind.name},
          {"command_number", 80 + index % 10},
          {"class", kind.command_class},
          {"arguments", kind.arguments},
          {"block", index % 6 < 4 ? "last-picture" : ""},
          {"source", place("loads/alder-41-evening.cairn", 12 + index % 30)},
          {"calls", index % 5 == 0 ? list({place("routines/park.cairn", 6)}) : list({})},
          {"notes", notes},
          {"by", index % 3 == 0 ? "bring" : "send"},
          {"window", lost ? json() : json(index < 40 ? 1 : 3)},
          {"sent", lost ? json() : json(utc(index < 40 ? 5 * 3600 - 3 : 29 * 3600 - 3))},
          {"aboard", lost ? json() : json(utc(index < 40 ? 5 * 3600 : 29 * 3600))},
          {"sequence_count", 200 + index},
          {"expects", list({})},
          {"entry_bytes", 24},
          {"packet", "1d23c0c80017200b04000b6f1a2b3c4d5e6f01020304aabbccdd"}};
}

json commands() {
  json rows = list({});
  for (int i = 0; i < sample_commands; ++i) rows.push_back(command(i));
  return rows;
}

json window(std::string_view antenna, int number, int opens, int closes, json batch) {
  return {{"name", fmt::format("{} {}", antenna, number)},
          {"antenna", antenna},
          {"opens", utc(opens)},
          {"closes", utc(closes)},
          {"from", opens},
          {"to", closes},
          {"batch", std::move(batch)}};
}

json batch(std::string_view file, int begin, int end, int first, int last) {
  json numbers = list({});
  for (int number = first; number <= last; ++number) numbers.push_back(number);
  return {{"file", file},
          {"begin", utc(begin)},
          {"end", utc(end)},
          {"bytes", (last - first + 1) * 34},
          {"sha256", digest(first)},
          {"commands", numbers}};
}

json windows() {
  const json first = batch("uplink/01-west-dish.bin", 15780, 15900, 1, 40);
  const json second = batch("uplink/02-west-dish.bin", day + 16200, day + 16262, 41, 59);
  json withdrawing = batch("uplink/03-west-dish.bin", day + 73860, day + 73861, 1, 0);
  withdrawing["bytes"] = 25;
  withdrawing["withdrawals"] = list({1});
  return list({window("west-dish", 1, 15480, 22680, first), window("east-dish", 1, 44880, 50580, nullptr),
               window("west-dish", 2, day + 15900, day + 23100, second),
               window("east-dish", 2, day + 45300, day + 51000, nullptr),
               window("west-dish", 3, day + 73500, day + 78300, withdrawing),
               window("west-dish", 4, 2 * day + 16320, 2 * day + 23520, nullptr),
               window("west-dish", 5, 3 * day + 16740, 3 * day + 23940, nullptr)});
}

struct Answer {
  const char* code;
  const char* subject;
  const char* verdict;
  json margin;
  json value;
  json limit;
  const char* unit;
  int offset;
  json cause;
  const char* detail;
};

json check(const Answer& answer) {
  const std::string code = answer.code;
  json guaranteed;
  if (code.starts_with("power") || code.starts_with("heat")) {
    guaranteed = {{"margin", answer.margin.get<double>() - 2.5},
                  {"value", answer.value.get<double>() - 2.5},
                  {"limit", answer.limit},
                  {"time", utc(answer.offset + 60)},
                  {"offset", answer.offset + 60}};
  }
  return {{"code", code},
          {"check", code.substr(0, code.find('/'))},
          {"subject", answer.subject},
          {"verdict", answer.verdict},
          {"assurance", guaranteed.is_null() ? "nominal" : "guaranteed"},
          {"guaranteed", guaranteed},
          {"margin", answer.margin},
          {"value", answer.value},
          {"limit", answer.limit},
          {"unit", answer.unit},
          {"time", utc(answer.offset)},
          {"offset", answer.offset},
          {"interval", list({answer.offset, answer.offset + 600})},
          {"cause", answer.cause},
          {"detail", answer.detail},
          {"limit_source", place("stations/alder.yaml", 20 + answer.offset % 200)},
          {"waiver", nullptr}};
}

json checks() {
  const json none = list({});
  return list(
      {check({"power/reserve", "bus", "holds", 3.2175, 7.2175, 4, "W", 3 * day, none, ""}),
       check({"heat/survival", "electronics survival", "holds", 12.25, 275.4, 263.15, "K", length - 60, none,
              ""}),
       check({"heat/operating", "camera-head operating", "unproven", 0.8, 228.95, 228.15, "K", 2 * day + 600,
              list({15, 16, 17, 21}), "while camera is imaging"}),
       check({"modes/exclusion", "one transmitter at a time", "holds", 5400, 5400, 0, "s", day, none, ""}),
       check({"modes/need", "camera.cover", "fails", nullptr, nullptr, nullptr, "", command_offset(25),
              list({26}), "needs camera is standby or parked, but camera is imaging"}),
       check({"table/entries", "entries", "holds", 104, 40, 144, "", 16000, none, ""}),
       check({"table/late", "dust.shutter", "fails", nullptr, nullptr, nullptr, "", command_offset(59),
              list({60}), "no uplink window can carry it in time"})});
}

json power() {
  json points = list({});
  for (int offset = 0; offset < length; offset += 3600) {
    const double load = 20 + (offset / 3600 % 9 < 2 ? 11.5 : 0) + (offset > sunset ? 6 : 0);
    for (const int end : {offset, offset + 3600}) {
      const double source = 45.2 - end * 1e-7;
      points.push_back(list({end, source, load, source - load / 0.92}));
    }
  }
  json energy = list({});
  for (int number = 1; number <= 4; ++number) {
    energy.push_back({{"unit", "camera"}, {"day", number}, {"wh", 14.2 + number}});
    energy.push_back({{"unit", "probe"}, {"day", number}, {"wh", 21.6}});
    energy.push_back({{"unit", "release"}, {"day", number}, {"wh", 0}});
    energy.push_back({{"unit", "heaters"}, {"day", number}, {"wh", 30.5 * number}});
  }
  json guaranteed = list({});
  for (const json& point : points) {
    guaranteed.push_back(list(
        {point[0], point[1].get<double>() - 1, point[2].get<double>() * 1.05, point[3].get<double>() - 2.5}));
  }
  json charge = list({});
  json least = list({});
  for (int offset = 0; offset <= length; offset += 21600) {
    charge.push_back(list({offset, 50 - offset % 86400 / 7200}));
    least.push_back(list({offset, 45 - offset % 86400 / 7200}));
  }
  return {{"floor", 4},
          {"points", points},
          {"guaranteed", guaranteed},
          {"energy", energy},
          {"storage", {{"capacity", 60}, {"floor", 20}, {"points", charge}, {"guaranteed", least}}},
          {"shed", list({})}};
}

json limit(std::string_view kind, double low, double high, double alert, json while_state) {
  return {{"kind", kind},
          {"low", low + 273.15},
          {"high", high + 273.15},
          {"alert", alert},
          {"while", std::move(while_state)}};
}

json temperature_node(std::string_view name, double day_level, double night_level, double swing,
                      json limits) {
  json points = list({});
  for (int offset = 0; offset <= length; offset += 900) {
    const double cooled = offset < sunset ? 0 : 1 - std::exp(-(offset - sunset) / 50000.0);
    const double wave = swing * std::sin(2 * std::numbers::pi * offset / 32400.0);
    points.push_back(list({offset, 273.15 + day_level + (night_level - day_level) * cooled + wave}));
  }
  json band = list({});
  for (const json& point : points) {
    const double kelvin = point[1].get<double>();
    band.push_back(list({point[0], kelvin - 2 - swing, kelvin + 3 + swing}));
  }
  return {{"name", name}, {"limits", std::move(limits)}, {"points", points}, {"band", band}};
}

json temperatures() {
  json on = list({});
  for (int offset = sunset + 30000; offset + 2000 < length; offset += 5000) {
    on.push_back(list({offset, offset + 2000}));
  }
  const json may_be_on = list({list({sunset + 20000, length})});
  const json electronics =
      list({limit("survival", -30, 60, 5, nullptr), limit("operating", -20, 50, 0, "keeper is normal")});
  const json camera =
      list({limit("survival", -60, 85, 5, nullptr), limit("operating", -45, 70, 0, "camera is imaging")});
  return {{"nodes",
           list({temperature_node("electronics", 24, 2, 1.5, electronics),
                 temperature_node("camera-head", 12, -44, 3, camera),
                 temperature_node("capsule", 205, 190, 0.5, list({limit("survival", 80, 330, 20, nullptr)})),
                 temperature_node("radiator", 8, -60, 2, list({}))})},
          {"heaters", list({{{"name", "electronics"}, {"on", list({})}, {"may_be_on", list({})}, {"duty", 0}},
                            {{"name", "camera"}, {"on", on}, {"may_be_on", may_be_on}, {"duty", 0.14}}})}};
}

json table() {
  json points =
      list({list({0, 0, 0}), list({15800, 20, 480}), list({15900, 40, 960}), list({day + 16230, 45, 1080})});
  for (int i = 10; i < sample_commands; i += 5) {
    const int entries = 45 - i * 3 / 4;
    points.push_back(list({command_offset(i) + 3 * 3600 + day, entries, entries * 24}));
  }
  return {{"entries_cap", 144}, {"bytes_cap", 8192}, {"points", points}};
}

json row(int begin, int end, json state, json moving_to, json cause) {
  return list({begin, end, std::move(state), std::move(moving_to), std::move(cause)});
}

json part(std::string_view name, json rows) { return {{"part", name}, {"rows", std::move(rows)}}; }

json states() {
  const json none;
  return list(
      {part("camera", list({row(0, 21600, "off", none, none), row(21600, 21630, "off", "standby", 1),
                            row(21630, 86400, "standby", none, 1), row(86400, 180000, "imaging", none, 8),
                            row(180000, length, "parked", none, 22)})),
       part("camera.cover", list({row(0, 30000, "closed", none, none), row(30000, 120000, "open", none, 2),
                                  row(120000, length, "closed", none, 14)})),
       part("keeper", list({row(0, length, "normal", none, none)})),
       part("release.latch", list({row(0, 60000, none, none, none), row(60000, length, "armed", none, 6)})),
       part("dust",
            list({row(0, 190000, "standby", none, none), row(190000, 200000, "standby", "counting", 40),
                  row(200000, length, "counting", none, 40)})),
       part("heaters.vane-circuit", list({row(0, length, "enabled", none, none)}))});
}

json sun() {
  json points = list({});
  for (int offset = 0; offset <= length; offset += 3 * 3600) {
    points.push_back(list({offset, (sunset - offset) * 0.000142}));
  }
  return {{"points", points}};
}

json end_state() {
  const json pending = {{"command", "keeper.report"},
                        {"time", utc(length + 3600)},
                        {"bytes", 20},
                        {"sequence_count", 260},
                        {"raw", list({"1", "300"})}};
  return {{"time", utc(length)},
          {"charge", list({180000, 162000})},
          {"parts",
           {{"camera", "parked"}, {"camera.cover", "closed"}, {"release.latch", "armed"}, {"dust", nullptr}}},
          {"temperatures", {{"electronics", 275.4}, {"camera-head", 229.8}}},
          {"temperature_bounds", {{"electronics", list({271, 280})}, {"camera-head", list({227, 233.5})}}},
          {"heaters_on", list({"camera"})},
          {"heaters_unsure", list({"camera"})},
          {"once_spent", list({"release.fire"})},
          {"table", list({pending})},
          {"sequence_count", 261}};
}

json start_state() {
  json start = end_state();
  start["time"] = utc(0);
  for (const char* member : {"table", "sequence_count"}) start.erase(member);
  return start;
}

// One that goes up, one for which it is too late.
json withdrawn() {
  json rows = list({});
  for (const int number : {1, 2}) {
    const bool sent = number == 1;
    rows.push_back({{"number", number},
                    {"entry",
                     {{"command", "keeper.report-interval"},
                      {"time", utc(2 * day + number)},
                      {"bytes", 22},
                      {"sequence_count", 180 + 2 * number},
                      {"raw", list({"300"})}}},
                    {"source", place("loads/alder-41-evening.cairn", 8 + number)},
                    {"window", sent ? json(5) : json()},
                    {"sent", sent ? json(utc(day + 73860)) : json()},
                    {"received", sent ? json(utc(day + 73863)) : json()},
                    {"sequence_count", sent ? 400 : 0},
                    {"frame", nullptr},
                    {"packet", sent ? "1d23c0c80011200b0500010001012300c8e0c1" : ""}});
  }
  return rows;
}

json inputs() {
  json rows = list({});
  for (const char* name : {"loads/alder-41-evening.cairn", "routines/park.cairn", "stations/alder.yaml"}) {
    const int seed = static_cast<int>(rows.size());
    rows.push_back({{"name", name}, {"bytes", 1200 + 9000 * seed}, {"sha256", digest(seed)}});
  }
  return rows;
}

json mark(std::string_view name, int offset, int line) {
  return {{"name", name}, {"time", utc(offset)}, {"source", place("loads/alder-41-evening.cairn", line)}};
}

json load() {
  return {{"name", "alder-41-evening"},
          {"station", "alder"},
          {"title", "Alder post, Tarn Ridge"},
          {"address", 11},
          {"begin", utc(0)},
          {"end", utc(length)},
          {"previous_plan", digest(40)},
          {"notes", list({"Replaces alder-40-noon; agreed at the weekly station meeting."})}};
}

}  // namespace

std::string sample_plan() {
  json plan;
  plan["format"] = "cairn-plan";
  plan["version"] = 1;
  plan["tool"] = "cairn 0.1.0";
  plan["load"] = load();
  plan["cautions"] = list({"A clean check is no permission to transmit: the operating authority gives that.",
                           "Radio transmission follows the local licence."});
  plan["inputs"] = inputs();
  plan["leap_seconds"] = {{"expires", "2026-12-28T00:00:00Z"}, {"assumed_after_expiry", true}};
  plan["verdict"] = "fails";
  plan["waivers"] = list({});
  plan["marks"] = list({mark("sunset", sunset, 11), mark("pass", day + 15900, 12)});
  plan["nothing_sent"] = list({{{"unit", "tilt"},
                                {"state", "measuring"},
                                {"time", utc(day)},
                                {"source", place("routines/probe.cairn", 18)}}});
  plan["commands"] = commands();
  plan["carried"] = list({{{"command", "keeper.report-interval"},
                           {"time", utc(1800)},
                           {"bytes", 22},
                           {"sequence_count", 180},
                           {"raw", list({"300"})}}});
  plan["withdrawn"] = withdrawn();
  plan["windows"] = windows();
  plan["backout"] = {{"file", "uplink/backout.bin"}, {"bytes", 1320}, {"sha256", digest(9)}};
  plan["checks"] = checks();
  plan["power"] = power();
  plan["temperatures"] = temperatures();
  plan["table"] = table();
  plan["states"] = states();
  plan["sun"] = sun();
  plan["start_state"] = start_state();
  plan["end_state"] = end_state();
  return plan.dump();
}

}  // namespace cairn::test
