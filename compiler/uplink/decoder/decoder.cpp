// Reads packets back, field by field, from the standards' layouts. Shares nothing with the encoder: its own CRC
// (bit by bit), its own time code arithmetic.

#include "compiler/uplink/decoder/decoder.h"

#include <string>

namespace cairn {

namespace {

std::uint16_t crc_bit_by_bit(std::span<const std::uint8_t> bytes) {
  unsigned shift = 0xFFFF;
  for (const std::uint8_t byte : bytes) {
    for (int bit = 7; bit >= 0; --bit) {
      const unsigned feedback = ((shift >> 15U) ^ (static_cast<unsigned>(byte) >> bit)) & 1U;
      shift = (shift << 1U) & 0xFFFFU;
      if (feedback != 0) shift ^= 0x1021U;
    }
  }
  return static_cast<std::uint16_t>(shift);
}

// Takes fields off the front; running out is remembered, never read past.
class Reader {
 public:
  explicit Reader(std::span<const std::uint8_t> bytes) : bytes_(bytes) {}

  std::uint64_t octets(std::size_t count) {
    std::uint64_t value = 0;
    for (std::size_t i = 0; i < count; ++i) {
      if (at_ >= bytes_.size()) {
        short_ = true;
        return 0;
      }
      value = value << 8U | bytes_[at_++];
    }
    return value;
  }
  std::uint64_t bits(int count) {
    std::uint64_t value = 0;
    for (int i = 0; i < count; ++i) {
      if (at_ >= bytes_.size()) {
        short_ = true;
        return 0;
      }
      value = value << 1U | ((static_cast<unsigned>(bytes_[at_]) >> (7U - bit_)) & 1U);
      if (++bit_ == 8) {
        bit_ = 0;
        ++at_;
      }
    }
    return value;
  }
  // Bits left in a begun octet; they must be zero.
  bool padding_is_zero() { return bit_ == 0 || bits(static_cast<int>(8 - bit_)) == 0; }
  [[nodiscard]] bool is_short() const { return short_; }
  [[nodiscard]] std::span<const std::uint8_t> rest() const { return bytes_.subspan(at_); }

