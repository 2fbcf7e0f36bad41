// Windows are filled in time order, the command that runs first going up first (earliest deadline first,
// which finds a staging whenever one exists for commands of equal size). A command waits while the table is
// full or its time tag would lie too far ahead. Where waiting would cost it its last window it goes up all
// the same, and the table check reports the overflow; a command that no window can carry in time gets none.
// Immediate commands come first: when each goes up is settled, and all others keep out of their way. Then
// comes what withdraws entries, as early as can be: it makes room in the table, and its entries run before
// this load.

#include "compiler/uplink/placing.h"

#include <algorithm>
#include <map>
#include <numeric>
#include <optional>

namespace cairn {

namespace {

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

// When the link is taken by immediate commands and withdrawals.
class TakenTimes {
 public:
  // None meets another.
  void add(Instant begin, Instant end) {
    const auto after = std::partition_point(taken_.begin(), taken_.end(),
                                            [&](const Stretch& one) { return one.begin < begin; });
    taken_.insert(after, {begin, end});
  }
  // From which on so long a transmission, a gap away from all others, is possible.
  [[nodiscard]] Instant free_from(Instant wanted, Duration length, Duration gap) const {
    if (taken_.empty()) return wanted;
    auto next = std::partition_point(taken_.begin(), taken_.end(),
                                     [&](const Stretch& one) { return one.end + gap <= wanted; });
    for (; next != taken_.end() && next->begin < wanted + length + gap; ++next) {
      wanted = std::max(wanted, next->end + gap);
    }
    return wanted;
  }

 private:
  struct Stretch {
    Instant begin;
    Instant end;
  };
  std::vector<Stretch> taken_;
};

class Placer {
 public:
  Placer(const StagingInput& input, const std::vector<std::size_t>* wanted)
      : input_(input),
        wanted_(wanted),
        windows_(usable_windows(input)),
        occupancy_(input.station->table),
        light_(duration_from_seconds(input.light_time).value_or(Duration{})) {}

  Placing run() {
    const std::vector<TimedCommand>& commands = *input_.commands;
    for (const CarriedEntry& entry : *input_.carried) occupancy_.add(entry.time, entry.bytes);
    // The size hangs on the command alone.
    std::vector<std::optional<RequestSize>> sizes(input_.station->commands.size());
    placing_.commands.resize(commands.size());
    for (std::size_t i = 0; i < commands.size(); ++i) {
      if (commands[i].immediate) {
        placing_.commands[i].size =
            immediate_size(*input_.station, input_.station->commands[commands[i].command]);
        immediate_.push_back(i);
        continue;
      }
      std::optional<RequestSize>& size = sizes[commands[i].command.value];
      if (!size) size = load_size(*input_.station, input_.station->commands[commands[i].command]);
      placing_.commands[i].size = *size;
      order_.push_back(i);
    }
    place_immediate();
    if (input_.withdrawn != nullptr) place_withdrawals(*input_.withdrawn);
    if (wanted_ != nullptr) {
      std::stable_sort(order_.begin(), order_.end(),
                       [&](std::size_t a, std::size_t b) { return (*wanted_)[a] < (*wanted_)[b]; });
    }
    for (std::size_t w = 0; w < windows_.size() && next_ < order_.size(); ++w) fill(w);
    placing_.left = order_.size() - placing_.order.size();
    join_immediate();
    find_peaks();
    placing_.windows = std::move(windows_);
    return std::move(placing_);
  }

