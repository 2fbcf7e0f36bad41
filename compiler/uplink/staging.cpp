// Which window carries which command, and the octets that do it.

#include <algorithm>
#include <optional>

#include "compiler/uplink/batch.h"
#include "compiler/uplink/packet.h"
#include "compiler/uplink/placing.h"
#include "compiler/uplink/transmission.h"
#include "compiler/uplink/word.h"

namespace cairn {

namespace {

class Stager {
 public:
  explicit Stager(const StagingInput& input) : input_(input) {}

  Staging run(const Placing& placing) {
    const std::vector<TimedCommand>& commands = *input_.commands;
    for (const CarriedEntry& entry : *input_.carried) {
      staging_.uses.push_back({{}, input_.earliest_uplink, entry.time, entry.bytes, entry.command});
    }
    for (std::uint32_t i = 0; i < commands.size(); ++i) {
      const PlacedCommand& placed = placing.commands[i];
      StagedCommand staged;
      staged.command = TimedCommandId{i};
      staged.entry_bytes = placed.size.entry;
      if (placed.slot != no_window) {
        staged.window = placing.windows[placed.slot].window;
        staged.transmit_begin = placed.begin;
        staged.transmit_end = placed.end;
        staged.aboard = placed.aboard;
      }
      sizes_.push_back(placed.size.request);
      staging_.commands.push_back(std::move(staged));
    }
    place_withdrawals(placing);
    auto withdrawal = to_withdraw_.begin();
    for (const std::uint32_t index : placing.order) {
      const StagedCommand& staged = staging_.commands[index];
      for (; withdrawal != to_withdraw_.end() &&
             staging_.withdrawals[*withdrawal].transmit_begin < staged.transmit_begin;
           ++withdrawal) {
        add_withdrawal(*withdrawal);
      }
      const bool immediate = commands[index].immediate;
      if (staging_.batches.empty() || staging_.batches.back().window != staged.window || immediate ||
          staging_.batches.back().immediate || !staging_.batches.back().withdrawals.empty()) {
        staging_.batches.push_back(
            {staged.window, staged.transmit_begin, staged.transmit_end, {}, {}, immediate});
      }
      staging_.batches.back().commands.push_back(staged.command);
      staging_.batches.back().end = staged.transmit_end;
    }
    for (; withdrawal != to_withdraw_.end(); ++withdrawal) add_withdrawal(*withdrawal);
    encode();
    for (const StagedCommand& staged : staging_.commands) {
      const std::optional<Instant> aboard =
          staged.window.is_valid() ? std::optional(staged.aboard) : std::nullopt;
      const TimedCommand& command = commands[staged.command.value];
      staging_.uses.push_back({staged.command,
                               aboard,
                               command.time,
                               staged.entry_bytes,
                               {},
                               command.immediate,
                               placing.commands[staged.command.value].contact});
    }
    for (const StagedWithdrawal& staged : staging_.withdrawals) {
      TableUse use{{}, input_.earliest_uplink, staged.entry.time, staged.entry.bytes, staged.entry.command};
      use.to_withdraw = true;
      if (staged.window.is_valid()) use.withdrawn = staged.received;
      staging_.uses.push_back(use);
    }
    return std::move(staging_);
  }

 private:
  void place_withdrawals(const Placing& placing) {
    for (std::uint32_t i = 0; i < placing.withdrawals.size(); ++i) {
      const PlacedWithdrawal& placed = placing.withdrawals[i];
      StagedWithdrawal staged;
      staged.entry = (*input_.withdrawn)[i];
      if (placed.slot != no_window) {
        staged.window = placing.windows[placed.slot].window;
        staged.transmit_begin = placed.begin;
        staged.transmit_end = placed.end;
        staged.received = placed.received;
        to_withdraw_.push_back(i);
      }
      staging_.withdrawals.push_back(std::move(staged));
    }
    std::sort(to_withdraw_.begin(), to_withdraw_.end(), [&](std::uint32_t a, std::uint32_t b) {
      return staging_.withdrawals[a].transmit_begin < staging_.withdrawals[b].transmit_begin;
    });
  }

  void add_withdrawal(std::uint32_t index) {
    const StagedWithdrawal& staged = staging_.withdrawals[index];
    if (staging_.batches.empty() || staging_.batches.back().window != staged.window ||
        staging_.batches.back().withdrawals.empty()) {
      Batch batch;
      batch.window = staged.window;
      batch.begin = staged.transmit_begin;
      staging_.batches.push_back(std::move(batch));
    }
    staging_.batches.back().withdrawals.push_back(index);
    staging_.batches.back().end = staged.transmit_end;
  }