 private:
  std::span<const std::uint8_t> bytes_;
  std::size_t at_ = 0;
  unsigned bit_ = 0;
  bool short_ = false;
};

struct Frame {
  std::uint16_t sequence_count = 0;
  std::uint8_t service = 0;
  std::uint8_t subtype = 0;
  std::span<const std::uint8_t> data;
};

// One whole packet, already cut to its length.
std::expected<Frame, std::string> open_packet(std::span<const std::uint8_t> packet, const Station& station) {
  if (crc_bit_by_bit(packet) != 0) return std::unexpected("the packet error control does not match its octets");
  Reader reader(packet.first(packet.size() - 2));
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
  Frame frame;
  frame.sequence_count = static_cast<std::uint16_t>(sequence & 0x3FFFU);
  frame.service = static_cast<std::uint8_t>(reader.octets(1));
  frame.subtype = static_cast<std::uint8_t>(reader.octets(1));
  const std::uint64_t source = reader.octets(2);
  if (reader.is_short()) return std::unexpected("the packet ends inside its header");
  if (source != station.link.source_id) {
    return std::unexpected("the source id is " + std::to_string(source) + ", not " +
                           std::to_string(station.link.source_id));
  }
  frame.data = reader.rest();
  return frame;
}

std::expected<Instant, std::string> read_time(Reader& reader, const StationClock& clock,
                                              const LeapSecondTable& leap_seconds) {
  if (clock.time_code == TimeCodeForm::DaySegmented) {
    if (clock.preamble && reader.octets(1) != 0x41) return std::unexpected("the time tag's preamble is not 41");
    UtcDayTime utc;
    utc.day = static_cast<std::int64_t>(reader.octets(2));
    utc.nanoseconds_of_day = static_cast<std::int64_t>(reader.octets(4)) * 1'000'000;
    const std::uint64_t microseconds = reader.octets(2);
    if (microseconds > 999) return std::unexpected("the time tag has more than 999 microseconds in a millisecond");
    utc.nanoseconds_of_day += static_cast<std::int64_t>(microseconds) * 1'000;
    const auto time = from_utc_day_time(utc, leap_seconds);
    if (!time) return std::unexpected("the time tag is no time of that day");
    return *time;
  }
  int coarse = clock.coarse_octets;
  int fine = clock.fine_octets;
  if (clock.preamble) {
    const auto first = static_cast<unsigned>(reader.octets(1));
    if ((first >> 4U & 7U) != 1) return std::unexpected("the time tag's preamble is not the code of epoch 1958");
    coarse = static_cast<int>(first >> 2U & 3U) + 1;
    fine = static_cast<int>(first & 3U);
    if ((first & 0x80U) != 0) {
      const auto second = static_cast<unsigned>(reader.octets(1));
      coarse += static_cast<int>(second >> 5U & 3U);
      fine += static_cast<int>(second >> 2U & 7U);
    }
    if (coarse != clock.coarse_octets || fine != clock.fine_octets) {
      return std::unexpected("the time tag's octets are not as many as the station's clock has");
    }
  }
  const std::uint64_t seconds = reader.octets(static_cast<std::size_t>(coarse));
  if (seconds > 9'000'000'000ULL) return std::unexpected("the time tag lies beyond what an instant can hold");
  // Each octet of fraction adds its share; rounded up to a nanosecond.
  __extension__ unsigned __int128 fraction = 0;
  __extension__ unsigned __int128 unit = 1;
  for (int i = 0; i < fine; ++i) {
    fraction = fraction * 256 + reader.octets(1);
    unit *= 256;
  }
  const auto nanoseconds = static_cast<std::int64_t>((fraction * 1'000'000'000U + unit - 1) / unit);
  return Instant{static_cast<std::int64_t>(seconds) * nanoseconds_per_second + nanoseconds};
}

std::expected<DecodedRequest, std::string> read_insert(const Frame& frame, const Station& station,
                                                       const LeapSecondTable& leap_seconds) {
  Reader reader(frame.data);
  if (reader.octets(1) != 1) return std::unexpected("the insert request holds another number of activities than one");
  const auto time = read_time(reader, station.clock, leap_seconds);
  if (!time) return std::unexpected(time.error());
  if (reader.is_short()) return std::unexpected("the insert request ends inside its time tag");
  const std::span<const std::uint8_t> inner = reader.rest();
  if (inner.size() < 13) return std::unexpected("the insert request ends inside the command's own packet");
  const std::size_t length = static_cast<std::size_t>(inner[4]) * 256 + inner[5] + 7;
  if (length != inner.size()) return std::unexpected("the command's own packet does not fill the insert request");
  const auto request = open_packet(inner, station);
  if (!request) return std::unexpected("in the command's own packet: " + request.error());
  if (request->service != 128 || request->subtype != 1) {
    return std::unexpected("the command's own packet is of service " + std::to_string(request->service) +
                           ", subtype " + std::to_string(request->subtype) + ", not 128, 1");
  }
  Reader fields(request->data);
  const auto number = static_cast<std::uint16_t>(fields.octets(2));
  DecodedRequest result;
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
  result.kind = RequestKind::Insert;
  result.time = *time;
  result.target_sequence_count = request->sequence_count;
  return result;
}

std::expected<DecodedRequest, std::string> read_delete(const Frame& frame, const Station& station) {
  Reader reader(frame.data);
  const std::uint64_t count = reader.octets(1);
  const std::uint64_t source = reader.octets(2);
  const std::uint64_t application = reader.octets(2);
  DecodedRequest result;
  result.kind = RequestKind::Delete;
  result.target_sequence_count = static_cast<std::uint16_t>(reader.octets(2));
  if (reader.is_short() || !reader.rest().empty()) return std::unexpected("the delete request has a wrong length");
  if (count != 1) return std::unexpected("the delete request holds another number of requests than one");
  if (source != station.link.source_id || application != station.link.application_id) {
    return std::unexpected("the delete request names another source or application");
  }
  return result;
}

}  // namespace

Decoded decode(std::span<const std::uint8_t> bytes, const Station& station, const LeapSecondTable& leap_seconds) {
  constexpr std::size_t shortest = 6 + 5 + 2;
  Decoded result;
  for (std::size_t offset = 0; offset < bytes.size();) {
    const std::span<const std::uint8_t> left = bytes.subspan(offset);
    if (left.size() < 6) {
      result.problems.push_back({offset, "the octets end inside a packet header"});
      break;
    }
    const std::size_t size = static_cast<std::size_t>(left[4]) * 256 + left[5] + 7;
    if (size < shortest) {
      result.problems.push_back({offset, "the packet says it has " + std::to_string(size) +
                                             " octets, fewer than the " + std::to_string(shortest) +
                                             " that its headers and error control take"});
      break;
    }
    if (size > left.size()) {
      result.problems.push_back({offset, "the packet says it has " + std::to_string(size) + " octets, but " +
                                             std::to_string(left.size()) + " are left"});
      break;
    }
    std::expected<DecodedRequest, std::string> request = std::unexpected(std::string());
    const auto frame = open_packet(left.first(size), station);
    if (!frame) {
      request = std::unexpected(frame.error());
    } else if (frame->service == 11 && frame->subtype == 4) {
      request = read_insert(*frame, station, leap_seconds);
    } else if (frame->service == 11 && frame->subtype == 5) {
      request = read_delete(*frame, station);
    } else {
      request = std::unexpected("service " + std::to_string(frame->service) + ", subtype " +
                                std::to_string(frame->subtype) + " is none that a load is made of");
    }
    if (request) {
      request->offset = offset;
      request->size = size;
      request->sequence_count = frame->sequence_count;
      result.requests.push_back(std::move(*request));
    } else {
      result.problems.push_back({offset, request.error()});
    }
    offset += size;
  }
  return result;
}

}  // namespace cairn