 private:
  // Each goes up so that its last bit arrives when it is to run.
  void place_immediate() {
    const Duration gap = input_.station->link.gap;
    std::size_t before = no_window;  // the one that went up before
    for (const std::size_t i : immediate_) {
      PlacedCommand& placed = placing_.commands[i];
      const Duration length = air_time(*input_.station, placed.size.on_air);
      placed.aboard = (*input_.commands)[i].time;
      placed.end = placed.aboard - light_;
      placed.begin = placed.end - length;
      std::size_t best = no_window;
      for (std::size_t w = 0; w < windows_.size() && windows_[w].from <= placed.end; ++w) {
        const Duration room = std::min(placed.begin - windows_[w].from, windows_[w].to - placed.end);
        if (windows_[w].to < placed.begin || (placed.contact && room <= *placed.contact)) continue;
        placed.contact = room;
        best = w;
      }
      if (placed.contact && before != no_window) {
        placed.contact = std::min(*placed.contact, placed.begin - (placing_.commands[before].end + gap));
      }
      if (!placed.contact || placed.contact->nanoseconds < 0) continue;
      placed.slot = best;
      before = i;
      taken_.add(placed.begin, placed.end);
    }
  }

  // The entry that runs first goes first. One that no window can carry in time stays in the table.
  void place_withdrawals(const std::vector<CarriedEntry>& entries) {
    placing_.withdrawals.resize(entries.size());
    std::vector<std::size_t> order(entries.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return entries[a].time < entries[b].time; });
    const Duration gap = input_.station->link.gap;
    const std::size_t on_air = withdrawal_on_air(*input_.station);
    const Duration length = air_time(*input_.station, on_air);
    for (const std::size_t i : order) {
      PlacedWithdrawal& placed = placing_.withdrawals[i];
      placed.on_air = on_air;
      const Instant latest = entries[i].time - input_.station->table.load_guard - light_ - length;
      for (std::size_t w = 0; w < windows_.size() && placed.slot == no_window; ++w) {
        const Instant begin = taken_.free_from(windows_[w].from, length, gap);
        if (begin > latest || begin + length > windows_[w].to) continue;
        placed.slot = w;
        placed.begin = begin;
        placed.end = begin + length;
        placed.received = placed.end + light_;
        taken_.add(placed.begin, placed.end);
      }
      const bool leaves = placed.slot != no_window;
      occupancy_.add(leaves ? placed.received : entries[i].time, entries[i].bytes);
    }
  }

  void join_immediate() {
    std::vector<std::uint32_t> sent;
    for (const std::size_t i : immediate_) {
      if (placing_.commands[i].slot != no_window) sent.push_back(static_cast<std::uint32_t>(i));
    }
    if (sent.empty()) return;
    const std::vector<std::uint32_t> stored = std::move(placing_.order);
    placing_.order.assign(stored.size() + sent.size(), 0);
    std::merge(stored.begin(), stored.end(), sent.begin(), sent.end(), placing_.order.begin(),
               [&](std::uint32_t a, std::uint32_t b) {
                 return placing_.commands[a].begin < placing_.commands[b].begin;
               });
  }

  // Whether a window after `w` could still carry a command of this length in time.
  [[nodiscard]] bool has_later_window(std::size_t w, Instant runs, Duration length) const {
    const Instant latest = runs - input_.station->table.load_guard - light_ - length;
    return std::any_of(windows_.begin() + static_cast<std::ptrdiff_t>(w) + 1, windows_.end(),
                       [&](const UsableWindow& later) {
                         const Instant from = taken_.free_from(std::max(later.from, link_free_), length,
                                                               input_.station->link.gap);
                         return from <= latest && from + length <= later.to;
                       });
  }

