// Longest match over bytes, in the order of grammar/CairnLexer.g4.
//
// Reserved words are looked up by their first letter; a name is scanned once and never copied.

#include "compiler/syntax/tokens.h"

#include <array>

namespace cairn {
namespace {

struct Spelling {
  std::string_view text;
  TokenKind kind;
};

constexpr std::array reserved{
    Spelling{"use", TokenKind::Use},
    Spelling{"load", TokenKind::Load},
    Spelling{"for", TokenKind::For},
    Spelling{"span", TokenKind::SpanWord},
    Spelling{"to", TokenKind::To},
    Spelling{"let", TokenKind::Let},
    Spelling{"mark", TokenKind::Mark},
    Spelling{"note", TokenKind::Note},
    Spelling{"send", TokenKind::Send},
    Spelling{"now", TokenKind::Now},
    Spelling{"bring", TokenKind::Bring},
    Spelling{"withdraw", TokenKind::Withdraw},
    Spelling{"do", TokenKind::Do},
    Spelling{"at", TokenKind::At},
    Spelling{"about", TokenKind::About},
    Spelling{"as", TokenKind::As},
    Spelling{"after", TokenKind::After},
    Spelling{"from", TokenKind::From},
    Spelling{"every", TokenKind::Every},
    Spelling{"together", TokenKind::Together},
    Spelling{"routine", TokenKind::Routine},
    Spelling{"start", TokenKind::Start},
    Spelling{"end", TokenKind::End},
    Spelling{"of", TokenKind::Of},
    Spelling{"window", TokenKind::Window},
    Spelling{"opens", TokenKind::Opens},
    Spelling{"closes", TokenKind::Closes},
    Spelling{"rises", TokenKind::Rises},
    Spelling{"falls", TokenKind::Falls},
    Spelling{"above", TokenKind::Above},
    Spelling{"below", TokenKind::Below},
    Spelling{"number", TokenKind::NumberWord},
    Spelling{"in", TokenKind::In},
    Spelling{"repeat", TokenKind::Repeat},
    Spelling{"if", TokenKind::If},
    Spelling{"else", TokenKind::Else},
    Spelling{"and", TokenKind::And},
    Spelling{"or", TokenKind::Or},
    Spelling{"not", TokenKind::Not},
    Spelling{"is", TokenKind::Is},
    Spelling{"require", TokenKind::Require},
    Spelling{"rule", TokenKind::Rule},
    Spelling{"expect", TokenKind::Expect},
    Spelling{"within", TokenKind::Within},
    Spelling{"waive", TokenKind::Waive},
    Spelling{"because", TokenKind::Because},
    Spelling{"until", TokenKind::Until},
    Spelling{"never", TokenKind::Never},
    Spelling{"always", TokenKind::Always},
    Spelling{"while", TokenKind::While},
    Spelling{"between", TokenKind::Between},
    Spelling{"only", TokenKind::Only},
    Spelling{"inside", TokenKind::Inside},
    Spelling{"outside", TokenKind::Outside},
    Spelling{"before", TokenKind::Before},
    Spelling{"no", TokenKind::No},
    Spelling{"once", TokenKind::Once},
    Spelling{"lasts", TokenKind::Lasts},
    Spelling{"apart", TokenKind::Apart},
    Spelling{"followed", TokenKind::Followed},
    Spelling{"command", TokenKind::Command},
    Spelling{"time", TokenKind::Time},
    Spelling{"each", TokenKind::Each},
    Spelling{"times", TokenKind::Times},
    Spelling{"any", TokenKind::Any},
    Spelling{"more", TokenKind::More},
    Spelling{"less", TokenKind::LessWord},
    Spelling{"than", TokenKind::Than},
    Spelling{"by", TokenKind::By},
    Spelling{"since", TokenKind::Since},
    Spelling{"first", TokenKind::First},
    Spelling{"last", TokenKind::Last},
    Spelling{"reference", TokenKind::Reference},
    Spelling{"true", TokenKind::True},
    Spelling{"false", TokenKind::False},
    Spelling{"ns", TokenKind::Unit},
    Spelling{"us", TokenKind::Unit},
    Spelling{"ms", TokenKind::Unit},
    Spelling{"s", TokenKind::Unit},
    Spelling{"min", TokenKind::Unit},
    Spelling{"h", TokenKind::Unit},
    Spelling{"d", TokenKind::Unit},
    Spelling{"a", TokenKind::Unit},
    Spelling{"W", TokenKind::Unit},
    Spelling{"mW", TokenKind::Unit},
    Spelling{"kW", TokenKind::Unit},
    Spelling{"J", TokenKind::Unit},
    Spelling{"kJ", TokenKind::Unit},
    Spelling{"Wh", TokenKind::Unit},
    Spelling{"kWh", TokenKind::Unit},
    Spelling{"K", TokenKind::Unit},
    Spelling{"degC", TokenKind::Unit},
    Spelling{"deg", TokenKind::Unit},
    Spelling{"rad", TokenKind::Unit},
    Spelling{"m", TokenKind::Unit},
    Spelling{"mm", TokenKind::Unit},
    Spelling{"cm", TokenKind::Unit},
    Spelling{"km", TokenKind::Unit},
    Spelling{"m2", TokenKind::Unit},
    Spelling{"bit", TokenKind::Unit},
    Spelling{"kbit", TokenKind::Unit},
    Spelling{"Mbit", TokenKind::Unit},
    Spelling{"byte", TokenKind::Unit},
    Spelling{"kB", TokenKind::Unit},
    Spelling{"V", TokenKind::Unit},
    Spelling{"mV", TokenKind::Unit},
    Spelling{"A", TokenKind::Unit},
    Spelling{"mA", TokenKind::Unit},
    Spelling{"Hz", TokenKind::Unit},
    Spelling{"kHz", TokenKind::Unit},
    Spelling{"ppm", TokenKind::Unit},
};

// Units with a slash: the part before it is a unit by itself.
struct SlashUnit {
  std::string_view before;
  std::string_view after;
};
constexpr std::array slash_units{SlashUnit{"deg", "/s"},  SlashUnit{"m", "/s"}, SlashUnit{"bit", "/s"},
                                 SlashUnit{"kbit", "/s"}, SlashUnit{"J", "/K"}, SlashUnit{"W", "/K"},
                                 SlashUnit{"W", "/m2"}};

struct Symbol {
  std::string_view text;
  TokenKind kind;
};
constexpr std::array symbols{Symbol{"{", TokenKind::OpenBrace},
                             Symbol{"}", TokenKind::CloseBrace},
                             Symbol{"[", TokenKind::OpenBracket},
                             Symbol{"]", TokenKind::CloseBracket},
                             Symbol{"<=", TokenKind::LessOrEqual},
                             Symbol{"<", TokenKind::Less},
                             Symbol{">=", TokenKind::GreaterOrEqual},
                             Symbol{">", TokenKind::Greater},
                             Symbol{"(", TokenKind::OpenParenthesis},
                             Symbol{")", TokenKind::CloseParenthesis},
                             Symbol{"=", TokenKind::Equals},
                             Symbol{".", TokenKind::Dot},
                             Symbol{",", TokenKind::Comma},
                             Symbol{":", TokenKind::Colon},
                             Symbol{"+", TokenKind::Plus},
                             Symbol{"-", TokenKind::Minus},
                             Symbol{"*", TokenKind::Star},
                             Symbol{"/", TokenKind::Slash},
                             Symbol{"%", TokenKind::Unit}};

constexpr bool is_letter(char c) { return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z'); }
constexpr bool is_digit(char c) { return c >= '0' && c <= '9'; }
constexpr bool is_name_part(char c) { return is_letter(c) || is_digit(c) || c == '_'; }
constexpr bool is_space(char c) { return c == ' ' || c == '\t' || c == '\r' || c == '\n'; }
constexpr bool is_line_end(char c) { return c == '\r' || c == '\n'; }

// Reserved words grouped by first letter: where each letter's group begins in `words`.
struct ReservedIndex {
  std::array<Spelling, reserved.size()> words{};
  std::array<std::uint8_t, 129> begin{};
};
constexpr ReservedIndex make_index() {
  ReservedIndex index;
  std::size_t filled = 0;
  for (std::size_t letter = 0; letter < 128; ++letter) {
    index.begin[letter] = static_cast<std::uint8_t>(filled);
    for (const Spelling& word : reserved) {
      if (static_cast<std::size_t>(word.text[0]) == letter) index.words[filled++] = word;
    }
  }
  index.begin[128] = static_cast<std::uint8_t>(filled);
  return index;
}
constexpr ReservedIndex reserved_index = make_index();

TokenKind word_kind(std::string_view word) {
  if (word.size() > 9) return TokenKind::Name;
  const auto letter = static_cast<std::size_t>(static_cast<unsigned char>(word[0]));
  for (std::size_t i = reserved_index.begin[letter]; i < reserved_index.begin[letter + 1]; ++i) {
    if (reserved_index.words[i].text == word) return reserved_index.words[i].kind;
  }
  return TokenKind::Name;
}

// Reads on from one place; reading past the end gives NUL, which no rule accepts.
struct Scanner {
  std::string_view text;
  std::size_t at;
  [[nodiscard]] char peek(std::size_t ahead = 0) const {
    return at + ahead < text.size() ? text[at + ahead] : '\0';
  }
  [[nodiscard]] bool digits(std::size_t ahead, std::size_t count) const {
    for (std::size_t i = 0; i < count; ++i) {
      if (!is_digit(peek(ahead + i))) return false;
    }
    return true;
  }
};

// The length of a well-formed instant at the scanner, else 0.
std::size_t instant_length(const Scanner& scan) {
  std::size_t length = 0;
  if (scan.digits(5, 2) && scan.peek(7) == '-' && scan.digits(8, 2)) {
    length = 10;
  } else if (scan.digits(5, 3)) {
    length = 8;
  } else {
    return 0;
  }
  if (scan.peek(length) != 'T' || !scan.digits(length + 1, 2) || scan.peek(length + 3) != ':' ||
      !scan.digits(length + 4, 2) || scan.peek(length + 6) != ':' || !scan.digits(length + 7, 2)) {
    return 0;
  }
  length += 9;
  if (scan.peek(length) == '.' && is_digit(scan.peek(length + 1))) {
    ++length;
    while (is_digit(scan.peek(length))) ++length;
  }
  return scan.peek(length) == 'Z' ? length + 1 : 0;
}

TokenKind scan_number(Scanner& scan) {
  if (scan.digits(0, 4) && scan.peek(4) == '-' &&
      ((scan.digits(5, 2) && scan.peek(7) == '-' && scan.digits(8, 2)) ||
       (scan.digits(5, 3) && scan.peek(8) == 'T'))) {
    const std::size_t good = instant_length(scan);
    std::size_t run = 9;
    for (char c = scan.peek(run); is_letter(c) || is_digit(c) || c == ':' || c == '.' || c == '+' || c == '-';
         c = scan.peek(run)) {
      ++run;
    }
    scan.at += run;
    return good == run ? TokenKind::Instant : TokenKind::BadInstant;
  }
  while (is_digit(scan.peek())) ++scan.at;
  if (scan.peek() == '.' && is_digit(scan.peek(1))) {
    ++scan.at;
    while (is_digit(scan.peek())) ++scan.at;
  }
  if (scan.peek() == 'e' || scan.peek() == 'E') {
    const std::size_t sign = scan.peek(1) == '+' || scan.peek(1) == '-' ? 1 : 0;
    if (is_digit(scan.peek(1 + sign))) {
      scan.at += 1 + sign;
      while (is_digit(scan.peek())) ++scan.at;
    }
  }
  return TokenKind::Number;
}

TokenKind scan_word(Scanner& scan) {
  const std::size_t begin = scan.at;
  while (is_name_part(scan.peek())) ++scan.at;
  while (scan.peek() == '-' && is_name_part(scan.peek(1))) {
    ++scan.at;
    while (is_name_part(scan.peek())) ++scan.at;
  }
  const std::string_view word = scan.text.substr(begin, scan.at - begin);
  if (scan.peek() == '/') {
    for (const SlashUnit& unit : slash_units) {
      if (word == unit.before && scan.text.substr(scan.at).starts_with(unit.after)) {
        scan.at += unit.after.size();
        return TokenKind::Unit;
      }
    }
  }
  return word_kind(word);
}

TokenKind scan_text(Scanner& scan) {
  ++scan.at;
  while (scan.at < scan.text.size()) {
    const char c = scan.text[scan.at];
    if (c == '"') {
      ++scan.at;
      return TokenKind::Text;
    }
    if (is_line_end(c)) break;
    if (c == '\\') {
      if (scan.at + 1 < scan.text.size() && !is_line_end(scan.text[scan.at + 1])) ++scan.at;
    }
    ++scan.at;
  }
  return TokenKind::UnclosedText;
}

void skip_character(Scanner& scan) {
  const auto lead = static_cast<unsigned char>(scan.peek());
  ++scan.at;
  if (lead < 0xC0U) return;
  while (scan.at < scan.text.size() && (static_cast<unsigned char>(scan.text[scan.at]) & 0xC0U) == 0x80U) {
    ++scan.at;
  }
}

}  // namespace

Token TokenSource::next() {
  Scanner scan{text_, offset_};
  for (;;) {
    while (scan.at < text_.size() && is_space(text_[scan.at])) ++scan.at;
    const std::size_t begin = scan.at;
    TokenKind kind = TokenKind::BadCharacter;
    if (begin == text_.size()) {
      kind = TokenKind::EndOfFile;
    } else if (const char c = text_[begin]; is_letter(c)) {
      kind = scan_word(scan);
    } else if (is_digit(c)) {
      kind = scan_number(scan);
    } else if (c == '"') {
      kind = scan_text(scan);
    } else if (c == '#') {
      while (scan.at < text_.size() && !is_line_end(text_[scan.at])) ++scan.at;
      kind = TokenKind::Comment;
    } else {
      std::size_t length = 0;
      for (const Symbol& symbol : symbols) {
        if (symbol.text.size() <= length || !text_.substr(begin).starts_with(symbol.text)) continue;
        kind = symbol.kind;
        length = symbol.text.size();
      }
      if (length == 0) skip_character(scan);
      scan.at += length;
    }
    const Token token{kind, static_cast<std::uint32_t>(begin), static_cast<std::uint32_t>(scan.at)};
    if (kind == TokenKind::Comment) {
      if (comments_ != nullptr) comments_->push_back(token);
      continue;
    }
    offset_ = scan.at;
    return token;
  }
}

std::string_view kind_spelling(TokenKind kind) {
  if (kind == TokenKind::Unit) return {};
  for (const Spelling& word : reserved) {
    if (word.kind == kind) return word.text;
  }
  for (const Symbol& symbol : symbols) {
    if (symbol.kind == kind) return symbol.text;
  }
  return {};
}

std::string kind_words(TokenKind kind) {
  if (const std::string_view spelling = kind_spelling(kind); !spelling.empty()) {
    return "`" + std::string(spelling) + "`";
  }
  switch (kind) {
    case TokenKind::EndOfFile:
      return "the end of the file";
    case TokenKind::Unit:
      return "a unit of measure";
    case TokenKind::Name:
      return "a name";
    case TokenKind::Instant:
    case TokenKind::BadInstant:
      return "an instant";
    case TokenKind::Number:
      return "a number";
    case TokenKind::Text:
    case TokenKind::UnclosedText:
      return "text in quotes";
    default:
      return "a character";
  }
}

}  // namespace cairn
