// Command words back to requests, for the word profile.
//
// Each word comes as often as the station file says. A copy counts when its address, the complement of that
// and its check agree; without any that does, the copies are outvoted bit by bit, and what comes of it must
// agree in itself.

#include <algorithm>
#include <string>

#include "compiler/uplink/decoder/layers.h"

namespace cairn {

namespace {

enum class Kind : unsigned { Load = 0, Withdraw = 1, Data = 2, Close = 3 };

struct Word {
  Kind kind = Kind::Load;
  std::uint64_t body = 0;
  bool operator==(const Word&) const = default;
};

std::uint64_t ones(int width) { return width >= 64 ? ~std::uint64_t{0} : (std::uint64_t{1} << width) - 1; }

std::optional<Word> open_word(std::span<const std::uint8_t> octets, const Station& station) {
  const WordLayout& layout = station.link.words;
  FieldReader reader(octets);
  const std::uint64_t address = reader.bits(layout.address_width);
  const std::uint64_t complement = reader.bits(layout.address_width);
  if (address != station.address || (address ^ complement) != ones(layout.address_width)) return std::nullopt;
  Word word;
  const std::uint64_t kind = reader.bits(2);
  word.kind = static_cast<Kind>(kind);
  word.body = reader.bits(layout.body_width);
  if (layout.check == WordCheck::Complement) {
    if ((reader.bits(2) ^ kind) != 3 ||
        (reader.bits(layout.body_width) ^ word.body) != ones(layout.body_width)) {
      return std::nullopt;
    }
  } else {
    bool odd = false;
    for (const std::uint8_t octet : octets) {
      for (unsigned bit = 0; bit < 8; ++bit) odd = odd != ((octet >> bit & 1U) != 0);
    }
    if (!odd) return std::nullopt;
  }
  return word;
}

class WordsReader {
 public:
  WordsReader(std::span<const std::uint8_t> bytes, const Station& station,
              const LeapSecondTable& leap_seconds, Decoded& result)
      : bytes_(bytes),
        station_(station),
        leap_seconds_(leap_seconds),
        result_(result),
        octets_(static_cast<std::size_t>(station.link.words.width() / 8)),
        repeats_(static_cast<std::size_t>(station.link.words.repeats)) {}

  void run() {
    while (at_ < bytes_.size()) {
      const std::size_t begin = at_;
      const std::optional<Word> word = next();
      if (!word) {
        skip(begin);
        continue;
      }
      if (word->kind == Kind::Load || word->kind == Kind::Withdraw) {
        read_request(begin, *word);
      } else {
        problem(begin, word->kind == Kind::Data ? "a data word comes outside a request"
                                                : "a closing word comes outside a request");
      }
    }
  }

 private:
  void problem(std::size_t offset, std::string message) {
    result_.problems.push_back({offset, std::move(message)});
  }

  // The word whose copies stand here; goes past them. Nullopt, without moving, when they say nothing.
  std::optional<Word> next() {
    const std::size_t group = octets_ * repeats_;
    if (bytes_.size() - at_ < group) return std::nullopt;
    std::vector<Word> good;
    for (std::size_t copy = 0; copy < repeats_; ++copy) {
      if (const auto word = open_word(copy_at(copy), station_)) good.push_back(*word);
    }
    const std::vector<std::uint8_t> voted = good.empty() ? outvoted() : std::vector<std::uint8_t>();
    const std::optional<Word> answer = good.empty() ? open_word(voted, station_) : most_frequent(good);
    if (!answer) return std::nullopt;
    std::size_t agree = 0;
    last_ = voted;
    for (std::size_t copy = 0; copy < repeats_; ++copy) {
      const auto octets = copy_at(copy);
      if (open_word(octets, station_) != answer) continue;
      ++agree;
      last_.assign(octets.begin(), octets.end());
    }
    if (agree != repeats_) {
      result_.corrections.push_back({at_, std::to_string(repeats_ - agree) + " of " +
                                              std::to_string(repeats_) + " copies of a word were wrong"});
    }
    at_ += group;
    return answer;
  }

  [[nodiscard]] std::span<const std::uint8_t> copy_at(std::size_t copy) const {
    return bytes_.subspan(at_ + copy * octets_, octets_);
  }

  static std::optional<Word> most_frequent(const std::vector<Word>& good) {
    for (const Word& word : good) {
      if (2 * static_cast<std::size_t>(std::count(good.begin(), good.end(), word)) > good.size()) return word;
    }
    return std::nullopt;
  }

  [[nodiscard]] std::vector<std::uint8_t> outvoted() const {
    std::vector<std::uint8_t> word(octets_);
    for (std::size_t bit = 0; bit < octets_ * 8; ++bit) {
      std::size_t set = 0;
      for (std::size_t copy = 0; copy < repeats_; ++copy) {
        set += static_cast<std::size_t>(bytes_[at_ + copy * octets_ + bit / 8] >> (7 - bit % 8)) & 1U;
      }
      if (2 * set > repeats_) word[bit / 8] = static_cast<std::uint8_t>(word[bit / 8] | 1U << (7 - bit % 8));
    }
    return word;
  }