  void fill(std::size_t w) {
    const CommandTable& table = input_.station->table;
    while (next_ < order_.size()) {
      const std::size_t index = order_[next_];
      if (wanted_ != nullptr && (*wanted_)[index] != no_window && (*wanted_)[index] > w) return;
      PlacedCommand& placed = placing_.commands[index];
      const Instant runs = (*input_.commands)[index].time;
      const Duration length = air_time(*input_.station, placed.size.on_air);
      // Windows of two antennas may overlap; the station still hears one packet at a time.
      Instant wanted = std::max(windows_[w].from, link_free_);
      if (table.horizon.nanoseconds > 0) wanted = std::max(wanted, runs - table.horizon - light_ - length);
      wanted = taken_.free_from(wanted, length, input_.station->link.gap);
      const Instant latest = std::min(runs - table.load_guard - light_ - length, windows_[w].to - length);
      const bool can_wait = has_later_window(w, runs, length);
      if (wanted > latest) {
        if (can_wait) return;  // those that run later wait too, so that the order stays
        ++next_;               // no window can bring it in time; it must not keep back the others
        continue;
      }
      occupancy_.free_until(wanted + length + light_);
      const std::optional<Instant> room = occupancy_.fits_from(placed.size.entry);
      const Instant from =
          room ? taken_.free_from(std::max(wanted, *room - light_ - length), length, input_.station->link.gap)
               : wanted;
      if (room && from <= latest) {
        wanted = from;
      } else if (can_wait) {
        return;
      }
      occupancy_.free_until(wanted + length + light_);
      placed.slot = w;
      placed.begin = wanted;
      placed.end = wanted + length;
      placed.aboard = placed.end + light_;
      occupancy_.add(runs, placed.size.entry);
      placing_.order.push_back(static_cast<std::uint32_t>(index));
      link_free_ = placed.end + input_.station->link.gap;
      ++next_;
    }
  }

  void find_peaks() {
    struct Change {
      Instant time;
      std::int64_t entries;
      std::int64_t bytes;
    };
    std::vector<Change> changes;
    for (const CarriedEntry& entry : *input_.carried) {
      if (entry.time <= input_.earliest_uplink) continue;
      changes.push_back({input_.earliest_uplink, 1, entry.bytes});
      changes.push_back({entry.time, -1, -static_cast<std::int64_t>(entry.bytes)});
    }
    for (std::size_t i = 0; i < placing_.withdrawals.size(); ++i) {
      const PlacedWithdrawal& placed = placing_.withdrawals[i];
      const CarriedEntry& entry = (*input_.withdrawn)[i];
      const Instant leaves = placed.slot != no_window ? placed.received : entry.time;
      if (leaves <= input_.earliest_uplink) continue;
      changes.push_back({input_.earliest_uplink, 1, entry.bytes});
      changes.push_back({leaves, -1, -static_cast<std::int64_t>(entry.bytes)});
    }
    for (const std::uint32_t index : placing_.order) {
      const PlacedCommand& placed = placing_.commands[index];
      const Instant runs = (*input_.commands)[index].time;
      if (runs <= placed.aboard) continue;  // an immediate one among them
      changes.push_back({placed.aboard, 1, placed.size.entry});
      changes.push_back({runs, -1, -static_cast<std::int64_t>(placed.size.entry)});
    }
    // What runs frees its place before another comes aboard at the same instant.
    std::sort(changes.begin(), changes.end(), [](const Change& a, const Change& b) {
      return a.time != b.time ? a.time < b.time : a.entries < b.entries;
    });
    std::int64_t entries = 0;
    std::int64_t bytes = 0;
    for (const Change& change : changes) {
      entries += change.entries;
      bytes += change.bytes;
      placing_.peak_entries =
          std::max(placing_.peak_entries, static_cast<std::uint64_t>(std::max<std::int64_t>(entries, 0)));
      placing_.peak_bytes =
          std::max(placing_.peak_bytes, static_cast<std::uint64_t>(std::max<std::int64_t>(bytes, 0)));
    }
  }

  const StagingInput& input_;
  const std::vector<std::size_t>* wanted_;
  std::vector<UsableWindow> windows_;
  Occupancy occupancy_;
  Duration light_;
  std::vector<std::size_t> order_;      // of the stored ones
  std::vector<std::size_t> immediate_;  // the others, rising by time
  TakenTimes taken_;
  std::size_t next_ = 0;
  Instant link_free_;  // a gap after the last packet given a place
  Placing placing_;
};

}  // namespace

