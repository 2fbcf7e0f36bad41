// Whole batches written straight into place.
//
// An insert packet is its command's pattern with counts, time tag and arguments filled in. Over a packet that
// ends in its own error control a CRC that starts from all ones comes to 0, and one that starts elsewhere to
// a linear function of the difference, which hangs on the packet's length alone and is looked up. So the
// octets of a command are gone over once, not once for each of the three error controls around them.

#include <algorithm>
#include <array>
#include <bit>
#include <cstring>
#include <memory>
#include <unordered_map>

#include "compiler/uplink/batch.h"
#include "compiler/uplink/checksum.h"
#include "compiler/uplink/link_unit.h"
#include "compiler/uplink/packet.h"
#include "compiler/uplink/transmission.h"

namespace cairn {

namespace {

constexpr std::size_t headers = 11;
constexpr std::size_t error_control = 2;
constexpr std::uint32_t modulus = 16384;

void put_two(std::uint8_t* at, std::uint32_t value) {
  at[0] = static_cast<std::uint8_t>(value >> 8U);
  at[1] = static_cast<std::uint8_t>(value & 0xFFU);
}

// What a difference in the register becomes over so many octets.
class Shift {
 public:
  explicit Shift(std::size_t octets) {
    const std::vector<std::uint8_t> zeros(octets);
    for (std::uint32_t i = 0; i < 256; ++i) {
      high_[i] = crc16_fast(zeros.data(), octets, static_cast<std::uint16_t>(i << 8U));
      low_[i] = crc16_fast(zeros.data(), octets, static_cast<std::uint16_t>(i));
    }
  }
  // The register after a packet of these octets that ends in its error control.
  [[nodiscard]] std::uint16_t over_packet(std::uint16_t before) const {
    const auto difference = static_cast<std::uint32_t>(before ^ crc_preset);
    return static_cast<std::uint16_t>(high_[difference >> 8U] ^ low_[difference & 0xFFU]);
  }

 private:
  std::array<std::uint16_t, 256> high_{};
  std::array<std::uint16_t, 256> low_{};
};

// Octets are written in eights and more, over the end of what is meant; what comes next overwrites them.
constexpr std::size_t slack = 64;

constexpr std::size_t usual_arguments = 4;

struct Pattern {
  std::array<std::uint8_t, slack> begin{};  // of the insert packet with nothing filled in
  Bytes octets;                             // all of it
  std::size_t size = 0;                     // of the packet; 0: not made yet
  std::size_t arguments = 0;
  std::array<std::uint8_t, usual_arguments> widths{};  // of the first arguments, zeros behind
  std::array<std::uint64_t, usual_arguments> masks{};
  std::vector<std::uint8_t> all_widths;
  std::vector<std::uint64_t> all_masks;
  int unused_bits = 0;            // behind the arguments, up to a whole octet
  int unused_octets = 0;          // of a word that holds all arguments
  bool fits_a_word = false;       // and the table of parts reaches to the request's beginning
  std::uint16_t head_crc = 0;     // of what stands before the request, with count and tag 0
  std::uint16_t request_crc = 0;  // with counts and arguments 0
  const Shift* over_request = nullptr;
  const Shift* over_packet = nullptr;
};

// What the last eight octets before a place add to the CRC there.
std::uint32_t part_of_word(std::uint64_t word) {
  std::uint32_t crc = 0;
#pragma GCC unroll 8
  for (std::size_t i = 0; i < 8; ++i) crc ^= crc16_parts[i][word >> (8 * i) & 0xFFU];
  return crc;
}

void put_eight(std::uint8_t* at, std::uint64_t value) {
  if constexpr (std::endian::native == std::endian::little) value = __builtin_bswap64(value);
  std::memcpy(at, &value, 8);
}

void put_four(std::uint8_t* at, std::uint64_t value) {
  auto half = static_cast<std::uint32_t>(value);
  if constexpr (std::endian::native == std::endian::little) half = __builtin_bswap32(half);
  std::memcpy(at, &half, 4);
}

class Encoder {
 public:
  Encoder(const BatchInput& input, EncodedBatch& result)
      : input_(input),
        station_(*input.station),
        link_(station_.link),
        tag_octets_(time_code_octets(station_.clock)),
        request_(headers + 1 + tag_octets_),
        varying_tag_(varying_octets(station_.clock)),
        has_short_tag_(station_.clock.time_code == TimeCodeForm::Unsegmented &&
                       station_.clock.fine_octets <= 4 && station_.clock.coarse_octets <= 4),
        fine_bits_(8 * station_.clock.fine_octets),
        result_(result) {
    patterns_.resize(station_.commands.size());
    if (link_.frames) {
      room_ = frame_room(*link_.frames);
      around_frame_ = link_.frames->longest - room_;
      const FrameLayout& layout = *link_.frames;
      put_two(frame_head_.data(), (has_numbered_frames(link_) ? 0U : 0x2000U) | layout.spacecraft_id);
      put_two(frame_head_.data() + 2, static_cast<std::uint32_t>(layout.channel) << 10U);
      frame_head_octets_ = layout.segments ? 6 : 5;
      if (layout.segments) frame_head_[5] = static_cast<std::uint8_t>(0xC0U | layout.access_point);
      blank_head_crc_ = crc16_fast(frame_head_.data(), frame_head_octets_);
    }
  }

