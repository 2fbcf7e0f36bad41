// One profile or the other, one layer after another.

#include "compiler/uplink/transmission.h"

#include "compiler/uplink/link_unit.h"
#include "compiler/uplink/packet.h"
#include "compiler/uplink/word.h"

namespace cairn {

namespace {

std::size_t around_unit(const UnitLayout& layout) { return std::size_t{layout.acquisition} + layout.idle; }

}  // namespace

std::size_t octets_on_air(const CommandLink& link, std::size_t packets) {
  if (!link.frames) return packets;
  const FrameCut cut = cut_into_frames(*link.frames, packets);
  const std::size_t whole = link.frames->longest;
  if (!link.units) return (cut.frames - 1) * whole + cut.last;
  return (cut.frames - 1) * (unit_octets(whole) + around_unit(*link.units)) + unit_octets(cut.last) +
         around_unit(*link.units);
}

RequestSize load_size(const Station& station, const CommandDefinition& command) {
  RequestSize size;
  if (station.link.profile == LinkProfile::Word) {
    const WordLayout& words = station.link.words;
    const auto body = static_cast<std::size_t>(words.body_width);
    std::size_t bits = 8 * time_code_octets(station.clock);
    for (const ArgumentDefinition& argument : command.arguments) {
      bits += static_cast<std::size_t>(argument.encoding.width);
    }
    size.entry = word_entry_octets(station, command);
    size.request = (2 + (bits + body - 1) / body) * static_cast<std::size_t>(words.width()) / 8;
    size.on_air = size.request * static_cast<std::size_t>(words.repeats);
    return size;
  }
  size.entry = static_cast<std::uint32_t>(request_octets(command));
  size.request = insert_octets(station.clock, command);
  size.on_air = octets_on_air(station.link, size.request);
  return size;
}

RequestSize immediate_size(const Station& station, const CommandDefinition& command) {
  RequestSize size = load_size(station, command);
  if (station.link.profile == LinkProfile::Packet) {
    size.request = request_octets(command);
    size.on_air = octets_on_air(station.link, size.request);
  }
  size.entry = 0;
  return size;
}

std::size_t withdrawal_on_air(const Station& station) {
  if (station.link.profile == LinkProfile::Packet) return octets_on_air(station.link, delete_octets());
  const WordLayout& words = station.link.words;
  const auto body = static_cast<std::size_t>(words.body_width);
  const std::size_t data = (8 * time_code_octets(station.clock) + body - 1) / body;
  return (2 + data) * static_cast<std::size_t>(words.width()) / 8 * static_cast<std::size_t>(words.repeats);
}

void append_on_air(const CommandLink& link, FrameType type, const Bytes& requests, std::uint8_t& frame_count,
                   Bytes& out) {
  if (link.profile == LinkProfile::Word) {
    const Bytes words = repeat_words(link.words, requests);
    out.insert(out.end(), words.begin(), words.end());
    return;
  }
  if (!link.frames) {
    out.insert(out.end(), requests.begin(), requests.end());
    return;
  }
  for (const Bytes& frame : make_frames(*link.frames, type, requests, frame_count)) {
    if (link.units) {
      append_unit_on_air(*link.units, frame, out);
    } else {
      out.insert(out.end(), frame.begin(), frame.end());
    }
  }
}

}  // namespace cairn
