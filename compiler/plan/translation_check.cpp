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

EntryName name_of(const CarriedEntry& entry, bool words) {
  return words ? EntryName{entry.command.value, entry.time} : EntryName{entry.sequence_count, Instant{}};
}

// That these octets ask for this entry, as it was loaded, and for nothing else.
bool is_entry(const DecodedRequest& read, const CarriedEntry& entry, bool words) {
  if (read.kind != RequestKind::Insert || read.command != entry.command || read.time != entry.time ||
      (!words && read.target_sequence_count != entry.sequence_count) ||
      read.arguments.size() != entry.arguments.size()) {
    return false;
  }
  for (std::size_t a = 0; a < entry.arguments.size(); ++a) {
    if (read.arguments[a].raw != entry.arguments[a].raw) return false;
  }
  return true;
}

// A batch that withdraws entries of earlier loads.
void compare_withdrawals(const Station& station, const Staging& staging, const Batch& batch,
                         const Decoded& decoded, std::vector<std::size_t>& times_found,
                         std::vector<std::string>& differences) {
  const bool words = station.link.profile == LinkProfile::Word;
  if (!batch.commands.empty()) differences.emplace_back("a batch both withdraws entries and holds commands");
  if (decoded.requests.size() != batch.withdrawals.size()) {
    differences.push_back(fmt::format("a batch holds {} requests where {} withdrawals were listed",
                                      decoded.requests.size(), batch.withdrawals.size()));
    return;
  }
  for (std::size_t i = 0; i < batch.withdrawals.size(); ++i) {
    const std::uint32_t index = batch.withdrawals[i];
    const StagedWithdrawal& staged = staging.withdrawals[index];
    const DecodedRequest& request = decoded.requests[i];
    const auto differs = [&](std::string_view what) {
      differences.push_back(fmt::format("withdrawal {}: {}", index + 1, what));
    };
    if (request.kind != RequestKind::Delete ||
        (words ? name_by_time(request) : name_by_count(request)) != name_of(staged.entry, words)) {
      differs("the bytes do not withdraw the entry that is listed");
    }
    if (!words && request.sequence_count != staged.sequence_count)
      differs("the bytes hold another sequence count");
    if (request.frame != staged.frame) differs("the bytes hold another frame number");
    if (request.octets != staged.packet) differs("the list shows another packet than the batch");
    if (staged.window != batch.window) differs("the list names another window than the batch");
    ++times_found[index];
  }
}

// The table as it was, whether or not anything of the load has gone up.
void check_backout(const Decoded& backout, const std::multiset<EntryName>& loaded,
                   const std::vector<CarriedEntry>& carried, const Staging& staging, bool words,
                   std::vector<std::string>& differences) {
  std::multiset<EntryName> before;
  for (const CarriedEntry& entry : carried) before.insert(name_of(entry, words));
  std::multiset<EntryName> after_all = before;
  after_all.insert(loaded.begin(), loaded.end());
  for (const StagedWithdrawal& staged : staging.withdrawals) {
    before.insert(name_of(staged.entry, words));
    if (!staged.window.is_valid()) after_all.insert(name_of(staged.entry, words));
  }
  for (std::multiset<EntryName> table : {before, after_all}) {
    for (const DecodedRequest& request : backout.requests) {
      const EntryName name = words ? name_by_time(request) : name_by_count(request);
      const auto found = table.find(name);
      if (request.kind == RequestKind::Insert) table.insert(name);
      if (request.kind == RequestKind::Delete && found != table.end()) table.erase(found);
    }
    if (table != before) {
      differences.emplace_back("the backout does not leave the table as it was");
      return;
    }
  }
  for (const DecodedRequest& request : backout.requests) {
    if (request.kind == RequestKind::Delete) continue;
    const bool known = std::any_of(
        staging.withdrawals.begin(), staging.withdrawals.end(), [&](const StagedWithdrawal& staged) {
          return staged.window.is_valid() && is_entry(request, staged.entry, words);
        });
    if (!known) differences.emplace_back("the backout loads what this load does not withdraw");
  }
}

}  // namespace

std::vector<std::string> translation_check(const Station& station, const std::vector<TimedCommand>& commands,
                                           const Staging& staging, const LeapSecondTable& leap_seconds,
                                           const std::vector<CarriedEntry>& carried) {
  std::vector<std::string> differences;
  const bool words = station.link.profile == LinkProfile::Word;
  std::multiset<EntryName> loaded;
  std::vector<std::size_t> times_found(commands.size(), 0);
  std::vector<std::size_t> withdrawals_found(staging.withdrawals.size(), 0);
  for (const Batch& batch : staging.batches) {
    const Decoded decoded = decode(batch.bytes, station, leap_seconds);
    for (const DecodeProblem& problem : decoded.problems) {
      differences.push_back(fmt::format("a batch, octet {}: {}", problem.offset, problem.message));
    }
    for (const DecodeProblem& correction : decoded.corrections) {
      differences.push_back(fmt::format("a batch, octet {}: {}", correction.offset, correction.message));
    }
    if (!batch.withdrawals.empty()) {
      compare_withdrawals(station, staging, batch, decoded, withdrawals_found, differences);
      continue;
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
  for (std::size_t i = 0; i < withdrawals_found.size(); ++i) {
    const std::size_t expected = staging.withdrawals[i].window.is_valid() ? 1 : 0;
    if (withdrawals_found[i] != expected) {
      differences.push_back(fmt::format("withdrawal {}: it is {} times in the batches, not {}", i + 1,
                                        withdrawals_found[i], expected));
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
  std::multiset<EntryName> expected = loaded;
  for (const StagedWithdrawal& staged : staging.withdrawals) {
    if (staged.window.is_valid()) expected.insert(name_of(staged.entry, words));
  }
  if (withdrawn != expected)
    differences.push_back("the backout does not withdraw exactly what the batches load");
  // The table as it was: what earlier loads left there stays, each entry of it.
  for (const CarriedEntry& entry : carried) {
    if (withdrawn.contains(name_of(entry, words))) {
      differences.push_back(fmt::format("the backout would withdraw an entry of an earlier load too, {}",
                                        full_name(station, entry.command)));
    }
  }
  if (!staging.withdrawals.empty()) check_backout(backout, loaded, carried, staging, words, differences);
  return differences;
}

}  // namespace cairn
