// The way of the bytes through the layers, as the station's profile says.

#include "compiler/uplink/decoder/decoder.h"

#include "compiler/uplink/decoder/layers.h"

namespace cairn {

Decoded decode(std::span<const std::uint8_t> bytes, const Station& station,
               const LeapSecondTable& leap_seconds) {
  Decoded result;
  const CommandLink& link = station.link;
  if (link.profile == LinkProfile::Word) {
    read_words(bytes, station, leap_seconds, result);
  } else if (!link.frames) {
    read_packets(bytes, nullptr, station, leap_seconds, result);
  } else {
    const std::vector<FoundFrame> frames =
        link.units ? find_units(bytes, *link.units, result) : split_frames(bytes, result);
    read_frames(frames, station, leap_seconds, result);
  }
  return result;
}

}  // namespace cairn
