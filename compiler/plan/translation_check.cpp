// What is sent is what was checked: the emitted bytes, decoded again, must equal the numbered list.

#include <fmt/format.h>

#include <algorithm>
#include <set>
#include <utility>

#include "compiler/plan/assemble.h"
#include "compiler/uplink/decoder/decoder.h"

namespace cairn {

namespace {

void compare(const Station& station, const TimedCommand& command, const DecodedRequest& read,
             std::size_t number, std::vector<std::string>& differences) {
  const CommandDefinition& definition = station.commands[command.command];
  const RequestKind kind = command.immediate ? RequestKind::Execute : RequestKind::Insert;
  if (read.kind != kind) {
    differences.push_back(
        fmt::format("command {}: the bytes {}", number,
                    command.immediate ? "store it instead of having it run at once" : "do not store it"));
    return;
  }
  if (read.command != command.command) {
    differences.push_back(fmt::format("command {}: the bytes hold another command than {}", number,
                                      full_name(station, command.command)));
    return;
  }
  if (!command.immediate && read.time != command.time) {
    differences.push_back(fmt::format("command {}: the bytes hold another execution time, {} apart", number,
                                      to_text(read.time - command.time)));
  }
  for (std::size_t a = 0; a < definition.arguments.size(); ++a) {
    if (read.arguments[a].raw != command.arguments[a].raw) {
      differences.push_back(fmt::format("command {}: the bytes hold another value of `{}`", number,
                                        definition.arguments[a].name));
    }
  }
}

// By what an entry of the table is withdrawn: the count of its packet, or command number and time.
using EntryName = std::pair<std::uint32_t, Instant>;
EntryName name_by_count(const DecodedRequest& request) { return {request.target_sequence_count, Instant{}}; }
EntryName name_by_time(const DecodedRequest& request) { return {request.command.value, request.time}; }

}  // namespace

std::vector<std::string> translation_check(const Station& station, const std::vector<TimedCommand>& commands,
                                           const Staging& staging, const LeapSecondTable& leap_seconds,
                                           const std::vector<CarriedEntry>& carried) {
  std::vector<std::string> differences;
  const bool words = station.link.profile == LinkProfile::Word;
  std::multiset<EntryName> loaded;
  std::vector<std::size_t> times_found(commands.size(), 0);
  for (const Batch& batch : staging.batches) {
    const Decoded decoded = decode(batch.bytes, station, leap_seconds);
    for (const DecodeProblem& problem : decoded.problems) {
      differences.push_back(fmt::format("a batch, octet {}: {}", problem.offset, problem.message));
    }
    for (const DecodeProblem& correction : decoded.corrections) {
      differences.push_back(fmt::format("a batch, octet {}: {}", correction.offset, correction.message));
    }
    if (decoded.requests.size() != batch.commands.size()) {
      differences.push_back(fmt::format("a batch holds {} requests where {} commands were listed",
                                        decoded.requests.size(), batch.commands.size()));
      continue;
    }
    for (std::size_t i = 0; i < batch.commands.size(); ++i) {
      const TimedCommandId id = batch.commands[i];
      const DecodedRequest& request = decoded.requests[i];
      const StagedCommand& staged = staging.commands[id.value];
      compare(station, commands[id.value], request, std::size_t{id.value} + 1, differences);
      if (commands[id.value].immediate && staged.aboard != commands[id.value].time) {
        differences.push_back(fmt::format(
            "command {}: it would be received, and run, at another time than listed", id.value + 1));
      }
      if (!words && request.target_sequence_count != staged.sequence_count) {
        differences.push_back(fmt::format("command {}: the bytes hold another sequence count", id.value + 1));
      }
      if (request.frame != staged.frame) {
        differences.push_back(fmt::format("command {}: the bytes hold another frame number", id.value + 1));
      }
      if (request.octets != staged.packet) {
        differences.push_back(
            fmt::format("command {}: the list shows another packet than the batch", id.value + 1));
      }
      if (staged.window != batch.window) {
        differences.push_back(
            fmt::format("command {}: the list names another window than the batch", id.value + 1));
      }
      if (request.kind == RequestKind::Insert)
        loaded.insert(words ? name_by_time(request) : name_by_count(request));
      ++times_found[id.value];
    }
  }
  for (std::size_t i = 0; i < commands.size(); ++i) {
    const std::size_t expected = staging.commands[i].window.is_valid() ? 1 : 0;
    if (times_found[i] != expected) {
      differences.push_back(
          fmt::format("command {}: it is {} times in the batches, not {}", i + 1, times_found[i], expected));
    }
  }
  const Decoded backout = decode(staging.backout, station, leap_seconds);
  for (const DecodeProblem& problem : backout.problems) {
    differences.push_back(fmt::format("the backout, octet {}: {}", problem.offset, problem.message));
  }
  for (const DecodeProblem& correction : backout.corrections) {
    differences.push_back(fmt::format("the backout, octet {}: {}", correction.offset, correction.message));
  }
  std::multiset<EntryName> withdrawn;
  for (const DecodedRequest& request : backout.requests) {
    if (request.kind == RequestKind::Delete)
      withdrawn.insert(words ? name_by_time(request) : name_by_count(request));
  }
  if (withdrawn != loaded)
    differences.push_back("the backout does not withdraw exactly what the batches load");
  // The table as it was: what earlier loads left there stays, each entry of it.
  for (const CarriedEntry& entry : carried) {
    const EntryName name =
        words ? EntryName{entry.command.value, entry.time} : EntryName{entry.sequence_count, Instant{}};
    if (withdrawn.contains(name)) {
      differences.push_back(fmt::format("the backout would withdraw an entry of an earlier load too, {}",
                                        full_name(station, entry.command)));
    }
  }
  return differences;
}

}  // namespace cairn
