// Which window carries which command: in order of execution, as early as table and windows allow.
//
// Windows are filled in time order, the command that runs first going up first (earliest deadline first,
// which finds a staging whenever one exists for commands of equal size). A command waits while the table is
// full or its time tag would lie too far ahead. Where waiting would cost it its last window it goes up all
// the same, and the table check reports the overflow; a command that no window can carry in time gets none.

#include <algorithm>
#include <map>

#include "compiler/uplink/batch.h"
#include "compiler/uplink/packet.h"
#include "compiler/uplink/transmission.h"
#include "compiler/uplink/word.h"

namespace cairn {

namespace {

struct Usable {
  WindowId window;
  Instant from;
  Instant to;
};

std::vector<Usable> usable_windows(const StagingInput& input) {
  const CommandLink& link = input.station->link;
  std::vector<Usable> result;
  if (!(link.rate > 0)) return result;  // no bit ever arrives
  const Table<WindowId, Window>& windows = input.station->windows;
  for (std::size_t i = 0; i < windows.size(); ++i) {
    const Window& window = windows[windows.id_at(i)];
    const Instant from = std::max(window.opens + link.set_up + link.margin, input.earliest_uplink);
    const Instant to = window.closes - link.margin;
    if (from < to) result.push_back({windows.id_at(i), from, to});
  }
  std::stable_sort(result.begin(), result.end(),
                   [](const Usable& a, const Usable& b) { return a.from < b.from; });
  return result;
}

// What lies in the table, by the time at which it runs and is freed.
class Occupancy {
 public:
  explicit Occupancy(const CommandTable& table) : table_(&table) {}

  void add(Instant runs, std::uint32_t bytes) {
    Slot& slot = slots_[runs];
    slot.entries += 1;
    slot.bytes += bytes;
    entries_ += 1;
    bytes_ += bytes;
  }
  void free_until(Instant now) {
    while (!slots_.empty() && slots_.begin()->first <= now) {
      entries_ -= slots_.begin()->second.entries;
      bytes_ -= slots_.begin()->second.bytes;
      slots_.erase(slots_.begin());
    }
  }
  // The first instant from which one more entry of this size fits; the earliest there is when it fits
  // already.
  [[nodiscard]] std::optional<Instant> fits_from(std::uint32_t bytes) const {
    std::uint64_t entries = entries_ + 1;
    std::uint64_t size = bytes_ + bytes;
    std::optional<Instant> from = Instant{};
    for (auto slot = slots_.begin(); entries > table_->entries || (table_->bytes > 0 && size > table_->bytes);
         ++slot) {
      if (slot == slots_.end()) return std::nullopt;
      entries -= slot->second.entries;
      size -= slot->second.bytes;
      from = slot->first;
    }
    return from;
  }

 private:
  struct Slot {
    std::uint64_t entries = 0;
    std::uint64_t bytes = 0;
  };
  const CommandTable* table_;
  std::map<Instant, Slot> slots_;
  std::uint64_t entries_ = 0;
  std::uint64_t bytes_ = 0;
};

class Stager {
 public:
  explicit Stager(const StagingInput& input)
      : input_(input),
        windows_(usable_windows(input)),
        occupancy_(input.station->table),
        light_(duration_from_seconds(input.light_time).value_or(Duration{})) {}

  Staging run() {
    const std::vector<TimedCommand>& commands = *input_.commands;
    for (const CarriedEntry& entry : *input_.carried) {
      occupancy_.add(entry.time, entry.bytes);
      staging_.uses.push_back({{}, input_.earliest_uplink, entry.time, entry.bytes});
    }
    for (std::uint32_t i = 0; i < commands.size(); ++i) {
      StagedCommand staged;
      staged.command = TimedCommandId{i};
      const RequestSize size = load_size(*input_.station, input_.station->commands[commands[i].command]);
      staged.entry_bytes = size.entry;
      sizes_.push_back(size.on_air);
      staging_.commands.push_back(std::move(staged));
    }
    for (std::size_t w = 0; w < windows_.size() && next_ < commands.size(); ++w) fill(w);
    encode();
    for (const StagedCommand& staged : staging_.commands) {
      const std::optional<Instant> aboard =
          staged.window.is_valid() ? std::optional(staged.aboard) : std::nullopt;
      staging_.uses.push_back(
          {staged.command, aboard, commands[staged.command.value].time, staged.entry_bytes});
    }
    return std::move(staging_);
  }

 private:
  [[nodiscard]] Duration air_time(std::size_t octets) const {
    const double seconds = static_cast<double>(octets) * 8 / input_.station->link.rate;
    return duration_from_seconds(seconds).value_or(Duration{}) + Duration{1};  // rounded up
  }