std::vector<UsableWindow> usable_windows(const StagingInput& input) {
  const CommandLink& link = input.station->link;
  std::vector<UsableWindow> result;
  if (!(link.rate > 0)) return result;  // no bit ever arrives
  const Table<WindowId, Window>& windows = input.station->windows;
  for (std::size_t i = 0; i < windows.size(); ++i) {
    const Window& window = windows[windows.id_at(i)];
    const Instant from = std::max(window.opens + link.set_up + link.margin, input.earliest_uplink);
    const Instant to = window.closes - link.margin;
    if (from < to) result.push_back({windows.id_at(i), from, to});
  }
  std::stable_sort(result.begin(), result.end(),
                   [](const UsableWindow& a, const UsableWindow& b) { return a.from < b.from; });
  return result;
}

Duration air_time(const Station& station, std::size_t octets) {
  const double seconds = static_cast<double>(octets) * 8 / station.link.rate;
  return duration_from_seconds(seconds).value_or(Duration{}) + Duration{1};  // rounded up
}

Placing place(const StagingInput& input, const std::vector<std::size_t>* wanted) {
  return Placer(input, wanted).run();
}

bool fits(const StagingInput& input, const Placing& placing) {
  const CommandTable& table = input.station->table;
  return placing.left == 0 && placing.peak_entries <= table.entries &&
         (table.bytes == 0 || placing.peak_bytes <= table.bytes);
}

AssignProblem problem_of(const StagingInput& input, const Placing& placing) {
  const Station& station = *input.station;
  const Duration light = duration_from_seconds(input.light_time).value_or(Duration{});
  AssignProblem problem;
  problem.most_entries = station.table.entries;
  problem.most_bytes = station.table.bytes;
  for (const UsableWindow& window : placing.windows) {
    problem.capacity.push_back((window.to - window.from).nanoseconds + station.link.gap.nanoseconds);
    std::uint64_t entries = 0;
    std::uint64_t bytes = 0;
    for (const CarriedEntry& entry : *input.carried) {
      if (entry.time <= window.from) continue;
      ++entries;
      bytes += entry.bytes;
    }
    for (std::size_t i = 0; i < placing.withdrawals.size(); ++i) {
      const PlacedWithdrawal& placed = placing.withdrawals[i];
      const CarriedEntry& entry = (*input.withdrawn)[i];
      if ((placed.slot != no_window ? placed.received : entry.time) <= window.from) continue;
      ++entries;
      bytes += entry.bytes;
    }
    problem.held_entries.push_back(entries);
    problem.held_bytes.push_back(bytes);
  }
  for (const PlacedWithdrawal& placed : placing.withdrawals) {
    if (placed.slot == no_window) continue;
    problem.capacity[placed.slot] -= (placed.end - placed.begin).nanoseconds + station.link.gap.nanoseconds;
  }
  for (std::size_t i = 0; i < placing.commands.size(); ++i) {
    const Instant runs = (*input.commands)[i].time;
    const Duration length = air_time(station, placing.commands[i].size.on_air);
    AssignItem item;
    item.size = length.nanoseconds + station.link.gap.nanoseconds;
    item.bytes = placing.commands[i].size.entry;
    item.block = input.blocks != nullptr ? (*input.blocks)[i] : 0;
    item.first = 1;
    item.last = 0;  // none
    if ((*input.commands)[i].immediate) {
      const std::size_t slot = placing.commands[i].slot;
      if (slot != no_window) problem.capacity[slot] -= item.size;
      item.size = 0;
      problem.items.push_back(item);
      continue;
    }
    bool any = false;
    for (std::size_t w = 0; w < placing.windows.size(); ++w) {
      const UsableWindow& window = placing.windows[w];
      if (window.from < runs) item.leave = w;
      const bool early_enough = window.from + length + light + station.table.load_guard <= runs;
      const bool late_enough =
          station.table.horizon.nanoseconds == 0 || window.to + light + station.table.horizon >= runs;
      if (!early_enough || !late_enough || window.from + length > window.to) continue;
      if (!any) item.first = w;
      any = true;
      item.last = w;
    }
    problem.items.push_back(item);
  }
  return problem;
}

}  // namespace cairn