  static TimedCommand command_of(const CarriedEntry& entry) {
    return {entry.time, entry.command, entry.arguments};
  }

  // `count`: of the request that withdraws it.
  [[nodiscard]] Bytes withdrawal_of(const CarriedEntry& entry, std::uint16_t count) const {
    const Station& station = *input_.station;
    return station.link.profile == LinkProfile::Word
               ? withdraw_words(station, command_of(entry), *input_.leap_seconds)
               : delete_packet(station, entry.sequence_count, count);
  }

  // As it was loaded: its own packet bears the count by which it is known. `count`: of the one around it.
  [[nodiscard]] Bytes entry_again(const CarriedEntry& entry, std::uint16_t count) const {
    const Station& station = *input_.station;
    const TimedCommand command = command_of(entry);
    if (station.link.profile == LinkProfile::Word) return load_words(station, command, *input_.leap_seconds);
    return insert_packet(station, entry.time, request_packet(station, command, entry.sequence_count), count,
                         *input_.leap_seconds);
  }

  void encode_withdrawals(Batch& batch, std::uint16_t& count, std::uint8_t& frame) {
    constexpr std::uint16_t modulus = 16384;
    const CommandLink& link = input_.station->link;
    const bool numbered = has_numbered_frames(link);
    for (const std::uint32_t index : batch.withdrawals) {
      StagedWithdrawal& staged = staging_.withdrawals[index];
      staged.sequence_count = count;
      if (numbered) staged.frame = frame;
      staged.packet = withdrawal_of(staged.entry, count);
      append_on_air(link, numbered ? FrameType::InSequence : FrameType::Bypass, staged.packet, frame,
                    batch.bytes);
      count = static_cast<std::uint16_t>((count + 1U) % modulus);
    }
  }

  // Where frames are shared, commands that would go up one right after another go up together instead, when
  // the last of them ends: the table never holds more for it, and the window is no longer in use.
  std::size_t share_frame(const Batch& batch, std::size_t from) {
    const CommandLink& link = input_.station->link;
    const auto staged = [&](std::size_t i) -> StagedCommand& {
      return staging_.commands[batch.commands[i].value];
    };
    const auto request = [&](std::size_t i) { return sizes_[batch.commands[i].value]; };
    std::size_t end = from + 1;
    if (!link.frames || !link.frames->blocking) return end;
    std::size_t octets = request(from);
    Instant latest = (*input_.commands)[batch.commands[from].value].time - input_.station->table.load_guard;
    while (end < batch.commands.size()) {
      const Instant runs = (*input_.commands)[batch.commands[end].value].time;
      const bool follows = staged(end).transmit_begin == staged(end - 1).transmit_end + link.gap;
      if (!follows || staged(end).aboard > latest || octets + request(end) > frame_room(*link.frames)) break;
      octets += request(end);
      latest = std::min(latest, runs - input_.station->table.load_guard);
      ++end;
    }
    const StagedCommand last = staged(end - 1);
    const Instant begin = end == from + 1
                              ? last.transmit_begin
                              : last.transmit_end - air_time(*input_.station, octets_on_air(link, octets));
    for (std::size_t i = from; i < end; ++i) {
      staged(i).transmit_begin = begin;
      staged(i).transmit_end = last.transmit_end;
      staged(i).aboard = last.aboard;
    }
    return end;
  }