  void run() {
    const std::size_t count = input_.commands.size();
    result_.request_ends.resize(count);
    result_.frames.clear();
    frame_count_ = input_.first_frame_count;
    // Group by group: what its lengths are taken from is then still at hand when it is written.
    std::size_t requests = 0;
    std::size_t on_air = 0;
    std::size_t next = 0;
    for (const std::size_t end : input_.group_ends) {
      const std::size_t begin = requests;
      for (std::size_t i = next; i < end; ++i) {
        requests += pattern_of(input_.commands[i]->command).size;
        result_.request_ends[i] = requests;
      }
      const std::size_t unit = octets_of(requests - begin);
      make_room(result_.requests, requests + slack);
      make_room(result_.on_air, on_air + unit + slack);
      std::uint8_t* const from = result_.requests.data() + begin;
      std::uint8_t* at = from;
      result_.frames.push_back(has_numbered_frames(link_) ? frame_count_ : std::uint8_t{0});
      begin_frame(requests - begin);
      for (; next < end; ++next) at = write_insert(next, at);
      on_air_ = result_.on_air.data() + on_air;
      put_on_air({from, at}, begin >= frame_head_.size());
      on_air += unit;
    }
    result_.requests.resize(requests);
    result_.on_air.resize(on_air);
    result_.next_frame_count = frame_count_;
  }

 private:
  static void make_room(Bytes& bytes, std::size_t size) {
    if (bytes.size() < size) bytes.resize(bytes.capacity() < size ? 2 * size : size);
  }

  static std::size_t varying_octets(const StationClock& clock) {
    if (clock.time_code == TimeCodeForm::DaySegmented) return 8;
    return static_cast<std::size_t>(clock.coarse_octets + clock.fine_octets);
  }

  const Shift* shift_over(std::size_t octets) {
    std::unique_ptr<Shift>& shift = shifts_[octets];
    if (!shift) shift = std::make_unique<Shift>(octets);
    return shift.get();
  }

  const Pattern& pattern_of(CommandId id) {
    Pattern& pattern = patterns_[id.value];
    if (pattern.size > 0) return pattern;
    TimedCommand blank{{}, id, {}};
    blank.arguments.resize(station_.commands[id].arguments.size());
    const Bytes request = request_packet(station_, blank, 0);
    pattern.octets = insert_packet(station_, Instant{}, request, 0, *input_.leap_seconds);
    pattern.size = pattern.octets.size();
    pattern.arguments = request_ + headers + 2;
    pattern.over_request = shift_over(request.size());
    pattern.over_packet = shift_over(pattern.size);
    int bits = 0;
    for (const ArgumentDefinition& argument : station_.commands[id].arguments) {
      const int width = argument.encoding.width;
      pattern.all_widths.push_back(static_cast<std::uint8_t>(width));
      pattern.all_masks.push_back(width == 64 ? ~std::uint64_t{0} : (std::uint64_t{1} << width) - 1);
      bits += width;
    }
    for (std::size_t i = 0; i < std::min(pattern.all_widths.size(), usual_arguments); ++i) {
      pattern.widths[i] = pattern.all_widths[i];
      pattern.masks[i] = pattern.all_masks[i];
    }
    // A word is never shifted by its whole width.
    pattern.fits_a_word = bits < 64 && request.size() <= crc_rows;
    pattern.unused_bits = (8 - bits % 8) % 8;
    pattern.unused_octets = std::min(7, 8 - (bits + 7) / 8);
    pattern.request_crc = crc16_fast(request.data(), request.size() - error_control);
    Bytes head(pattern.octets.begin(), pattern.octets.begin() + static_cast<std::ptrdiff_t>(request_));
    std::fill(head.end() - static_cast<std::ptrdiff_t>(varying_tag_), head.end(), std::uint8_t{0});
    pattern.head_crc = crc16_fast(head.data(), head.size());
    std::copy_n(pattern.octets.begin(), std::min(pattern.size, slack), pattern.begin.begin());
    return pattern;
  }

