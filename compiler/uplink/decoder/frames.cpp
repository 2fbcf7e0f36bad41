// Transfer frames of CCSDS 232.0-B: their headers, their numbers, and the packets put together from them.

#include <string>

#include "compiler/uplink/decoder/layers.h"

namespace cairn {

namespace {

struct OpenFrame {
  bool bypass = false;
  bool control = false;
  std::uint8_t count = 0;
  unsigned flags = 3;  // of the segment header; whole where there is none
  std::span<const std::uint8_t> data;
};

std::expected<OpenFrame, std::string> open_frame(std::span<const std::uint8_t> octets,
                                                 const FrameLayout& layout) {
  const std::size_t behind = layout.error_control ? 2 : 0;
  if (octets.size() < 6 + behind)
    return std::unexpected("the frame is shorter than its headers and error control");
  if (layout.error_control && check_sum(octets) != 0) {
    return std::unexpected("the frame error control does not match its octets");
  }
  FieldReader reader(octets.first(octets.size() - behind));
  if (reader.bits(2) != 0) return std::unexpected("the frame version is not 0");
  OpenFrame frame;
  frame.bypass = reader.bits(1) != 0;
  frame.control = reader.bits(1) != 0;
  if (frame.control && !frame.bypass) return std::unexpected("the frame is of the reserved type");
  if (reader.bits(2) != 0) return std::unexpected("the frame's spare bits are not 0");
  const std::uint64_t spacecraft = reader.bits(10);
  if (spacecraft != layout.spacecraft_id) {
    return std::unexpected("the frame is for spacecraft " + std::to_string(spacecraft) + ", not " +
                           std::to_string(layout.spacecraft_id));
  }
  const std::uint64_t channel = reader.bits(6);
  if (channel != layout.channel) {
    return std::unexpected("the frame is for virtual channel " + std::to_string(channel) + ", not " +
                           std::to_string(layout.channel));
  }
  if (reader.bits(10) + 1 != octets.size())
    return std::unexpected("the frame's length field is not its length");
  frame.count = static_cast<std::uint8_t>(reader.octets(1));
  if (frame.bypass && frame.count != 0)
    return std::unexpected("a frame that bypasses the numbering has a number");
  if (layout.segments && !frame.control) {
    frame.flags = static_cast<unsigned>(reader.bits(2));
    const std::uint64_t access_point = reader.bits(6);
    if (access_point != layout.access_point) {
      return std::unexpected("the segment is for access point " + std::to_string(access_point) + ", not " +
                             std::to_string(layout.access_point));
    }
  }
  frame.data = reader.rest();
  return frame;
}

}  // namespace

std::vector<FoundFrame> split_frames(std::span<const std::uint8_t> bytes, Decoded& result) {
  std::vector<FoundFrame> frames;
  for (std::size_t offset = 0; offset < bytes.size();) {
    const std::span<const std::uint8_t> left = bytes.subspan(offset);
    if (left.size() < 5) {
      result.problems.push_back({offset, "the octets end inside a frame header"});
      break;
    }
    const std::size_t size = ((static_cast<std::size_t>(left[2]) & 3U) << 8U | left[3]) + 1U;
    if (size < 6 || size > left.size()) {
      result.problems.push_back({offset, "the frame says it has " + std::to_string(size) + " octets, but " +
                                             std::to_string(left.size()) + " are left"});
      break;
    }
    frames.push_back({offset, size, {left.begin(), left.begin() + static_cast<std::ptrdiff_t>(size)}});
    offset += size;
  }
  return frames;
}

void read_frames(const std::vector<FoundFrame>& frames, const Station& station,
                 const LeapSecondTable& leap_seconds, Decoded& result) {
  const FrameLayout& layout = *station.link.frames;
  std::optional<std::uint8_t> expected;  // number of the next frame of type AD
  std::optional<Carrier> begun;          // of a packet whose segments are coming in
  std::vector<std::uint8_t> packet;
  const auto drop = [&](const char* why) {
    if (begun)
      result.problems.push_back({begun->offset, std::string("a packet in segments is not complete: ") + why});
    begun.reset();
    packet.clear();
  };
  for (const FoundFrame& found : frames) {
    const auto frame = open_frame(found.octets, layout);
    if (!frame) {
      result.problems.push_back({found.offset, frame.error()});
      continue;
    }
    if (frame->control) {
      result.problems.push_back(
          {found.offset, "a control command of the frame service, not a part of a load"});
      continue;
    }
    if (!frame->bypass) {
      if (expected && frame->count != *expected) {
        result.problems.push_back({found.offset, "frame " + std::to_string(frame->count) +
                                                     " comes where frame " + std::to_string(*expected) +
                                                     " was expected"});
      }
      expected = static_cast<std::uint8_t>(frame->count + 1U);
    }
    const std::optional<std::uint8_t> count = frame->bypass ? std::nullopt : std::optional(frame->count);
    constexpr unsigned first = 1;
    constexpr unsigned last = 2;
    constexpr unsigned whole = 3;
    if (frame->flags == whole || frame->flags == first) drop("another begins");
    if (frame->flags == whole) {
      const Carrier carrier{found.offset, found.size, count};
      read_packets(frame->data, &carrier, station, leap_seconds, result);
      continue;
    }
    if (frame->flags == first) {
      begun = Carrier{found.offset, found.size, count};
    } else if (!begun) {
      result.problems.push_back({found.offset, "a segment continues a packet that has not begun"});
      continue;
    }
    constexpr std::size_t longest_packet = 65'542;
    packet.insert(packet.end(), frame->data.begin(), frame->data.end());
    begun->size = found.offset + found.size - begun->offset;
    if (packet.size() > longest_packet) {
      drop("it grows longer than a packet can be");
    } else if (frame->flags == last) {
      const Carrier carrier = *begun;
      read_packets(packet, &carrier, station, leap_seconds, result);
      begun.reset();
      packet.clear();
    }
  }
  drop("the octets end");
}

}  // namespace cairn
