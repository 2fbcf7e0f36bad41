// Reads packets back, field by field, from the standards' layouts. Shares nothing with the encoder: its own
// CRC (bit by bit), its own time code arithmetic.

#include <string>

#include "compiler/uplink/decoder/layers.h"

namespace cairn {

namespace {

struct Packet {
  std::uint16_t sequence_count = 0;
  std::uint8_t service = 0;
  std::uint8_t subtype = 0;
  std::span<const std::uint8_t> data;
};

// One whole packet, already cut to its length.
std::expected<Packet, std::string> open_packet(std::span<const std::uint8_t> packet, const Station& station) {
  if (check_sum(packet) != 0) return std::unexpected("the packet error control does not match its octets");
  FieldReader reader(packet.first(packet.size() - 2));
  const auto identification = static_cast<unsigned>(reader.octets(2));
  if (identification >> 13U != 0) return std::unexpected("the packet version is not 0");
  if ((identification & 0x1000U) == 0) return std::unexpected("the packet is telemetry, not a telecommand");
  if ((identification & 0x0800U) == 0) return std::unexpected("the packet has no secondary header");
  if ((identification & 0x07FFU) != station.link.application_id) {
    return std::unexpected("the application id is " + std::to_string(identification & 0x07FFU) + ", not " +
                           std::to_string(station.link.application_id));
  }
  const auto sequence = static_cast<unsigned>(reader.octets(2));
  if (sequence >> 14U != 3) return std::unexpected("the packet is not a whole one (sequence flags)");
  reader.octets(2);
  if (reader.octets(1) >> 4U != 2) return std::unexpected("the telecommand header's version is not 2");
  Packet opened;
  opened.sequence_count = static_cast<std::uint16_t>(sequence & 0x3FFFU);
  opened.service = static_cast<std::uint8_t>(reader.octets(1));
  opened.subtype = static_cast<std::uint8_t>(reader.octets(1));
  const std::uint64_t source = reader.octets(2);
  if (reader.is_short()) return std::unexpected("the packet ends inside its header");
  if (source != station.link.source_id) {
    return std::unexpected("the source id is " + std::to_string(source) + ", not " +
                           std::to_string(station.link.source_id));
  }
  opened.data = reader.rest();
  return opened;
}

std::expected<DecodedRequest, std::string> read_execute(const Packet& request, const Station& station) {
  FieldReader fields(request.data);
  const auto number = static_cast<std::uint16_t>(fields.octets(2));
  DecodedRequest result;
  result.kind = RequestKind::Execute;
  result.target_sequence_count = request.sequence_count;
  result.command = find_command_by_number(station, number);
  if (!result.command.is_valid()) {
    return std::unexpected("the station has no command number " + std::to_string(number));
  }
  for (const ArgumentDefinition& argument : station.commands[result.command].arguments) {
    const std::uint64_t raw = fields.bits(argument.encoding.width);
    result.arguments.push_back({decode_argument(argument, raw), raw});
  }
  if (fields.is_short()) return std::unexpected("the command's arguments are cut short");
  if (!fields.padding_is_zero() || !fields.rest().empty()) {
    return std::unexpected("something follows the command's arguments");
  }
  return result;
}

std::expected<DecodedRequest, std::string> read_insert(const Packet& packet, const Station& station,
                                                       const LeapSecondTable& leap_seconds) {
  FieldReader reader(packet.data);
  if (reader.octets(1) != 1)
    return std::unexpected("the insert request holds another number of activities than one");
  const auto time = read_time_tag(reader, station.clock, leap_seconds);
  if (!time) return std::unexpected(time.error());
  if (reader.is_short()) return std::unexpected("the insert request ends inside its time tag");
  const std::span<const std::uint8_t> inner = reader.rest();
  if (inner.size() < 13) return std::unexpected("the insert request ends inside the command's own packet");
  const std::size_t length = static_cast<std::size_t>(inner[4]) * 256 + inner[5] + 7;
  if (length != inner.size())
    return std::unexpected("the command's own packet does not fill the insert request");
  const auto request = open_packet(inner, station);
  if (!request) return std::unexpected("in the command's own packet: " + request.error());
  if (request->service != 128 || request->subtype != 1) {
    return std::unexpected("the command's own packet is of service " + std::to_string(request->service) +
                           ", subtype " + std::to_string(request->subtype) + ", not 128, 1");
  }
  auto result = read_execute(*request, station);
  if (!result) return result;
  result->kind = RequestKind::Insert;
  result->time = *time;
  return result;
}

std::expected<DecodedRequest, std::string> read_delete(const Packet& packet, const Station& station) {
  FieldReader reader(packet.data);
  const std::uint64_t count = reader.octets(1);
  const std::uint64_t source = reader.octets(2);
  const std::uint64_t application = reader.octets(2);
  DecodedRequest result;
  result.kind = RequestKind::Delete;
  result.target_sequence_count = static_cast<std::uint16_t>(reader.octets(2));
  if (reader.is_short() || !reader.rest().empty())
    return std::unexpected("the delete request has a wrong length");
  if (count != 1) return std::unexpected("the delete request holds another number of requests than one");
  if (source != station.link.source_id || application != station.link.application_id) {
    return std::unexpected("the delete request names another source or application");
  }
  return result;
}

}  // namespace

void read_packets(std::span<const std::uint8_t> bytes, const Carrier* carrier, const Station& station,
                  const LeapSecondTable& leap_seconds, Decoded& result) {
  constexpr std::size_t shortest = 6 + 5 + 2;
  const auto place = [&](std::size_t offset) { return carrier != nullptr ? carrier->offset : offset; };
  for (std::size_t offset = 0; offset < bytes.size();) {
    const std::span<const std::uint8_t> left = bytes.subspan(offset);
    if (left.size() < 6) {
      result.problems.push_back({place(offset), "the octets end inside a packet header"});
      break;
    }
    const std::size_t size = static_cast<std::size_t>(left[4]) * 256 + left[5] + 7;
    if (size < shortest) {
      result.problems.push_back({place(offset), "the packet says it has " + std::to_string(size) +
                                                    " octets, fewer than the " + std::to_string(shortest) +
                                                    " that its headers and error control take"});
      break;
    }
    if (size > left.size()) {
      result.problems.push_back({place(offset), "the packet says it has " + std::to_string(size) +
                                                    " octets, but " + std::to_string(left.size()) +
                                                    " are left"});
      break;
    }
    std::expected<DecodedRequest, std::string> request = std::unexpected(std::string());
    const auto packet = open_packet(left.first(size), station);
    if (!packet) {
      request = std::unexpected(packet.error());
    } else if (packet->service == 11 && packet->subtype == 4) {
      request = read_insert(*packet, station, leap_seconds);
    } else if (packet->service == 11 && packet->subtype == 5) {
      request = read_delete(*packet, station);
    } else if (packet->service == 128 && packet->subtype == 1) {
      request = read_execute(*packet, station);
    } else {
      request = std::unexpected("service " + std::to_string(packet->service) + ", subtype " +
                                std::to_string(packet->subtype) + " is none that a load is made of");
    }
    if (request) {
      request->offset = place(offset);
      request->size = carrier != nullptr ? carrier->size : size;
      if (carrier != nullptr) request->frame = carrier->count;
      request->sequence_count = packet->sequence_count;
      request->octets.assign(left.begin(), left.begin() + static_cast<std::ptrdiff_t>(size));
      result.requests.push_back(std::move(*request));
    } else {
      result.problems.push_back({place(offset), request.error()});
    }
    offset += size;
  }
}

}  // namespace cairn