  // Writes the time tag that ends a head; returns what it adds to the CRC.
  std::uint32_t write_tag(Instant time, std::uint8_t* at) const {
    if (!has_short_tag_) {
      const Bytes tag = time_code(station_.clock, time, *input_.leap_seconds);
      std::copy(tag.begin(), tag.end(), at);
      std::uint32_t crc = 0;
      const std::uint8_t* varying = at + tag_octets_ - varying_tag_;
      for (std::size_t i = 0; i < varying_tag_; ++i) crc ^= crc16_parts[varying_tag_ - 1 - i][varying[i]];
      return crc;
    }
    // The preamble is a part of the pattern.
    at += tag_octets_ - varying_tag_;
    const auto nanoseconds = static_cast<std::uint64_t>(time.tai_nanoseconds);
    constexpr auto second = static_cast<std::uint64_t>(nanoseconds_per_second);
    const std::uint64_t seconds = nanoseconds / second;
    const std::uint64_t fraction = ((nanoseconds % second) << fine_bits_) / second;
    // Four to eight octets as the first four and the last four; a time before 2^32 s fits any of them.
    const std::uint64_t both = seconds << fine_bits_ | fraction;
    put_four(at, both >> (8 * (varying_tag_ - 4)));
    put_four(at + varying_tag_ - 4, both);
    return part_of_word(both);
  }

  // In the last octets of a word, without a branch that hangs on how many there are: that would be guessed
  // wrong too often.
  static std::uint64_t in_one_word(const Pattern& pattern, const std::vector<ArgumentValue>& arguments) {
    static constexpr ArgumentValue none{};
    const ArgumentValue* const value = arguments.data();
    const std::size_t count = arguments.size();
    std::uint64_t word = 0;
#pragma GCC unroll 4
    for (std::size_t i = 0; i < usual_arguments; ++i) {
      word = word << pattern.widths[i] | ((i < count ? value + i : &none)->raw & pattern.masks[i]);
    }
    for (std::size_t i = usual_arguments; i < count; ++i) {
      word = word << pattern.all_widths[i] | (value[i].raw & pattern.all_masks[i]);
    }
    return word << pattern.unused_bits;
  }

  // Bit by bit, where they are more than a word holds.
  static void write_arguments(const Pattern& pattern, const TimedCommand& command, std::uint8_t* at) {
    unsigned open = 0;
    for (std::size_t i = 0; i < command.arguments.size(); ++i) {
      for (unsigned bit = pattern.all_widths[i]; bit-- > 0;) {
        if (open == 0) *at = 0;
        *at = static_cast<std::uint8_t>(*at | (command.arguments[i].raw >> bit & 1U) << (7 - open));
        open = (open + 1) % 8;
        if (open == 0) ++at;
      }
    }
  }

  std::uint8_t* write_insert(std::size_t index, std::uint8_t* at) {
    // Commands and their arguments lie scattered: asked for ahead, they are there when their turn comes.
    constexpr std::size_t ahead = 8;
    if (index + 2 * ahead < input_.commands.size()) {
      __builtin_prefetch(input_.commands[index + 2 * ahead]);
      __builtin_prefetch(input_.commands[index + ahead]->arguments.data());
    }
    const TimedCommand& command = *input_.commands[index];
    const Pattern& pattern = patterns_[command.command.value];
    std::memcpy(at, pattern.begin.data(), slack);
    if (pattern.size > slack) std::memcpy(at, pattern.octets.data(), pattern.size);
    const auto own = (input_.first_sequence_count + 2 * static_cast<std::uint32_t>(index)) % modulus;
    put_two(at + 2, 0xC000U | (own + 1) % modulus);
    const std::uint32_t head_crc =
        pattern.head_crc ^ part_of_count(at, request_) ^ write_tag(command.time, at + headers + 1);
    std::uint8_t* request = at + request_;
    put_two(request + 2, 0xC000U | own);
    const std::size_t inner = pattern.size - request_ - 2 * error_control;
    std::uint32_t crc = 0;
    if (pattern.fits_a_word) {
      const std::uint64_t word = in_one_word(pattern, command.arguments);
      put_eight(at + pattern.arguments, word << (8 * pattern.unused_octets));
      crc = pattern.request_crc ^ part_of_count(request, inner) ^ part_of_word(word);
    } else {
      write_arguments(pattern, command, at + pattern.arguments);
      crc = crc16_fast(request, inner);
    }
    put_two(request + inner, crc);
    put_two(at + pattern.size - error_control,
            pattern.over_request->over_packet(static_cast<std::uint16_t>(head_crc)));
    frame_crc_ = pattern.over_packet->over_packet(frame_crc_);
    return at + pattern.size;
  }