  // Sequence counts follow the order of transmission, modulo 16384: request, then the insert that carries it
  // where it is stored. Words carry none; there the count only names the request.
  void encode() {
    constexpr std::uint32_t modulus = 16384;
    const Station& station = *input_.station;
    const CommandLink& link = station.link;
    const bool words = link.profile == LinkProfile::Word;
    std::uint32_t count = input_.first_sequence_count;
    const auto take = [&count] {
      const auto taken = static_cast<std::uint16_t>(count);
      count = (count + 1) % modulus;
      return taken;
    };
    const bool numbered = has_numbered_frames(link);
    std::uint8_t frame = input_.first_frame_count;
    std::vector<TimedCommandId> sent;
    EncodedBatch encoded;
    for (Batch& batch : staging_.batches) {
      if (!batch.withdrawals.empty()) {
        auto next = static_cast<std::uint16_t>(count);
        encode_withdrawals(batch, next, frame);
        count = next;
        continue;
      }
      std::vector<const TimedCommand*> commands;
      for (const TimedCommandId id : batch.commands) commands.push_back(&(*input_.commands)[id.value]);
      std::vector<std::size_t> group_ends;
      if (batch.immediate) {
        group_ends.push_back(1);
        encode_immediate(station, *commands.front(), static_cast<std::uint16_t>(count), frame,
                         *input_.leap_seconds, encoded);
      } else {
        for (std::size_t from = 0; from < commands.size(); from = group_ends.back()) {
          group_ends.push_back(share_frame(batch, from));
        }
        encode_batch_fast({&station, input_.leap_seconds, commands, group_ends, count, frame}, encoded);
      }
      std::size_t group = 0;
      std::size_t begin = 0;
      for (std::size_t i = 0; i < commands.size(); ++i) {
        if (i == group_ends[group]) ++group;
        StagedCommand& staged = staging_.commands[batch.commands[i].value];
        staged.sequence_count = take();
        if (!batch.immediate) take();  // of the packet that inserts it
        if (numbered) staged.frame = encoded.frames[group];
        staged.packet.assign(encoded.requests.begin() + static_cast<std::ptrdiff_t>(begin),
                             encoded.requests.begin() + static_cast<std::ptrdiff_t>(encoded.request_ends[i]));
        begin = encoded.request_ends[i];
        if (!batch.immediate) sent.push_back(batch.commands[i]);
      }
      frame = encoded.next_frame_count;
      batch.bytes = encoded.on_air;
      batch.begin = staging_.commands[batch.commands.front().value].transmit_begin;
    }
    staging_.next_frame_count = frame;
    // The backout has counts of its own after these. They stay reserved whether or not it is sent, so that no
    // two packets of consecutive loads share a count. Its frames bypass the numbering, for the next load
    // follows this one whether or not it is sent.
    for (const TimedCommandId id : sent) {
      const std::uint16_t own = take();
      const Bytes request = words
                                ? withdraw_words(station, (*input_.commands)[id.value], *input_.leap_seconds)
                                : delete_packet(station, staging_.commands[id.value].sequence_count, own);
      append_on_air(link, FrameType::Bypass, request, frame, staging_.backout);
    }
    // An entry that is still there goes first: put back on top of it, it would run twice.
    for (const std::uint32_t index : to_withdraw_) {
      const CarriedEntry& entry = staging_.withdrawals[index].entry;
      append_on_air(link, FrameType::Bypass, withdrawal_of(entry, take()), frame, staging_.backout);
      append_on_air(link, FrameType::Bypass, entry_again(entry, take()), frame, staging_.backout);
    }
    staging_.next_sequence_count = static_cast<std::uint16_t>(count);
  }

  const StagingInput& input_;
  std::vector<std::size_t> sizes_;          // octets of each request
  std::vector<std::uint32_t> to_withdraw_;  // those that go up, in order of transmission
  Staging staging_;
};

// As the question with windows as wholes has them: what is settled is no part of it.
std::vector<std::size_t> slots_of(const StagingInput& input, const Placing& placing) {
  std::vector<std::size_t> slots;
  for (std::size_t i = 0; i < placing.commands.size(); ++i) {
    slots.push_back((*input.commands)[i].immediate ? no_window : placing.commands[i].slot);
  }
  return slots;
}

// Each goes up in its first window: there is no other way that spends as few.
bool all_first(const AssignProblem& problem, const std::vector<std::size_t>& slots) {
  for (std::size_t i = 0; i < slots.size(); ++i) {
    const AssignItem& item = problem.items[i];
    if (item.first <= item.last && slots[i] != item.first) return false;
  }
  return true;
}

}  // namespace

Staging stage(const StagingInput& input) {
  Placing placing = place(input);
  // Order and earliest windows settle what matters most. What is left, splits of blocks and ties, is searched
  // for where the load is not too great.
  constexpr std::size_t most_searched = 1'000;
  constexpr std::size_t most_pairs = 500'000;
  const std::size_t pairs = input.commands->size() * placing.windows.size();
  if (input.blocks != nullptr && input.commands->size() <= most_searched && pairs <= most_pairs) {
    constexpr std::size_t steps = 50'000;
    const AssignProblem problem = problem_of(input, placing);
    const std::vector<std::size_t> slots = slots_of(input, placing);
    if (!all_first(problem, slots)) {
      const Assignment better = assign_better(problem, slots, steps);
      const AssignCost before = cost_of(problem, slots);
      if (better.cost < before) {
        Placing other = place(input, &better.windows);
        // Windows as wholes leave something out: what comes true counts.
        const bool no_worse = other.left <= placing.left && (fits(input, other) || !fits(input, placing));
        if (no_worse && cost_of(problem, slots_of(input, other)) < before) placing = std::move(other);
      }
    }
  }
  return Stager(input).run(placing);
}

}  // namespace cairn
