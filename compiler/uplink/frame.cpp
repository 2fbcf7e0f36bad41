// Transfer frames, octet by octet.

#include "compiler/uplink/frame.h"

#include <algorithm>

#include "compiler/uplink/checksum.h"

namespace cairn {

namespace {

constexpr std::size_t header = 5;

std::size_t overhead(const FrameLayout& layout) {
  return header + (layout.segments ? 1U : 0U) + (layout.error_control ? 2U : 0U);
}

// Sequence flags of the segment header.
constexpr unsigned continues = 0;
constexpr unsigned first = 1;
constexpr unsigned last = 2;
constexpr unsigned whole = 3;

}  // namespace

std::size_t frame_room(const FrameLayout& layout) { return layout.longest - overhead(layout); }

FrameCut cut_into_frames(const FrameLayout& layout, std::size_t octets) {
  const std::size_t room = frame_room(layout);
  const std::size_t frames = std::max<std::size_t>((octets + room - 1) / room, 1);
  return {frames, octets - (frames - 1) * room + overhead(layout)};
}

std::vector<Bytes> make_frames(const FrameLayout& layout, FrameType type,
                               std::span<const std::uint8_t> packets, std::uint8_t& count) {
  const std::size_t room = frame_room(layout);
  const std::size_t frames = cut_into_frames(layout, packets.size()).frames;
  std::vector<Bytes> result;
  result.reserve(frames);
  for (std::size_t i = 0; i < frames; ++i) {
    const std::span<const std::uint8_t> data =
        packets.subspan(i * room, std::min(room, packets.size() - i * room));
    const std::size_t length = data.size() + overhead(layout) - 1;
    const bool bypass = type == FrameType::Bypass;
    Bytes frame;
    frame.reserve(length + 1);
    frame.push_back(static_cast<std::uint8_t>((bypass ? 0x20U : 0U) | layout.spacecraft_id >> 8U));
    frame.push_back(static_cast<std::uint8_t>(layout.spacecraft_id & 0xFFU));
    frame.push_back(static_cast<std::uint8_t>(static_cast<unsigned>(layout.channel) << 2U | length >> 8U));
    frame.push_back(static_cast<std::uint8_t>(length & 0xFFU));
    frame.push_back(bypass ? std::uint8_t{0} : count++);
    if (layout.segments) {
      const unsigned flags = frames == 1 ? whole : i == 0 ? first : i + 1 == frames ? last : continues;
      frame.push_back(static_cast<std::uint8_t>(flags << 6U | layout.access_point));
    }
    frame.insert(frame.end(), data.begin(), data.end());
    if (layout.error_control) {
      const std::uint16_t crc = crc16_fast(frame.data(), frame.size());
      frame.push_back(static_cast<std::uint8_t>(crc >> 8U));
      frame.push_back(static_cast<std::uint8_t>(crc & 0xFFU));
    }
    result.push_back(std::move(frame));
  }
  return result;
}

}  // namespace cairn
