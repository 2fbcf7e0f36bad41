// cairn decode: bytes back to commands.

#include <fmt/format.h>

#include "compiler/command/commands.h"
#include "compiler/plan/canonical_json.h"
#include "compiler/text/catalogue.h"
#include "compiler/uplink/decoder/decoder.h"

namespace cairn {

namespace {

std::string call_of(const Station& station, const DecodedRequest& request) {
  std::string out = full_name(station, request.command);
  const std::vector<ArgumentDefinition>& definitions = station.commands[request.command].arguments;
  for (std::size_t i = 0; i < definitions.size(); ++i) {
    out += fmt::format(" {}={}", definitions[i].name, show_argument(definitions[i], request.arguments[i]));
  }
  return out;
}

std::string_view request_word(RequestKind kind) {
  switch (kind) {
    case RequestKind::Insert:
      return "insert";
    case RequestKind::Delete:
      return "delete";
    case RequestKind::Execute:
      return "execute";
  }
  return {};
}

Json as_json(const Station& station, const LeapSecondTable& leap_seconds, const std::string& file,
             const DecodedRequest& request) {
  Json::Object row{{"file", file},
                   {"offset", request.offset},
                   {"bytes", request.size},
                   {"frame", request.frame ? Json(static_cast<int>(*request.frame)) : Json()},
                   {"sequence_count", static_cast<int>(request.sequence_count)},
                   {"target_sequence_count", static_cast<int>(request.target_sequence_count)},
                   {"request", std::string(request_word(request.kind))}};
  if (request.command.is_valid()) {
    const CommandDefinition& definition = station.commands[request.command];
    // An immediate one has no time of its own.
    if (request.kind != RequestKind::Execute) row["time"] = format_utc_exact(request.time, leap_seconds);
    row["command"] = full_name(station, request.command);
    row["command_number"] = static_cast<int>(definition.number);
    Json::Array arguments;
    for (std::size_t i = 0; i < request.arguments.size(); ++i) {
      arguments.push_back(
          Json::Object{{"name", definition.arguments[i].name},
                       {"value", show_argument(definition.arguments[i], request.arguments[i])},
                       {"raw", std::to_string(request.arguments[i].raw)}});
    }
    row["arguments"] = std::move(arguments);
  }
  return row;
}

}  // namespace

ExitCode run_decode(const World& world, const DecodeOptions& options) {
  SourceFiles sources;
  Diagnostics diagnostics;
  const auto leap_seconds = leap_second_table(world, options.leap_seconds, diagnostics);
  std::optional<LoadedStation> station;
  if (leap_seconds) station = find_station_file(world, options.station, sources, *leap_seconds, diagnostics);
  if (!station) {
    show_diagnostics(world, diagnostics, sources, options.show, "-");
    return ExitCode::WrongInput;
  }
  Json::Array rows;
  std::size_t number = 0;
  for (const std::string& file : options.files) {
    const auto text = world.read(file);
    if (!text) {
      diagnostics.report(diagnostics::InputUnreadable, {}, file, text.error());
      continue;
    }
    const auto* octets = reinterpret_cast<const std::uint8_t*>(text->data());
    const Decoded decoded = decode({octets, text->size()}, station->station, *leap_seconds);
    for (const DecodeProblem& problem : decoded.problems) {
      diagnostics.report(diagnostics::InputBytes, {}, file, std::to_string(problem.offset), problem.message);
    }
    for (const DecodeProblem& correction : decoded.corrections) {
      diagnostics.report(diagnostics::InputCorrected, {}, file, std::to_string(correction.offset),
                         correction.message);
    }
    const bool words = station->station.link.profile == LinkProfile::Word;
    for (const DecodedRequest& request : decoded.requests) {
      ++number;
      if (options.show.json) {
        rows.push_back(as_json(station->station, *leap_seconds, file, request));
      } else if (request.kind == RequestKind::Insert) {
        world.print(fmt::format(
            "{:>5}  {:<30}  {:>5}  {}\n", number, format_utc_exact(request.time, *leap_seconds),
            station->station.commands[request.command].number, call_of(station->station, request)));
      } else if (request.kind == RequestKind::Execute) {
        world.print(fmt::format("{:>5}  {:<30}  {:>5}  {}\n", number, "when it is received",
                                station->station.commands[request.command].number,
                                call_of(station->station, request)));
      } else if (words) {
        world.print(fmt::format("{:>5}  withdraws {} of {}\n", number,
                                full_name(station->station, request.command),
                                format_utc_exact(request.time, *leap_seconds)));
      } else {
        world.print(fmt::format("{:>5}  withdraws the request of sequence count {}\n", number,
                                request.target_sequence_count));
      }
    }
  }
  if (options.show.json) world.print(Json(std::move(rows)).canonical() + "\n");
  ShowOptions show = options.show;
  show.json = false;  // problems go to standard error in any case
  show_diagnostics(world, diagnostics, sources, show, "-");
  return diagnostics.has_errors() ? ExitCode::WrongInput : ExitCode::Holds;
}

}  // namespace cairn
