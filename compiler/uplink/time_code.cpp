// Time codes of CCSDS 301.0-B-4: CUC counts TAI from 1958, CDS counts UTC days and milliseconds of the day.

#include <algorithm>

#include "compiler/uplink/packet.h"

namespace cairn {

namespace {

constexpr std::int64_t second = nanoseconds_per_second;

void put(Bytes& out, std::uint64_t value, int octets) {
  for (int i = octets - 1; i >= 0; --i) out.push_back(static_cast<std::uint8_t>((value >> (8 * i)) & 0xFFU));
}

__extension__ typedef unsigned __int128 Wide;

// Fraction of a second in units of 256^-octets, truncated towards the past; wide because 2^24 * 1e9 is not
// small.
std::uint64_t fraction_of(std::int64_t nanoseconds, int octets) {
  const Wide scaled = static_cast<Wide>(static_cast<std::uint64_t>(nanoseconds)) << (8 * octets);
  return static_cast<std::uint64_t>(scaled / static_cast<Wide>(second));
}

}  // namespace

std::size_t time_code_octets(const StationClock& clock) {
  if (clock.time_code == TimeCodeForm::DaySegmented) return clock.preamble ? 9 : 8;
  const bool extended = clock.coarse_octets > 4 || clock.fine_octets > 3;
  const std::size_t preamble = clock.preamble ? (extended ? 2U : 1U) : 0U;
  return preamble + static_cast<std::size_t>(clock.coarse_octets + clock.fine_octets);
}

Bytes time_code(const StationClock& clock, Instant time, const LeapSecondTable& leap_seconds) {
  Bytes out;
  if (clock.time_code == TimeCodeForm::Unsegmented) {
    if (clock.preamble) {
      // Up to four coarse and three fine octets fit in the first octet; more go into a second one.
      const int coarse = std::clamp(clock.coarse_octets, 1, 4);
      const int fine = std::clamp(clock.fine_octets, 0, 3);
      const bool extended = clock.coarse_octets > 4 || clock.fine_octets > 3;
      put(out,
          (extended ? 0x80U : 0U) | 0x10U | static_cast<unsigned>((coarse - 1) << 2) |
              static_cast<unsigned>(fine),
          1);
      if (extended) {
        put(out,
            static_cast<unsigned>(clock.coarse_octets - coarse) << 5U |
                static_cast<unsigned>(clock.fine_octets - fine) << 2U,
            1);
      }
    }
    put(out, static_cast<std::uint64_t>(time.tai_nanoseconds / second), clock.coarse_octets);
    put(out, fraction_of(time.tai_nanoseconds % second, clock.fine_octets), clock.fine_octets);
    return out;
  }
  // Day segmented: 16-bit day, milliseconds of the day, microseconds of the millisecond.
  const UtcDayTime utc = to_utc_day_time(time, leap_seconds);
  if (clock.preamble) put(out, 0x41, 1);
  put(out, static_cast<std::uint64_t>(utc.day), 2);
  put(out, static_cast<std::uint64_t>(utc.nanoseconds_of_day / 1'000'000), 4);
  put(out, static_cast<std::uint64_t>(utc.nanoseconds_of_day % 1'000'000 / 1'000), 2);
  return out;
}

Instant representable_time(const StationClock& clock, Instant time, const LeapSecondTable& leap_seconds) {
  const std::int64_t tick = std::max<std::int64_t>(clock.tick.nanoseconds, 1);
  Instant rounded{(time.tai_nanoseconds + tick / 2) / tick * tick};
  if (clock.time_code == TimeCodeForm::Unsegmented) {
    // What the counter's last octet stands for, read back: never later than asked, less than one count
    // earlier.
    const std::uint64_t counts = fraction_of(rounded.tai_nanoseconds % second, clock.fine_octets);
    // Rounded up to a nanosecond, so that it is written with the same count again.
    const Wide unit = Wide{1} << (8 * clock.fine_octets);
    const Wide back = (static_cast<Wide>(counts) * static_cast<Wide>(second) + unit - 1) / unit;
    return {rounded.tai_nanoseconds / second * second + static_cast<std::int64_t>(back)};
  }
  const UtcDayTime utc = to_utc_day_time(rounded, leap_seconds);
  return rounded - Duration{utc.nanoseconds_of_day % 1'000};
}

}  // namespace cairn