  // Octet by octet to where a request begins.
  void skip(std::size_t begin) {
    for (++at_; at_ < bytes_.size(); ++at_) {
      if (bytes_.size() - at_ < octets_) continue;
      const auto word = open_word(bytes_.subspan(at_, octets_), station_);
      if (word && (word->kind == Kind::Load || word->kind == Kind::Withdraw)) break;
    }
    at_ = std::min(at_, bytes_.size());
    problem(begin, std::to_string(at_ - begin) + " octets hold no command word for address " +
                       std::to_string(station_.address));
  }

  void read_request(std::size_t begin, const Word& head) {
    DecodedRequest request;
    request.kind = head.kind == Kind::Load ? RequestKind::Insert : RequestKind::Delete;
    keep(request);
    request.command = find_command_by_number(station_, static_cast<std::uint16_t>(head.body));
    if (head.body > 0xFFFFU || !request.command.is_valid()) {
      problem(begin, "the station has no command number " + std::to_string(head.body));
      return;
    }
    std::size_t wanted = 8 * tag_octets();
    const std::vector<ArgumentDefinition>& definitions = station_.commands[request.command].arguments;
    if (request.kind == RequestKind::Insert) {
      for (const ArgumentDefinition& argument : definitions)
        wanted += static_cast<std::size_t>(argument.encoding.width);
    }
    const auto step = static_cast<std::size_t>(station_.link.words.body_width);
    std::vector<bool> bits;
    std::uint64_t sum = head.body;
    std::uint64_t weight = 3;
    while (bits.size() < wanted) {
      const std::size_t place = at_;
      const auto word = next();
      if (!word || word->kind != Kind::Data) {
        if (word) at_ = place;  // it may begin the next request
        problem(begin, "a request ends before its data words do");
        return;
      }
      keep(request);
      for (std::size_t bit = step; bit-- > 0;) bits.push_back((word->body >> bit & 1U) != 0);
      sum += word->body * weight;
      weight += 2;
    }
    const std::size_t place = at_;
    const auto close = next();
    if (!close || close->kind != Kind::Close) {
      if (close) at_ = place;
      problem(begin, "no closing word follows the data words of a request");
      return;
    }
    keep(request);
    if (close->body != (sum & ones(station_.link.words.body_width))) {
      problem(begin, "the sum in the closing word does not match the words of the request");
      return;
    }
    if (std::any_of(bits.begin() + static_cast<std::ptrdiff_t>(wanted), bits.end(),
                    [](bool bit) { return bit; })) {
      problem(begin, "the bits behind a request's last value are not zero");
      return;
    }
    if (const auto wrong = read_values(bits, definitions, request)) {
      problem(begin, *wrong);
      return;
    }
    request.offset = begin;
    request.size = at_ - begin;
    result_.requests.push_back(std::move(request));
  }

  // The words as they were meant, each once.
  void keep(DecodedRequest& request) const {
    request.octets.insert(request.octets.end(), last_.begin(), last_.end());
  }

  std::optional<std::string> read_values(const std::vector<bool>& bits,
                                         const std::vector<ArgumentDefinition>& definitions,
                                         DecodedRequest& request) const {
    std::vector<std::uint8_t> octets((bits.size() + 7) / 8);
    for (std::size_t i = 0; i < bits.size(); ++i) {
      if (bits[i]) octets[i / 8] = static_cast<std::uint8_t>(octets[i / 8] | 1U << (7 - i % 8));
    }
    FieldReader fields(octets);
    const auto time = read_time_tag_or_now(fields, station_.clock, leap_seconds_);
    if (!time) return time.error();
    if (*time) {
      request.time = **time;
    } else if (request.kind == RequestKind::Delete) {
      return "no entry of the table runs at time tag zero";
    } else {
      request.kind = RequestKind::Execute;
    }
    if (request.kind == RequestKind::Delete) return std::nullopt;
    for (const ArgumentDefinition& argument : definitions) {
      const std::uint64_t raw = fields.bits(argument.encoding.width);
      request.arguments.push_back({decode_argument(argument, raw), raw});
    }
    return std::nullopt;
  }

  // Octets of a time tag, from the standard's layout.
  [[nodiscard]] std::size_t tag_octets() const {
    const StationClock& clock = station_.clock;
    if (clock.time_code == TimeCodeForm::DaySegmented) return 2 + 4 + 2 + (clock.preamble ? 1U : 0U);
    std::size_t octets =
        static_cast<std::size_t>(clock.coarse_octets) + static_cast<std::size_t>(clock.fine_octets);
    if (clock.preamble) octets += clock.coarse_octets <= 4 && clock.fine_octets <= 3 ? 1U : 2U;
    return octets;
  }

  std::span<const std::uint8_t> bytes_;
  const Station& station_;
  const LeapSecondTable& leap_seconds_;
  Decoded& result_;
  std::size_t octets_;
  std::size_t repeats_;
  std::size_t at_ = 0;
  std::vector<std::uint8_t> last_;  // the octets of the word read last
};

}  // namespace

void read_words(std::span<const std::uint8_t> bytes, const Station& station,
                const LeapSecondTable& leap_seconds, Decoded& result) {
  WordsReader(bytes, station, leap_seconds, result).run();
}

}  // namespace cairn