  // Whether a window after `w` could still carry a command of this length in time.
  [[nodiscard]] bool has_later_window(std::size_t w, Instant runs, Duration length) const {
    const Instant latest = runs - input_.station->table.load_guard - light_ - length;
    return std::any_of(windows_.begin() + static_cast<std::ptrdiff_t>(w) + 1, windows_.end(),
                       [&](const Usable& later) {
                         const Instant from = std::max(later.from, link_free_);
                         return from <= latest && from + length <= later.to;
                       });
  }

  void fill(std::size_t w) {
    const CommandTable& table = input_.station->table;
    while (next_ < staging_.commands.size()) {
      StagedCommand& staged = staging_.commands[next_];
      const Instant runs = (*input_.commands)[next_].time;
      const Duration length = air_time(sizes_[next_]);
      // Windows of two antennas may overlap; the station still hears one packet at a time.
      Instant wanted = std::max(windows_[w].from, link_free_);
      if (table.horizon.nanoseconds > 0) wanted = std::max(wanted, runs - table.horizon - light_ - length);
      const Instant latest = std::min(runs - table.load_guard - light_ - length, windows_[w].to - length);
      const bool can_wait = has_later_window(w, runs, length);
      if (wanted > latest) {
        if (can_wait) return;  // those that run later wait too, so that the order stays
        ++next_;               // no window can bring it in time; it must not keep back the others
        continue;
      }
      occupancy_.free_until(wanted + length + light_);
      const std::optional<Instant> room = occupancy_.fits_from(staged.entry_bytes);
      if (room && *room - light_ - length <= latest) {
        wanted = std::max(wanted, *room - light_ - length);
      } else if (can_wait) {
        return;
      }
      occupancy_.free_until(wanted + length + light_);
      staged.window = windows_[w].window;
      staged.transmit_begin = wanted;
      staged.transmit_end = wanted + length;
      staged.aboard = staged.transmit_end + light_;
      occupancy_.add(runs, staged.entry_bytes);
      if (staging_.batches.empty() || staging_.batches.back().window != staged.window) {
        staging_.batches.push_back({staged.window, wanted, staged.transmit_end, {}, {}});
      }
      staging_.batches.back().commands.push_back(staged.command);
      staging_.batches.back().end = staged.transmit_end;
      link_free_ = staged.transmit_end + input_.station->link.gap;
      ++next_;
    }
  }

  // Where frames are shared, commands that would go up one right after another go up together instead, when
  // the last of them ends: the table never holds more for it, and the window is no longer in use.
  std::size_t share_frame(const Batch& batch, std::size_t from) {
    const CommandLink& link = input_.station->link;
    const auto staged = [&](std::size_t i) -> StagedCommand& {
      return staging_.commands[batch.commands[i].value];
    };
    const auto request = [&](std::size_t i) {
      return load_size(*input_.station,
                       input_.station->commands[(*input_.commands)[batch.commands[i].value].command])
          .request;
    };
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
    const Instant begin =
        end == from + 1 ? last.transmit_begin : last.transmit_end - air_time(octets_on_air(link, octets));
    for (std::size_t i = from; i < end; ++i) {
      staged(i).transmit_begin = begin;
      staged(i).transmit_end = last.transmit_end;
      staged(i).aboard = last.aboard;
    }
    return end;
  }

  // Sequence counts follow the order of transmission, modulo 16384: request, then the insert that carries it.
  // Words carry none; there the count only names the request.
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
      std::vector<const TimedCommand*> commands;
      for (const TimedCommandId id : batch.commands) commands.push_back(&(*input_.commands)[id.value]);
      std::vector<std::size_t> group_ends;
      for (std::size_t from = 0; from < commands.size(); from = group_ends.back()) {
        group_ends.push_back(share_frame(batch, from));
      }
      encode_batch_fast({&station, input_.leap_seconds, commands, group_ends, count, frame}, encoded);
      std::size_t group = 0;
      std::size_t begin = 0;
      for (std::size_t i = 0; i < commands.size(); ++i) {
        if (i == group_ends[group]) ++group;
        StagedCommand& staged = staging_.commands[batch.commands[i].value];
        staged.sequence_count = take();
        take();  // of the packet that inserts it
        if (numbered) staged.frame = encoded.frames[group];
        staged.packet.assign(encoded.requests.begin() + static_cast<std::ptrdiff_t>(begin),
                             encoded.requests.begin() + static_cast<std::ptrdiff_t>(encoded.request_ends[i]));
        begin = encoded.request_ends[i];
        sent.push_back(batch.commands[i]);
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
    staging_.next_sequence_count = static_cast<std::uint16_t>(count);
  }

  const StagingInput& input_;
  std::vector<Usable> windows_;
  Occupancy occupancy_;
  Duration light_;
  std::vector<std::size_t> sizes_;
  std::size_t next_ = 0;
  Instant link_free_;  // a gap after the last packet given a place
  Staging staging_;
};

}  // namespace

Staging stage(const StagingInput& input) { return Stager(input).run(); }

}  // namespace cairn