  // What changes between packets of a pattern adds its part to the CRC of the pattern.
  static std::uint16_t part_of_count(const std::uint8_t* packet, std::size_t size) {
    return static_cast<std::uint16_t>(crc16_parts[size - 3][packet[2] & 0x3FU] ^
                                      crc16_parts[size - 4][packet[3]]);
  }

  // On air, of one group.
  [[nodiscard]] std::size_t octets_of(std::size_t packets) const {
    if (!link_.frames || packets > room_) return octets_on_air(link_, packets);
    const std::size_t frame = packets + around_frame_;
    if (!link_.units) return frame;
    return link_.units->acquisition + unit_octets(frame) + link_.units->idle;
  }

  // The frame's own head, for the packets that are written next.
  void begin_frame(std::size_t packets) {
    if (!link_.frames || packets > room_) return;
    const auto length = static_cast<std::uint32_t>(packets + around_frame_ - 1);
    const std::uint8_t number = has_numbered_frames(link_) ? frame_count_++ : std::uint8_t{0};
    put_two(frame_head_.data() + 2, static_cast<std::uint32_t>(link_.frames->channel) << 10U | length);
    frame_head_[4] = number;
    const std::size_t behind = frame_head_octets_ - 5;  // the number
    frame_crc_ =
        static_cast<std::uint16_t>(blank_head_crc_ ^ crc16_parts[behind + 2][length >> 8U] ^
                                   crc16_parts[behind + 1][length & 0xFFU] ^ crc16_parts[behind][number]);
  }

  void put_on_air(std::span<std::uint8_t> packets, bool has_room_before) {
    const FrameType type = has_numbered_frames(link_) ? FrameType::InSequence : FrameType::Bypass;
    if (!link_.frames || packets.size() > room_) {
      Bytes plain;
      append_on_air(link_, type, {packets.begin(), packets.end()}, frame_count_, plain);
      on_air_ = std::copy(plain.begin(), plain.end(), on_air_);
      return;
    }
    const std::size_t length = packets.size() + around_frame_;
    // The frame stands around the packets for a moment, where other packets end before them and begin behind.
    if (link_.units && !link_.units->randomized && has_room_before) {
      std::uint8_t* const frame = packets.data() - frame_head_octets_;
      std::array<std::uint8_t, 6> before{};
      std::memcpy(before.data(), packets.data() - before.size(), before.size());
      std::memcpy(frame, frame_head_.data(), frame_head_octets_);
      if (link_.frames->error_control) put_two(frame + length - error_control, frame_crc_);
      on_air_ = write_unit_on_air(*link_.units, frame, length, on_air_);
      std::memcpy(packets.data() - before.size(), before.data(), before.size());
      return;
    }
    std::array<std::uint8_t, 1024 + 8> frame;  // what is used of it is written first
    std::memcpy(frame.data(), frame_head_.data(), frame_head_.size());
    std::memcpy(frame.data() + frame_head_octets_, packets.data(), packets.size());
    if (link_.frames->error_control) put_two(frame.data() + length - error_control, frame_crc_);
    if (link_.units) {
      on_air_ = write_unit_on_air(*link_.units, frame.data(), length, on_air_);
    } else {
      on_air_ = std::copy_n(frame.begin(), length, on_air_);
    }
  }

  const BatchInput& input_;
  const Station& station_;
  const CommandLink& link_;
  std::size_t tag_octets_;
  std::size_t request_;         // where the command's own packet begins in the insert packet
  std::size_t varying_tag_;     // octets of the tag without its preamble
  bool has_short_tag_ = false;  // of four to eight octets, seconds and their binary fraction
  int fine_bits_ = 0;
  std::size_t room_ = 0;
  std::size_t around_frame_ = 0;
  EncodedBatch& result_;
  std::vector<Pattern> patterns_;
  std::unordered_map<std::size_t, std::unique_ptr<Shift>> shifts_;
  // Of the frame that a group goes up in: where its packets begin, and the CRC up to where they end by now.
  std::array<std::uint8_t, 6> frame_head_{};
  std::size_t frame_head_octets_ = 0;
  std::uint16_t blank_head_crc_ = 0;  // with length and number 0
  std::uint16_t frame_crc_ = 0;
  std::uint8_t frame_count_ = 0;
  std::uint8_t* on_air_ = nullptr;
};

}  // namespace

void encode_batch_fast(const BatchInput& input, EncodedBatch& result) {
  if (input.station->link.profile == LinkProfile::Word) {
    encode_batch_plain(input, result);
  } else {
    Encoder(input, result).run();
  }
}

}  // namespace cairn
