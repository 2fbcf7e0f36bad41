// What the octets of the uplink cost, as shares of one run: error controls against memcpy, a plan's encoding
// against the two error controls that it holds, one after the other over the same octets.
//
//   .build/release/tests/bench/link_bench

#include <algorithm>
#include <cstring>
#include <random>

#include "compiler/uplink/batch.h"
#include "compiler/uplink/checksum.h"
#include "compiler/uplink/link_unit.h"
#include "compiler/uplink/placing.h"
#include "compiler/uplink/transmission.h"
#include "tests/bench/spread.h"

namespace cairn {
namespace {

constexpr int rounds = 15;

// Seconds of `work`, run so often that a clock can tell.
template <class Work>
double seconds_of(Work work) {
  constexpr double enough = 0.02;
  for (int times = 1;; times *= 4) {
    const double begin = processor_seconds();
    for (int i = 0; i < times; ++i) work();
    const double taken = processor_seconds() - begin;
    if (taken >= enough) return taken / times;
  }
}

// So that nothing that is computed can be left out.
volatile std::uint32_t sink = 0;

void error_controls() {
  constexpr std::size_t size = std::size_t{7} << 25U;
  Bytes from(size);
  std::mt19937_64 random(1);
  for (std::uint8_t& octet : from) octet = static_cast<std::uint8_t>(random());
  Bytes to(size / 7 * 8);
  std::vector<double> copy_rate, crc_share, bch_share;
  for (int round = 0; round < rounds; ++round) {
    const double copy = seconds_of([&] {
      std::memcpy(to.data(), from.data(), size);
      sink = to[size / 2];
    });
    const double crc = seconds_of([&] { sink = crc16_fast(from.data(), size); });
    const double bch = seconds_of([&] {
      bch_encode_fast(from.data(), size / 7, to.data());
      sink = to[size / 2];
    });
    copy_rate.push_back(static_cast<double>(size) / copy / 1e9);
    crc_share.push_back(copy / crc);
    bch_share.push_back(copy / bch);
  }
  fmt::print("memcpy, GB/s                          {}\n", middle_and_spread(copy_rate, 2));
  fmt::print("CRC-16, share of memcpy               {}\n", middle_and_spread(crc_share, 3));
  fmt::print("BCH(63,56), share of memcpy           {}\n", middle_and_spread(bch_share, 3));
  const double plain = seconds_of([&] { sink = crc16_plain(from.data(), size / 16); }) * 16;
  const double fast = seconds_of([&] { sink = crc16_fast(from.data(), size); });
  const double plain_blocks = seconds_of([&] { bch_encode_plain(from.data(), size / 112, to.data()); }) * 16;
  const double fast_blocks = seconds_of([&] { bch_encode_fast(from.data(), size / 7, to.data()); });
  fmt::print("fast CRC against the plain one        {:.1f} times\n", plain / fast);
  fmt::print("fast BCH against the plain one        {:.1f} times\n", plain_blocks / fast_blocks);
}

struct Plan {
  Station station;
  std::vector<TimedCommand> commands;
  std::vector<const TimedCommand*> order;
  std::vector<std::size_t> group_ends;
};

// A hundred thousand commands of a few kinds, in frames that they share.
Plan make_plan(std::size_t count) {
  Plan plan;
  Station& station = plan.station;
  station.link.application_id = 291;
  station.link.source_id = 1;
  station.link.frames = FrameLayout{.spacecraft_id = 42, .channel = 1, .blocking = true};
  station.link.units = UnitLayout{};
  const UnitId unit = station.units.add({"camera", "", {}, no_origin});
  std::mt19937_64 random(2);
  for (std::uint16_t kind = 0; kind < 20; ++kind) {
    CommandDefinition command;
    command.unit = unit;
    command.number = kind;
    for (std::size_t a = kind % 5; a > 0; --a) {
      ArgumentDefinition argument;
      argument.encoding.width = a % 2 == 0 ? 16 : 8;
      command.arguments.push_back(argument);
    }
    station.commands.add(command);
  }
  for (std::size_t i = 0; i < count; ++i) {
    TimedCommand command;
    command.command = CommandId{static_cast<std::uint32_t>(random() % 20)};
    command.time = {2'310'000'000'000'000'000 + static_cast<std::int64_t>(i) * 1'000'000'000};
    for (const ArgumentDefinition& argument : station.commands[command.command].arguments) {
      command.arguments.push_back({0, random() >> (64 - argument.encoding.width)});
    }
    plan.commands.push_back(std::move(command));
  }
  std::size_t octets = 0;
  for (std::size_t i = 0; i < count; ++i) {
    plan.order.push_back(&plan.commands[i]);
    const std::size_t own = load_size(station, station.commands[plan.commands[i].command]).request;
    if (plan.group_ends.empty() || octets + own > frame_room(*station.link.frames)) {
      plan.group_ends.push_back(i + 1);
      octets = own;
    } else {
      plan.group_ends.back() = i + 1;
      octets += own;
    }
  }
  return plan;
}

void plan_encoding() {
  const Plan plan = make_plan(100'000);
  const BatchInput input{&plan.station, &published_leap_seconds(), plan.order, plan.group_ends, 0, 0};
  EncodedBatch encoded;
  encode_batch_fast(input, encoded);
  // The frames alone: all that the two error controls go over.
  Bytes frames;
  CommandLink bare = plan.station.link;
  bare.units.reset();
  std::size_t begin = 0;
  std::uint8_t count = 0;
  for (const std::size_t end : plan.group_ends) {
    const std::size_t to = encoded.request_ends[end - 1];
    append_on_air(bare, FrameType::InSequence,
                  {encoded.requests.begin() + static_cast<std::ptrdiff_t>(begin),
                   encoded.requests.begin() + static_cast<std::ptrdiff_t>(to)},
                  count, frames);
    begin = to;
  }
  std::size_t own_octets = 0;
  for (const TimedCommand& command : plan.commands)
    own_octets += load_size(plan.station, plan.station.commands[command.command]).entry;
  const std::size_t blocks = frames.size() / 7;
  Bytes out(blocks * 8);
  std::vector<double> share, nested_share, rate;
  for (int round = 0; round < rounds; ++round) {
    const double both = seconds_of([&] {
      sink = crc16_fast(frames.data(), frames.size());
      bch_encode_fast(frames.data(), blocks, out.data());
      sink = out[blocks];
    });
    const double whole = seconds_of([&] {
      encode_batch_fast(input, encoded);
      sink = encoded.on_air.back();
    });
    // The error control of each packet covers its own octets, that of the packet around it those again.
    const double nested = seconds_of([&] {
      sink = crc16_fast(encoded.requests.data(), encoded.requests.size());
      sink = crc16_fast(encoded.requests.data(), own_octets);
    });
    share.push_back(both / whole);
    nested_share.push_back((both + nested) / whole);
    rate.push_back(static_cast<double>(frames.size()) / whole / 1e9);
  }
  const double plain = seconds_of([&] { encode_batch_plain(input, encoded); });
  const double fast = seconds_of([&] { encode_batch_fast(input, encoded); });
  fmt::print("a plan's encoding, GB/s of frames     {}\n", middle_and_spread(rate, 3));
  fmt::print("the same, share of CRC and then BCH   {}\n", middle_and_spread(share, 3));
  fmt::print("the same, all three levels of CRC     {}\n", middle_and_spread(nested_share, 3));
  fmt::print("fast encoding against the plain one   {:.1f} times\n", plain / fast);
}

// A hundred thousand commands over a thousand windows, against putting them in order of time.
void staging() {
  constexpr std::size_t count = 100'000;
  constexpr int windows = 1000;
  Plan plan = make_plan(count);
  Station& station = plan.station;
  station.link.rate = 64'000;
  station.table.entries = 2'000;
  station.table.load_guard = seconds_to_duration(600);
  const AntennaId antenna = station.antennas.add({"west-dish", no_origin});
  const Instant begin = plan.commands.front().time;
  // One command in a hundred seconds, a window in ten thousand: a hundred days and more.
  for (std::size_t i = 0; i < count; ++i) {
    plan.commands[i].time = begin + seconds_to_duration(100'000 + 100 * static_cast<std::int64_t>(i));
  }
  for (int i = 0; i < windows; ++i) {
    const Instant opens = begin + seconds_to_duration(10'000 * std::int64_t{i});
    station.windows.add({antenna, opens, opens + seconds_to_duration(3'000), no_origin});
  }
  const std::vector<CarriedEntry> carried;
  const StagingInput input{&station, &plan.commands, &carried, 0,
                           begin,    begin,          1.3,      &published_leap_seconds()};
  std::vector<TimedCommand> shuffled = plan.commands;
  std::mt19937_64 random(3);
  std::vector<double> ratio, whole_ratio;
  std::size_t placed = 0;
  for (int round = 0; round < rounds; ++round) {
    std::shuffle(shuffled.begin(), shuffled.end(), random);
    double from = processor_seconds();
    std::stable_sort(shuffled.begin(), shuffled.end(),
                     [](const TimedCommand& a, const TimedCommand& b) { return a.time < b.time; });
    const double sorting = processor_seconds() - from;
    from = processor_seconds();
    placed = place(input).order.size();
    ratio.push_back((processor_seconds() - from) / sorting);
    from = processor_seconds();
    sink = static_cast<std::uint32_t>(stage(input).batches.size());
    whole_ratio.push_back((processor_seconds() - from) / sorting);
  }
  fmt::print("staging {} of {} commands over {} windows, times of sorting them  {}\n", placed, count, windows,
             middle_and_spread(ratio, 2));
  fmt::print("the same with all octets and the backout                        {}\n",
             middle_and_spread(whole_ratio, 2));
}

}  // namespace
}  // namespace cairn

int main() {
  cairn::error_controls();
  cairn::plan_encoding();
  cairn::staging();
}
