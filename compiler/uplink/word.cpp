// Command words, bit by bit.

#include "compiler/uplink/word.h"

#include <algorithm>

#include "compiler/uplink/packet.h"

namespace cairn {

namespace {

enum class WordKind : std::uint8_t { Load = 0, Withdraw = 1, Data = 2, Close = 3 };

// Bits one after another, the most significant first.
class BitRow {
 public:
  void put(std::uint64_t value, int width) {
    for (int bit = width - 1; bit >= 0; --bit) bits_.push_back(((value >> bit) & 1U) != 0);
  }
  [[nodiscard]] std::size_t size() const { return bits_.size(); }
  // `width` bits from `at` on, zeros behind the end.
  [[nodiscard]] std::uint64_t take(std::size_t at, int width) const {
    std::uint64_t value = 0;
    for (int i = 0; i < width; ++i, ++at) value = value << 1U | (at < bits_.size() && bits_[at] ? 1U : 0U);
    return value;
  }

 private:
  std::vector<bool> bits_;
};

std::uint64_t mask_of(int width) { return width >= 64 ? ~std::uint64_t{0} : (std::uint64_t{1} << width) - 1; }

class WordRow {
 public:
  WordRow(const Station& station) : layout_(station.link.words), address_(station.address) {}

  void put(WordKind kind, std::uint64_t body) {
    BitRow word;
    word.put(address_, layout_.address_width);
    word.put(~std::uint64_t{address_}, layout_.address_width);
    word.put(static_cast<std::uint64_t>(kind), 2);
    word.put(body, layout_.body_width);
    if (layout_.check == WordCheck::Complement) {
      word.put(~static_cast<std::uint64_t>(kind), 2);
      word.put(~body, layout_.body_width);
    } else {
      // Odd over the whole word.
      bool odd = false;
      for (std::size_t i = 0; i < word.size(); ++i) odd = odd != (word.take(i, 1) != 0);
      word.put(odd ? 0 : 1, 1);
    }
    for (std::size_t at = 0; at < word.size(); at += 8)
      out_.push_back(static_cast<std::uint8_t>(word.take(at, 8)));
    sum_ += body * weight_;
    weight_ += 2;
  }
  Bytes close() {
    put(WordKind::Close, sum_ & mask_of(layout_.body_width));
    return std::move(out_);
  }
  void put_data(const BitRow& bits) {
    const auto step = static_cast<std::size_t>(layout_.body_width);
    for (std::size_t at = 0; at < bits.size(); at += step)
      put(WordKind::Data, bits.take(at, layout_.body_width));
  }

 private:
  const WordLayout& layout_;
  std::uint16_t address_;
  Bytes out_;
  std::uint64_t sum_ = 0;
  std::uint64_t weight_ = 1;  // odd, so that no bit of a body drops out of the sum
};

BitRow tag_of(const Station& station, Instant time, const LeapSecondTable& leap_seconds) {
  BitRow bits;
  for (const std::uint8_t octet : time_code(station.clock, time, leap_seconds)) bits.put(octet, 8);
  return bits;
}

// As a time tag, its preamble included, all else zero: no time that a load could have.
BitRow tag_of_now(const Station& station, Instant time, const LeapSecondTable& leap_seconds) {
  const StationClock& clock = station.clock;
  Bytes octets = time_code(clock, time, leap_seconds);
  const std::size_t varying = clock.time_code == TimeCodeForm::DaySegmented
                                  ? 8
                                  : static_cast<std::size_t>(clock.coarse_octets + clock.fine_octets);
  std::fill(octets.end() - static_cast<std::ptrdiff_t>(varying), octets.end(), std::uint8_t{0});
  BitRow bits;
  for (const std::uint8_t octet : octets) bits.put(octet, 8);
  return bits;
}

}  // namespace

Bytes load_words(const Station& station, const TimedCommand& command, const LeapSecondTable& leap_seconds) {
  const CommandDefinition& definition = station.commands[command.command];
  BitRow bits = command.immediate ? tag_of_now(station, command.time, leap_seconds)
                                  : tag_of(station, command.time, leap_seconds);
  for (std::size_t i = 0; i < definition.arguments.size(); ++i) {
    bits.put(command.arguments[i].raw, definition.arguments[i].encoding.width);
  }
  WordRow row(station);
  row.put(WordKind::Load, definition.number);
  row.put_data(bits);
  return row.close();
}

Bytes withdraw_words(const Station& station, const TimedCommand& command,
                     const LeapSecondTable& leap_seconds) {
  WordRow row(station);
  row.put(WordKind::Withdraw, station.commands[command.command].number);
  row.put_data(tag_of(station, command.time, leap_seconds));
  return row.close();
}

Bytes repeat_words(const WordLayout& layout, const Bytes& words) {
  const auto octets = static_cast<std::size_t>(layout.width() / 8);
  Bytes out;
  out.reserve(words.size() * static_cast<std::size_t>(layout.repeats));
  for (std::size_t at = 0; at + octets <= words.size(); at += octets) {
    const auto begin = words.begin() + static_cast<std::ptrdiff_t>(at);
    for (int i = 0; i < layout.repeats; ++i)
      out.insert(out.end(), begin, begin + static_cast<std::ptrdiff_t>(octets));
  }
  return out;
}

std::uint32_t word_entry_octets(const Station& station, const CommandDefinition& command) {
  std::size_t bits =
      static_cast<std::size_t>(station.link.words.body_width) + 8 * time_code_octets(station.clock);
  for (const ArgumentDefinition& argument : command.arguments)
    bits += static_cast<std::size_t>(argument.encoding.width);
  return static_cast<std::uint32_t>((bits + 7) / 8);
}

}  // namespace cairn
