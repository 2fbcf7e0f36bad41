// Fields off the front of some octets, the CRC bit by bit, and the time tags of CCSDS 301.0-B.

#include <algorithm>
#include <string>

#include "compiler/uplink/decoder/layers.h"

namespace cairn {

std::uint16_t check_sum(std::span<const std::uint8_t> bytes) {
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

std::uint64_t FieldReader::octets(std::size_t count) {
  std::uint64_t value = 0;
  for (std::size_t i = 0; i < count; ++i) value = value << 8U | bits(8);
  return is_short_ ? 0 : value;
}

std::uint64_t FieldReader::bits(int count) {
  std::uint64_t value = 0;
  for (int i = 0; i < count; ++i) {
    if (at_ >= bytes_.size()) {
      is_short_ = true;
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

std::expected<Instant, std::string> read_time_tag(FieldReader& reader, const StationClock& clock,
                                                  const LeapSecondTable& leap_seconds) {
  if (clock.time_code == TimeCodeForm::DaySegmented) {
    if (clock.preamble && reader.octets(1) != 0x41)
      return std::unexpected("the time tag's preamble is not 41");
    UtcDayTime utc;
    utc.day = static_cast<std::int64_t>(reader.octets(2));
    utc.nanoseconds_of_day = static_cast<std::int64_t>(reader.octets(4)) * 1'000'000;
    const std::uint64_t microseconds = reader.octets(2);
    if (microseconds > 999)
      return std::unexpected("the time tag has more than 999 microseconds in a millisecond");
    utc.nanoseconds_of_day += static_cast<std::int64_t>(microseconds) * 1'000;
    const auto time = from_utc_day_time(utc, leap_seconds);
    if (!time) return std::unexpected("the time tag is no time of that day");
    return *time;
  }
  int coarse = clock.coarse_octets;
  int fine = clock.fine_octets;
  if (clock.preamble) {
    const auto first = static_cast<unsigned>(reader.octets(1));
    if ((first >> 4U & 7U) != 1)
      return std::unexpected("the time tag's preamble is not the code of epoch 1958");
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

std::expected<std::optional<Instant>, std::string> read_time_tag_or_now(FieldReader& reader,
                                                                        const StationClock& clock,
                                                                        const LeapSecondTable& leap_seconds) {
  if (clock.time_code == TimeCodeForm::DaySegmented) {
    // Day 0 is no time that a calendar with leap seconds knows: the octets themselves are looked at.
    const std::size_t preamble = clock.preamble ? 1 : 0;
    const std::span<const std::uint8_t> rest = reader.rest();
    const auto is_zero = [](std::uint8_t octet) { return octet == 0; };
    if (rest.size() >= preamble + 8 && (!clock.preamble || rest[0] == 0x41) &&
        std::all_of(rest.begin() + static_cast<std::ptrdiff_t>(preamble),
                    rest.begin() + static_cast<std::ptrdiff_t>(preamble + 8), is_zero)) {
      reader.octets(preamble + 8);
      return std::nullopt;
    }
  }
  const auto time = read_time_tag(reader, clock, leap_seconds);
  if (!time) return std::unexpected(time.error());
  if (*time == Instant{}) return std::nullopt;
  return *time;
}

}  // namespace cairn
