// Packets, octet by octet.

#include "compiler/uplink/packet.h"

#include "compiler/uplink/checksum.h"

namespace cairn {

namespace {

void put(Bytes& out, std::uint64_t value, int octets) {
  for (int i = octets - 1; i >= 0; --i) out.push_back(static_cast<std::uint8_t>((value >> (8 * i)) & 0xFFU));
}

constexpr std::size_t primary_header = 6;
constexpr std::size_t secondary_header = 5;
constexpr std::size_t error_control = 2;
constexpr std::size_t around = primary_header + secondary_header + error_control;

// Frames application data: headers before, error control behind.
Bytes telecommand(const Station& station, std::uint8_t service, std::uint8_t subtype,
                  std::uint16_t sequence_count, const Bytes& data) {
  Bytes out;
  out.reserve(around + data.size());
  put(out, 0x1800U | station.link.application_id, 2);  // version 0, telecommand, secondary header present
  put(out, 0xC000U | (sequence_count & 0x3FFFU), 2);   // unsegmented
  put(out, secondary_header + data.size() + error_control - 1, 2);
  put(out, 0x2FU, 1);  // version 2, all four verification reports wanted
  put(out, service, 1);
  put(out, subtype, 1);
  put(out, station.link.source_id, 2);
  out.insert(out.end(), data.begin(), data.end());
  put(out, crc16_fast(out.data(), out.size()), 2);
  return out;
}

// Raw values one after another, most significant bit first, filled up with zeros to a whole octet.
void pack_arguments(Bytes& out, const CommandDefinition& definition, const TimedCommand& command) {
  std::uint32_t open = 0;  // bits of the last octet that are used
  for (std::size_t i = 0; i < definition.arguments.size(); ++i) {
    const int width = definition.arguments[i].encoding.width;
    for (int bit = width - 1; bit >= 0; --bit) {
      if (open == 0) out.push_back(0);
      const auto value = static_cast<std::uint32_t>((command.arguments[i].raw >> bit) & 1U);
      out.back() = static_cast<std::uint8_t>(out.back() | (value << (7U - open)));
      open = (open + 1) % 8;
    }
  }
}

}  // namespace

std::size_t request_octets(const CommandDefinition& command) {
  std::size_t bits = 0;
  for (const ArgumentDefinition& argument : command.arguments)
    bits += static_cast<std::size_t>(argument.encoding.width);
  return around + 2 + (bits + 7) / 8;
}

std::size_t insert_octets(const StationClock& clock, const CommandDefinition& command) {
  return around + 1 + time_code_octets(clock) + request_octets(command);
}

std::size_t delete_octets() { return around + 1 + 2 + 2 + 2; }

Bytes request_packet(const Station& station, const TimedCommand& command, std::uint16_t sequence_count) {
  const CommandDefinition& definition = station.commands[command.command];
  Bytes data;
  put(data, definition.number, 2);
  pack_arguments(data, definition, command);
  return telecommand(station, 128, 1, sequence_count, data);
}

Bytes insert_packet(const Station& station, Instant time, const Bytes& request, std::uint16_t sequence_count,
                    const LeapSecondTable& leap_seconds) {
  Bytes data;
  put(data, 1, 1);  // one activity
  const Bytes tag = time_code(station.clock, time, leap_seconds);
  data.insert(data.end(), tag.begin(), tag.end());
  data.insert(data.end(), request.begin(), request.end());
  return telecommand(station, 11, 4, sequence_count, data);
}

Bytes delete_packet(const Station& station, std::uint16_t target, std::uint16_t sequence_count) {
  Bytes data;
  put(data, 1, 1);
  put(data, station.link.source_id, 2);
  put(data, station.link.application_id, 2);
  put(data, target, 2);
  return telecommand(station, 11, 5, sequence_count, data);
}

}  // namespace cairn
