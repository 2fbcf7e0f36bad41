// Mends of single words: units of measure, numbers, instants, stray characters.

#include <algorithm>
#include <array>
#include <cctype>
#include <chrono>
#include <utility>

#include "compiler/syntax/mends.h"
#include "compiler/text/spelling.h"

namespace cairn {
namespace {

const std::vector<std::string>& unit_words() {
  static const std::vector<std::string> words{
      "ns", "us", "ms", "s",   "min", "h",    "d",    "a",    "W",     "mW",    "kW",
      "J",  "kJ", "Wh", "kWh", "K",   "degC", "deg",  "rad",  "deg/s", "m",     "mm",
      "cm", "km", "m2", "m/s", "bit", "kbit", "Mbit", "byte", "kB",    "bit/s", "kbit/s",
      "V",  "mV", "A",  "mA",  "Hz",  "kHz",  "%",    "ppm",  "J/K",   "W/K",   "W/m2"};
  return words;
}

constexpr std::array<std::pair<std::string_view, std::string_view>, 42> long_names{{
    {"second", "s"},    {"seconds", "s"},   {"sec", "s"},      {"secs", "s"},      {"minute", "min"},
    {"minutes", "min"}, {"mins", "min"},    {"hour", "h"},     {"hours", "h"},     {"hr", "h"},
    {"hrs", "h"},       {"day", "d"},       {"days", "d"},     {"year", "a"},      {"years", "a"},
    {"yr", "a"},        {"msec", "ms"},     {"degree", "deg"}, {"degrees", "deg"}, {"metre", "m"},
    {"metres", "m"},    {"meter", "m"},     {"meters", "m"},   {"watt", "W"},      {"watts", "W"},
    {"joule", "J"},     {"joules", "J"},    {"volt", "V"},     {"volts", "V"},     {"amp", "A"},
    {"amps", "A"},      {"percent", "%"},   {"pct", "%"},      {"C", "degC"},      {"celsius", "degC"},
    {"kelvin", "K"},    {"bytes", "byte"},  {"B", "byte"},     {"KB", "kB"},       {"bits", "bit"},
    {"bps", "bit/s"},   {"kbps", "kbit/s"},
}};

bool is_digit(char c) { return c >= '0' && c <= '9'; }

bool all_digits(std::string_view text) {
  return !text.empty() && std::all_of(text.begin(), text.end(), is_digit);
}

bool is_one_token(std::string_view text, TokenKind kind) {
  TokenSource source(text, 0, nullptr);
  const Token token = source.next();
  return token.kind == kind && token.begin == 0 && token.end == text.size();
}

int number_at(std::string_view text, std::size_t at, std::size_t count) {
  int value = 0;
  for (std::size_t i = 0; i < count; ++i) value = value * 10 + (text[at + i] - '0');
  return value;
}

// "2031-05-10T08:00:00+02:00" as UTC; empty when it is no such thing.
std::string without_offset(std::string_view text) {
  constexpr std::size_t local = std::string_view("2031-05-10T08:00:00").size();
  if (text.size() != local + 6 || (text[local] != '+' && text[local] != '-') || text[local + 3] != ':')
    return {};
  const std::string stem = std::string(text.substr(0, local)) + "Z";
  const std::string_view offset = text.substr(local + 1);
  if (!is_one_token(stem, TokenKind::Instant) || !all_digits(offset.substr(0, 2)) ||
      !all_digits(offset.substr(3))) {
    return {};
  }
  using namespace std::chrono;
  const year_month_day date{year{number_at(text, 0, 4)}, month{static_cast<unsigned>(number_at(text, 5, 2))},
                            day{static_cast<unsigned>(number_at(text, 8, 2))}};
  if (!date.ok() || number_at(text, 11, 2) > 23 || number_at(text, 14, 2) > 59 || number_at(text, 17, 2) > 59)
    return {};
  const minutes shift = hours{number_at(offset, 0, 2)} + minutes{number_at(offset, 3, 2)};
  const seconds time =
      hours{number_at(text, 11, 2)} + minutes{number_at(text, 14, 2)} + seconds{number_at(text, 17, 2)};
  const sys_seconds utc = sys_days{date} + time + (text[local] == '+' ? -shift : shift);
  const auto utc_day = floor<days>(utc);
  const year_month_day ymd{utc_day};
  const hh_mm_ss clock{utc - utc_day};
  const auto two = [](long long value) { return (value < 10 ? "0" : "") + std::to_string(value); };
  return std::to_string(static_cast<int>(ymd.year())) + "-" + two(static_cast<unsigned>(ymd.month())) + "-" +
         two(static_cast<unsigned>(ymd.day())) + "T" + two(clock.hours().count()) + ":" +
         two(clock.minutes().count()) + ":" + two(clock.seconds().count()) + "Z";
}

}  // namespace

std::optional<std::string> unit_meant(std::string_view word) {
  for (const auto& [name, symbol] : long_names) {
    if (name == word) return std::string(symbol);
  }
  const auto same_letters = [word](const std::string& unit) {
    return unit.size() == word.size() &&
           std::equal(unit.begin(), unit.end(), word.begin(), [](char a, char b) {
             return std::tolower(static_cast<unsigned char>(a)) ==
                    std::tolower(static_cast<unsigned char>(b));
           });
  };
  const auto found = std::find_if(unit_words().begin(), unit_words().end(), same_letters);
  if (found != unit_words().end()) return *found;
  constexpr std::size_t longest = 40;
  return word.size() > longest ? std::nullopt : nearest_word(word, unit_words());
}

void mend_unit(Span span, std::string_view word, DiagnosticBuilder& report) {
  if (const auto unit = unit_meant(word)) {
    report.fix(span, *unit, FixKind::Guess, "did you mean `" + *unit + "`?");
    return;
  }
  std::string list;
  for (const std::string& unit : unit_words()) list += (list.empty() ? "" : " ") + unit;
  report.hint("units of measure are " + list);
}

void mend_number(Span span, std::string_view number, DiagnosticBuilder& report) {
  const std::size_t comma = number.find(',');
  if (comma != std::string_view::npos && all_digits(number.substr(0, comma)) &&
      all_digits(number.substr(comma + 1))) {
    const std::string point =
        std::string(number.substr(0, comma)) + "." + std::string(number.substr(comma + 1));
    const std::string whole = std::string(number.substr(0, comma)) + std::string(number.substr(comma + 1));
    const bool may_be_thousands = number.size() - comma == 4 && number[0] != '0';
    report.fix(span, point, FixKind::Guess,
               may_be_thousands ? "write `" + point + "` or `" + whole + "`" : "write `" + point + "`");
    return;
  }
  std::string digits;
  std::copy_if(number.begin(), number.end(), std::back_inserter(digits),
               [](char c) { return c != '_' && c != '\''; });
  if (digits.size() < number.size() && is_one_token(digits, TokenKind::Number)) {
    report.fix(span, digits, FixKind::Guess, "write `" + digits + "`");
    return;
  }
  const auto letter =
      std::find_if(number.begin(), number.end(), [](char c) { return !is_digit(c) && c != '.'; });
  const std::string_view head = number.substr(0, static_cast<std::size_t>(letter - number.begin()));
  const std::string_view tail = number.substr(head.size());
  if (!tail.empty() && is_one_token(head, TokenKind::Number)) {
    if (const auto unit = unit_meant(tail)) {
      const std::string good = std::string(head) + " " + *unit;
      report.fix(span, good, FixKind::Guess, "did you mean `" + good + "`?");
      return;
    }
  }
  report.hint(
      "a number is digits with at most one point, digits on both sides of it: `0.5`, `12`, `1.5e3`; then a "
      "unit");
}

void mend_instant(std::string_view text, Span span, DiagnosticBuilder& report) {
  const std::string word(text.substr(span.begin, span.end - span.begin));
  const std::string_view after = text.substr(span.end);
  constexpr std::string_view clock = " 00:00:00";
  if (after.size() >= clock.size() && after[0] == ' ' && after[3] == ':' && after[6] == ':' &&
      all_digits(after.substr(1, 2)) && all_digits(after.substr(4, 2)) && all_digits(after.substr(7, 2))) {
    const std::string whole = word + "T" + std::string(after.substr(1, 8)) + "Z";
    std::uint32_t end = span.end + static_cast<std::uint32_t>(clock.size());
    if (end < text.size() && (text[end] == 'Z' || text[end] == 'z')) ++end;
    if (is_one_token(whole, TokenKind::Instant)) {
      report.fix({span.file, span.begin, end}, whole, FixKind::Guess,
                 "write `" + whole + "`, when the time is UTC");
      return;
    }
  }
  if (const std::string utc = without_offset(word); !utc.empty()) {
    report.fix(span, utc, FixKind::Guess, "instants are UTC: write `" + utc + "`");
    return;
  }
  std::string upper = word;
  std::transform(upper.begin(), upper.end(), upper.begin(),
                 [](unsigned char c) { return static_cast<char>(std::toupper(c)); });
  for (const char* rest : {"", "Z", ":00Z", "T00:00:00Z"}) {
    const std::string good = upper + rest;
    if (!is_one_token(good, TokenKind::Instant)) continue;
    report.fix(span, good, FixKind::Guess, "write `" + good + "`, when the time is UTC");
    return;
  }
  report.hint(
      "an instant is UTC with a `Z`: `2031-05-14T06:00:00Z` or, by day of the year, `2031-134T06:00:00Z`");
}

void mend_character(std::string_view text, Span span, DiagnosticBuilder& report) {
  const std::string_view shown = text.substr(span.begin, span.end - span.begin);
  struct Slip {
    std::string_view found;
    std::string_view write;
    FixKind kind;
  };
  static constexpr std::array<Slip, 9> slips{{
      {"\u2212", "-", FixKind::Safe},
      {"\u2013", "-", FixKind::Safe},
      {"\u2014", "-", FixKind::Guess},
      {"\u00D7", "*", FixKind::Safe},
      {"\u00F7", "/", FixKind::Safe},
      {"\u00A0", " ", FixKind::Safe},
      {"\u200B", "", FixKind::Safe},
      {"\uFEFF", "", FixKind::Safe},
      {"\u2026", "...", FixKind::Guess},
  }};
  for (const Slip& slip : slips) {
    if (slip.found != shown || slip.write == "...") continue;
    std::string words =
        slip.write.empty() ? "take this unseen character away" : "write `" + std::string(slip.write) + "`";
    if (slip.write == " ") words = "write a plain blank; this one is a no-break space";
    report.fix(span, std::string(slip.write), slip.kind, std::move(words));
    return;
  }
  if (shown == "\u00B0") {
    const bool celsius = span.end < text.size() && text[span.end] == 'C';
    const Span whole{span.file, span.begin, span.end + (celsius ? 1U : 0U)};
    const std::string unit = celsius ? "degC" : "deg";
    report.fix(whole, unit, FixKind::Guess, "did you mean `" + unit + "`?");
  } else if (shown == "\u00B5" || shown == "\u03BC") {
    report.fix(span, "u", FixKind::Guess, "write `us` for a microsecond");
  } else if (shown == "\u00B2") {
    report.fix(span, "2", FixKind::Guess, "write `m2` for a square metre");
  } else if (shown == "\u00B1") {
    report.hint("a bound stands in the station file only; in a load, give one value");
  } else if (shown == ";") {
    report.fix(span, "", FixKind::Safe, "a statement needs nothing at its end");
  } else if (shown == "\u201C" || shown == "\u201D" || shown == "\u201E" || shown == "\u2018" ||
             shown == "\u2019" || shown == "'" || shown == "\u00AB" || shown == "\u00BB" || shown == "`") {
    report.hint("text stands between plain double quotes: \"...\"");
  } else if (shown == "[" || shown == "]") {
    report.hint(
        "there are no lists: write one statement for each, or repeat with `from BEGIN to END every DURATION "
        "{ ... }`");
  } else if (shown == "<" || shown == ">" || shown == "!" || shown == "&" || shown == "|") {
    report.hint(
        "values are not compared here: a mark that waits for a value is `mark NAME = QUANTITY rises above "
        "VALUE`");
  } else if (static_cast<unsigned char>(shown.front()) >= 0x80) {
    report.hint(
        "names are made of the letters a to z and A to Z, digits, `-` and `_`; any letter may stand in a "
        "text in quotes");
  } else {
    report.hint(
        "outside texts and comments stand names, numbers and `{ } ( ) = . , : + - * /`; a comment begins "
        "with `#`");
  }
}

}  // namespace cairn
