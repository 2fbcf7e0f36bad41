// The layers of the decoder, each in a file of its own: link units to frames, frames to packets, packets or
// words to requests. Only the decoder's own files include this.

#pragma once

#include "compiler/uplink/decoder/decoder.h"

namespace cairn {

// ---- fields.cpp ----

// CRC-16 over octets that end in their own error control: 0 when all is well.
std::uint16_t check_sum(std::span<const std::uint8_t> bytes);

// Takes fields off the front; running out is remembered, never read past.
class FieldReader {
 public:
  explicit FieldReader(std::span<const std::uint8_t> bytes) : bytes_(bytes) {}

  std::uint64_t octets(std::size_t count);
  std::uint64_t bits(int count);
  // Bits left in a begun octet; they must be zero.
  bool padding_is_zero() { return bit_ == 0 || bits(static_cast<int>(8 - bit_)) == 0; }
  [[nodiscard]] bool is_short() const { return is_short_; }
  [[nodiscard]] std::span<const std::uint8_t> rest() const { return bytes_.subspan(at_); }

 private:
  std::span<const std::uint8_t> bytes_;
  std::size_t at_ = 0;
  unsigned bit_ = 0;
  bool is_short_ = false;
};

std::expected<Instant, std::string> read_time_tag(FieldReader& reader, const StationClock& clock,
                                                  const LeapSecondTable& leap_seconds);

// As above; nullopt: zero behind its preamble, which stands for "when it is received".
std::expected<std::optional<Instant>, std::string> read_time_tag_or_now(FieldReader& reader,
                                                                        const StationClock& clock,
                                                                        const LeapSecondTable& leap_seconds);

// ---- units.cpp, frames.cpp, packets.cpp, words.cpp ----

// Octets of a frame and where they were found.
struct FoundFrame {
  std::size_t offset = 0;
  std::size_t size = 0;
  std::vector<std::uint8_t> octets;
};

// Looks for link units bit by bit; corrects single errors of each codeblock. What is neither a unit nor the
// alternating bits between units is a problem.
std::vector<FoundFrame> find_units(std::span<const std::uint8_t> bytes, const UnitLayout& layout,
                                   Decoded& result);

// Bare frames one after another.
std::vector<FoundFrame> split_frames(std::span<const std::uint8_t> bytes, Decoded& result);

// What packets came in: the unit or frame they begin in, up to the end of the one they end in.
struct Carrier {
  std::size_t offset = 0;
  std::size_t size = 0;
  std::optional<std::uint8_t> count;  // number of the first frame; none: type BD
};

// Checks the frames, puts segments together again and reads the packets in them.
void read_frames(const std::vector<FoundFrame>& frames, const Station& station,
                 const LeapSecondTable& leap_seconds, Decoded& result);

// Without a carrier the octets are those of the file.
void read_packets(std::span<const std::uint8_t> bytes, const Carrier* carrier, const Station& station,
                  const LeapSecondTable& leap_seconds, Decoded& result);

void read_words(std::span<const std::uint8_t> bytes, const Station& station,
                const LeapSecondTable& leap_seconds, Decoded& result);

}  // namespace cairn
