// Random dictionaries, commands and link profiles, for round trips.

#pragma once

#include <random>

#include "compiler/uplink/packet.h"
#include "compiler/uplink/transmission.h"
#include "compiler/uplink/word.h"

namespace cairn {

struct RandomPlan {
  Station station;
  std::vector<TimedCommand> commands;
};

inline CommandLink random_link(std::mt19937_64& random, LinkProfile profile) {
  CommandLink link;
  link.profile = profile;
  link.rate = 1000;
  link.application_id = static_cast<std::uint16_t>(random() % 2047);
  link.source_id = static_cast<std::uint16_t>(random());
  if (profile == LinkProfile::Word) {
    WordLayout& words = link.words;
    words.check = random() % 2 == 0 ? WordCheck::Parity : WordCheck::Complement;
    words.repeats = 1 + static_cast<int>(random() % 3);
    do {
      words.address_width = 1 + static_cast<int>(random() % 16);
      words.body_width = 9 + static_cast<int>(random() % 24);
    } while (words.width() % 8 != 0);
    return link;
  }
  if (random() % 4 == 0) return link;
  FrameLayout& frames = link.frames.emplace();
  frames.spacecraft_id = static_cast<std::uint16_t>(random() % 1024);
  frames.channel = static_cast<std::uint8_t>(random() % 64);
  frames.access_point = static_cast<std::uint8_t>(random() % 64);
  frames.longest = static_cast<std::uint16_t>(random() % 2 == 0 ? 16 + random() % 60 : 16 + random() % 1009);
  frames.in_sequence = random() % 2 == 0;
  frames.error_control = random() % 4 != 0;
  frames.blocking = random() % 2 == 0;
  if (random() % 4 == 0) return link;
  link.units = UnitLayout{random() % 2 == 0, static_cast<std::uint16_t>(random() % 20),
                          static_cast<std::uint16_t>(random() % 20)};
  return link;
}

// `with_immediate`: one command in four runs when it is received.
inline RandomPlan random_plan(std::mt19937_64& random, LinkProfile profile, std::size_t count,
                              bool with_immediate = false) {
  RandomPlan plan;
  Station& station = plan.station;
  station.link = random_link(random, profile);
  station.address =
      profile == LinkProfile::Word
          ? static_cast<std::uint16_t>(random() & ((1U << station.link.words.address_width) - 1U))
          : static_cast<std::uint16_t>(random());
  station.clock.time_code = random() % 2 == 0 ? TimeCodeForm::Unsegmented : TimeCodeForm::DaySegmented;
  station.clock.fine_octets = static_cast<int>(random() % 6);
  station.clock.coarse_octets = 4 + static_cast<int>(random() % 2);
  station.clock.preamble = random() % 2 == 0;
  const UnitId unit = station.units.add({"box", "", {}, no_origin});
  const std::size_t kinds = 1 + random() % 4;
  for (std::size_t i = 0; i < kinds; ++i) {
    CommandDefinition command;
    command.unit = unit;
    command.number = static_cast<std::uint16_t>(i * 100 + random() % 100);  // rising, and within nine bits
    for (std::size_t a = random() % 4; a > 0; --a) {
      ArgumentDefinition argument;
      argument.encoding.width = 1 + static_cast<int>(random() % (random() % 3 == 0 ? 64 : 16));
      argument.encoding.is_signed = random() % 2 == 0;
      command.arguments.push_back(argument);
    }
    station.commands.add(command);
  }
  for (std::size_t i = 0; i < count; ++i) {
    TimedCommand command;
    command.command = CommandId{static_cast<std::uint32_t>(random() % kinds)};
    const Instant time{450'000'000'000'000'000 +
                       static_cast<std::int64_t>(random() % 2'000'000'000'000'000'000ULL)};
    command.time = representable_time(station.clock, time, published_leap_seconds());
    for (const ArgumentDefinition& argument : station.commands[command.command].arguments) {
      const std::uint64_t raw = random() >> (64 - argument.encoding.width);
      command.arguments.push_back({decode_argument(argument, raw), raw});
    }
    command.immediate = with_immediate && random() % 4 == 0;
    plan.commands.push_back(std::move(command));
  }
  return plan;
}

// All commands of the plan, encoded one after another in the station's profile.
inline Bytes encoded(const RandomPlan& plan, std::uint8_t first_frame) {
  const Station& station = plan.station;
  const bool words = station.link.profile == LinkProfile::Word;
  const bool numbered = !words && station.link.frames && station.link.frames->in_sequence;
  Bytes bytes;
  std::uint8_t frame = first_frame;
  Bytes together;
  for (std::size_t i = 0; i < plan.commands.size(); ++i) {
    const TimedCommand& command = plan.commands[i];
    const auto count = static_cast<std::uint16_t>(2 * i);
    const Bytes request =
        words               ? load_words(station, command, published_leap_seconds())
        : command.immediate ? request_packet(station, command, count)
                            : insert_packet(station, command.time, request_packet(station, command, count),
                                            static_cast<std::uint16_t>(count + 1), published_leap_seconds());
    const bool shares = !words && station.link.frames && station.link.frames->blocking && !together.empty() &&
                        together.size() + request.size() <= frame_room(*station.link.frames);
    if (!together.empty() && !shares) {
      append_on_air(station.link, numbered ? FrameType::InSequence : FrameType::Bypass, together, frame,
                    bytes);
      together.clear();
    }
    together.insert(together.end(), request.begin(), request.end());
  }
  append_on_air(station.link, numbered ? FrameType::InSequence : FrameType::Bypass, together, frame, bytes);
  return bytes;
}

}  // namespace cairn
