// Each request made for itself, each layer after the other.

#include "compiler/uplink/batch.h"
#include "compiler/uplink/packet.h"
#include "compiler/uplink/transmission.h"
#include "compiler/uplink/word.h"

namespace cairn {

bool has_numbered_frames(const CommandLink& link) {
  return link.profile == LinkProfile::Packet && link.frames && link.frames->in_sequence;
}

void encode_batch_plain(const BatchInput& input, EncodedBatch& result) {
  constexpr std::uint32_t modulus = 16384;
  const Station& station = *input.station;
  const bool words = station.link.profile == LinkProfile::Word;
  const FrameType type = has_numbered_frames(station.link) ? FrameType::InSequence : FrameType::Bypass;
  result = {};
  std::uint8_t frame = input.first_frame_count;
  std::size_t at = 0;
  for (const std::size_t end : input.group_ends) {
    Bytes together;
    for (; at < end; ++at) {
      const TimedCommand& command = *input.commands[at];
      const auto own = static_cast<std::uint16_t>((input.first_sequence_count + 2 * at) % modulus);
      const auto insert = static_cast<std::uint16_t>((own + 1U) % modulus);
      const Bytes request = words
                                ? load_words(station, command, *input.leap_seconds)
                                : insert_packet(station, command.time, request_packet(station, command, own),
                                                insert, *input.leap_seconds);
      together.insert(together.end(), request.begin(), request.end());
      result.request_ends.push_back(result.requests.size() + together.size());
    }
    result.requests.insert(result.requests.end(), together.begin(), together.end());
    result.frames.push_back(type == FrameType::InSequence ? frame : std::uint8_t{0});
    append_on_air(station.link, type, together, frame, result.on_air);
  }
  result.next_frame_count = frame;
}

void encode_immediate(const Station& station, const TimedCommand& command, std::uint16_t sequence_count,
                      std::uint8_t first_frame_count, const LeapSecondTable& leap_seconds,
                      EncodedBatch& result) {
  const bool words = station.link.profile == LinkProfile::Word;
  const FrameType type = has_numbered_frames(station.link) ? FrameType::InSequence : FrameType::Bypass;
  result = {};
  result.next_frame_count = first_frame_count;
  result.requests =
      words ? load_words(station, command, leap_seconds) : request_packet(station, command, sequence_count);
  result.request_ends = {result.requests.size()};
  result.frames = {type == FrameType::InSequence ? first_frame_count : std::uint8_t{0}};
  append_on_air(station.link, type, result.requests, result.next_frame_count, result.on_air);
}

}  // namespace cairn
