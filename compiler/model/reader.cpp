// Kinds, numbers, quantities and instants of the station file.

#include "compiler/model/reader.h"

#include <algorithm>
#include <charconv>
#include <cmath>

#include "compiler/text/spelling.h"
#include "constraints/quantity/unit.h"

namespace cairn {

namespace {

std::string ticks(std::string_view text) { return "`" + std::string(text) + "`"; }

std::string kind_in_words(const YamlNode& node) {
  switch (node.kind) {
    case NodeKind::Null:
      return "empty";
    case NodeKind::Sequence:
      return "a list";
    case NodeKind::Map:
      return "a map";
    case NodeKind::Scalar:
      break;
  }
  const std::string shown = node.text.size() > 40 ? node.text.substr(0, 40) + "..." : node.text;
  if (node.quoted) return "the text `" + shown + "`";
  return ticks(shown);
}

std::string accepted_in_words(Accepted accepted, const std::function<std::string(double)>& shown) {
  const bool low = std::isfinite(accepted.low);
  const bool high = std::isfinite(accepted.high);
  const std::string from = (accepted.above_low ? "more than " : "at least ") + shown(accepted.low);
  if (low && high) return from + " and at most " + shown(accepted.high);
  return low ? from : "at most " + shown(accepted.high);
}

bool fits(double low, double high, Accepted accepted) {
  return (accepted.above_low ? low > accepted.low : low >= accepted.low) && high <= accepted.high;
}

std::string utc_problem(UtcError error) {
  switch (error) {
    case UtcError::Malformed:
      return "expected the form `2031-05-14T06:00:00Z`";
    case UtcError::NoSuchDate:
      return "there is no such date";
    case UtcError::NoSuchTime:
      return "there is no such time of day";
    case UtcError::NoLeapSecond:
      return "that day has no leap second";
    case UtcError::BeforeTable:
      return "it lies before 1972, where UTC has no whole seconds";
    case UtcError::AfterRange:
      return "it lies beyond what an instant can hold";
    case UtcError::TooManyDigits:
      return "a fraction has at most nine digits";
  }
  return {};
}

}  // namespace

Diagnostics& Reader::room_for_error(Span place) {
  if (reported_ < limits.errors) {
    ++reported_;
    return diagnostics_;
  }
  if (reported_ == limits.errors) {
    ++reported_;
    diagnostics_.report(diagnostics::ModelTooManyErrors, place, limits.errors);
  }
  silent_ = {};
  return silent_;
}

Origin Reader::origin(Span place) {
  loaded_.origins.push_back(place);
  return static_cast<Origin>(loaded_.origins.size() - 1);
}

Span Reader::part_of(const YamlNode& scalar, std::size_t begin, std::size_t end) const {
  const Span span = scalar.span;
  if (!span.is_valid() || scalar.text.empty()) return span;
  const std::string_view written = files_.text(span);
  const std::size_t quote = !written.empty() && (written[0] == '"' || written[0] == '\'') ? 1 : 0;
  if (written.substr(std::min(quote, written.size())).substr(0, scalar.text.size()) != scalar.text)
    return span;
  const auto base = static_cast<std::uint32_t>(span.begin + quote);
  return {span.file, base + static_cast<std::uint32_t>(begin),
          base + static_cast<std::uint32_t>(std::max(begin, end))};
}

void Reader::suggest(DiagnosticBuilder builder, Span place, std::string_view word,
                     const std::vector<std::string>& known) {
  if (const auto near = nearest_word(word, known)) {
    builder.fix(place, *near, FixKind::Guess, "did you mean " + ticks(*near) + "?");
  }
  if (known.empty()) return;
  constexpr std::size_t most_listed = 16;
  std::string list = "known here: ";
  for (std::size_t i = 0; i < std::min(known.size(), most_listed); ++i)
    list += (i > 0 ? ", " : "") + ticks(known[i]);
  if (known.size() > most_listed) list += " and more";
  builder.hint(list);
}

void Reader::wrong_kind(const YamlNode& node, const std::string& what, const std::string& expected) {
  auto builder = report(diagnostics::ModelWrongKind, node.span, what, kind_in_words(node), expected);
  if (node.kind == NodeKind::Null && expected.find("map") != std::string::npos)
    builder.hint("write `{}` for an empty map");
}

bool Reader::is_map(const YamlNode& node, const std::string& what) {
  if (node.kind == NodeKind::Map) return true;
  wrong_kind(node, what, "a map");
  return false;
}

bool Reader::is_list(const YamlNode& node, const std::string& what) {
  if (node.kind == NodeKind::Sequence) return true;
  wrong_kind(node, what, "a list");
  return false;
}

bool Reader::is_text(const YamlNode& node, const std::string& what) {
  if (node.kind == NodeKind::Scalar) return true;
  wrong_kind(node, what, "a text");
  return false;
}

std::string Reader::text(const YamlNode& node, const std::string& what) {
  return is_text(node, what) ? node.text : std::string();
}

bool Reader::flag(const YamlNode& node, const std::string& what) {
  if (node.kind == NodeKind::Scalar && !node.quoted && (node.text == "true" || node.text == "false")) {
    return node.text == "true";
  }
  wrong_kind(node, what, "`true` or `false`");
  return false;
}

std::int64_t Reader::whole(const YamlNode& node, const std::string& what, std::int64_t low,
                           std::int64_t high) {
  const std::string expected = "a whole number from " + std::to_string(low) + " to " + std::to_string(high);
  std::int64_t value = 0;
  if (node.kind == NodeKind::Scalar && !node.quoted) {
    const char* end = node.text.data() + node.text.size();
    const auto [stop, error] = std::from_chars(node.text.data(), end, value);
    const bool digits = stop == end && !node.text.empty();
    if (digits && error == std::errc{} && value >= low && value <= high) return value;
    if (digits && (error == std::errc{} || error == std::errc::result_out_of_range)) {
      report(diagnostics::ModelOutOfRange, node.span, what, node.text, expected);
      return std::max<std::int64_t>(low, 0);
    }
  }
  wrong_kind(node, what, expected);
  return std::max<std::int64_t>(low, 0);
}

double Reader::decimal(const YamlNode& node, const std::string& what, Accepted accepted) {
  const auto value = node.kind == NodeKind::Scalar && !node.quoted ? parse_number(node.text) : std::nullopt;
  if (!value) {
    wrong_kind(node, what, "a number without unit");
    return 0;
  }
  if (!fits(*value, *value, accepted)) {
    report(diagnostics::ModelOutOfRange, node.span, what, node.text,
           accepted_in_words(accepted, [](double number) { return show(number, dimensions::count); }));
  }
  return *value;
}

Bounded Reader::share(const YamlNode& node, const std::string& what, Accepted accepted) {
  const bool has_unit = node.kind == NodeKind::Scalar && !parse_number(node.text);
  return has_unit ? bounded(node, what, dimensions::ratio, accepted)
                  : Bounded::exactly(decimal(node, what, accepted));
}

bool Reader::check_name(std::string_view name, Span place) {
  const auto letter = [](char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); };
  const auto good = [&](char c) { return letter(c) || (c >= '0' && c <= '9') || c == '-' || c == '_'; };
  std::string why;
  if (find_unit(name) != nullptr) {
    why = "it is a unit of measure";
  } else if (name.empty() || !letter(name.front()) || !std::all_of(name.begin(), name.end(), good)) {
    why = "a name is a letter, then letters, digits, `-` or `_`";
  } else if (name.size() > limits.name_letters) {
    why = "a name has at most " + std::to_string(limits.name_letters) + " letters";
  }
  if (why.empty()) return true;
  report(diagnostics::ModelReservedName, place, std::string(name.substr(0, limits.name_letters)), why)
      .hint("choose another name");
  return false;
}

std::optional<std::size_t> Reader::word(const YamlNode& node, const std::string& kind,
                                        std::initializer_list<std::string_view> known) {
  if (!is_text(node, "the " + kind)) return std::nullopt;
  std::vector<std::string> words;
  for (const std::string_view candidate : known) {
    if (candidate == node.text) return words.size();
    words.emplace_back(candidate);
  }
  suggest(report(diagnostics::ModelUnknownName, inside(node), node.text, kind), inside(node), node.text,
          words);
  return std::nullopt;
}

void Reader::report_quantity(const YamlNode& node, const std::string& what, std::string_view text,
                             const QuantityProblem& problem) {
  const Span place = part_of(node, problem.begin, problem.end);
  const std::string shown(text.substr(0, 60));
  if (problem.fault == QuantityFault::WrongDimension) {
    auto builder = report(diagnostics::ModelWrongDimension, place, "a side of " + what,
                          name_of(problem.found), name_of(problem.expected));
    if (problem.found == dimensions::temperature) builder.hint("write a difference in `K`");
    return;
  }
  if (problem.fault == QuantityFault::Malformed) {
    report(diagnostics::ModelBadQuantity, place, shown, problem.message)
        .hint(
            "write a number and a unit, such as `4.5 W`, `4.5 W ± 0.2 W`, `4.5 W ± 5 %` or `4.3 W .. 4.9 W`");
    return;
  }
  std::vector<std::string> symbols;
  for (const Unit& unit : all_units()) symbols.emplace_back(unit.symbol);
  auto builder =
      report(diagnostics::ModelBadQuantity, place, shown, ticks(problem.message) + " is no unit of measure");
  if (const auto near = nearest_word(problem.message, symbols)) {
    builder.fix(place, *near, FixKind::Guess, "did you mean " + ticks(*near) + "?");
  }
}

std::optional<QuantityText> Reader::quantity(const YamlNode& node, const std::string& what,
                                             Dimension dimension) {
  if (node.kind != NodeKind::Scalar) {
    wrong_kind(node, what, "a quantity such as `4.5 W`");
    return std::nullopt;
  }
  const auto found = parse_quantity(node.text, dimension == dimensions::temperature);
  if (!found) {
    report_quantity(node, what, node.text, found.error());
    return std::nullopt;
  }
  if (found->dimension != dimension) {
    report(diagnostics::ModelWrongDimension, inside(node), what, name_of(found->dimension),
           name_of(dimension));
    return std::nullopt;
  }
  return *found;
}

bool Reader::accept(const YamlNode& node, const std::string& what, Bounded value, Dimension dimension,
                    Accepted accepted) {
  if (fits(value.low, value.high, accepted)) return true;
  report(diagnostics::ModelOutOfRange, inside(node), what, ticks(node.text.substr(0, 60)),
         accepted_in_words(accepted, [&](double number) { return show(number, dimension); }))
      .under(value.is_exact() ? std::string() : "the bound counts as well");
  return false;
}

Bounded Reader::bounded(const YamlNode& node, const std::string& what, Dimension dimension,
                        Accepted accepted) {
  const auto found = quantity(node, what, dimension);
  if (!found) return {};
  accept(node, what, found->value, dimension, accepted);
  return found->value;
}

double Reader::exact(const YamlNode& node, const std::string& what, Dimension dimension, Accepted accepted) {
  const auto found = quantity(node, what, dimension);
  if (!found) return 0;
  if (found->form != BoundForm::None) {
    report(diagnostics::ModelBadQuantity, inside(node), node.text.substr(0, 60), what + " takes no bound");
    return found->value.nominal;
  }
  accept(node, what, found->value, dimension, accepted);
  return found->value.nominal;
}

// Counts have no unit: "1 .. 16".
std::optional<Bounded> Reader::count_range(const YamlNode& node) {
  const auto number = [](std::string_view side) {
    while (side.starts_with(' ')) side.remove_prefix(1);
    while (side.ends_with(' ')) side.remove_suffix(1);
    const double value = parse_number(side).value_or(std::numeric_limits<double>::quiet_NaN());
    return std::floor(value) == value ? value : std::numeric_limits<double>::quiet_NaN();
  };
  const std::string_view all = node.text;
  const std::size_t dots = std::min(all.find(".."), all.size());
  const double low = number(all.substr(0, dots));
  const double high = number(all.substr(std::min(dots + 2, all.size())));
  if (low <= high) return Bounded{low, low, high};
  report(diagnostics::ModelBadQuantity, inside(node), node.text.substr(0, 60),
         low > high ? "the range ends below its beginning" : "expected two whole numbers such as `1 .. 16`");
  return std::nullopt;
}

std::optional<Bounded> Reader::range(const YamlNode& node, const std::string& what, Dimension dimension) {
  if (dimension == dimensions::count) {
    if (node.kind == NodeKind::Scalar) return count_range(node);
    wrong_kind(node, what, "a range such as `1 .. 16`");
    return std::nullopt;
  }
  const auto found = quantity(node, what, dimension);
  if (!found) return std::nullopt;
  if (found->form != BoundForm::Range) {
    report(diagnostics::ModelBadQuantity, inside(node), node.text.substr(0, 60),
           what + " must have two ends with `..`");
    return std::nullopt;
  }
  return found->value;
}

Duration Reader::duration(const YamlNode& node, const std::string& what, Accepted accepted) {
  const auto found = quantity(node, what, dimensions::duration);
  if (!found) return {};
  if (found->form != BoundForm::None) {
    report(diagnostics::ModelBadQuantity, inside(node), node.text.substr(0, 60), what + " takes no bound");
    return {};
  }
  if (!accept(node, what, found->value, dimensions::duration, accepted)) return {};
  const auto nanoseconds = nanoseconds_in(found->unit);
  const auto value = nanoseconds ? exact_duration(found->number, *nanoseconds) : std::nullopt;
  if (!value) {
    report(diagnostics::ModelBadQuantity, inside(node), node.text.substr(0, 60),
           "it is no whole number of nanoseconds, or too long to hold");
    return {};
  }
  return *value;
}

std::optional<Instant> Reader::instant(const YamlNode& node, const std::string& what) {
  if (node.kind != NodeKind::Scalar) {
    wrong_kind(node, what, "an instant such as `2031-05-14T06:00:00Z`");
    return std::nullopt;
  }
  const auto found = parse_utc(node.text, leap_seconds_);
  if (found) return *found;
  report(diagnostics::ModelBadInstant, inside(node), node.text.substr(0, 60), utc_problem(found.error()));
  return std::nullopt;
}

// ---- the keys of a map ----------------------------------------------------------------------------------

Fields::Fields(Reader& reader, const YamlNode& node, std::string what, std::vector<std::string> known)
    : reader_(reader), node_(node), what_(std::move(what)), is_map_(reader.is_map(node, what_)) {
  if (!is_map_) return;
  for (const YamlEntry& entry : node.entries) {
    if (std::find(known.begin(), known.end(), entry.key) != known.end()) continue;
    auto builder =
        reader.report(diagnostics::ModelUnknownKey, entry.key_span, entry.key.substr(0, 60), what_);
    if (entry.key == "<<")
      builder.hint("keys are not merged by `<<`; use `include` or an alias as the whole value");
    reader.suggest(builder, entry.key_span, entry.key, known);
  }
}

const YamlNode* Fields::need(std::string_view key) const {
  const YamlNode* found = get(key);
  if (found == nullptr && is_map_) {
    reader_.report(diagnostics::ModelMissingKey, node_.span, what_, std::string(key));
  }
  return found;
}

std::string Fields::text(const std::string& key) const {
  const YamlNode* found = get(key);
  return found == nullptr ? std::string() : reader_.text(*found, ticks(key));
}

bool Fields::flag(const std::string& key, bool otherwise) const {
  const YamlNode* found = get(key);
  return found == nullptr ? otherwise : reader_.flag(*found, ticks(key));
}

std::int64_t Fields::whole(const std::string& key, std::int64_t low, std::int64_t high,
                           std::int64_t otherwise) const {
  const YamlNode* found = get(key);
  return found == nullptr ? otherwise : reader_.whole(*found, ticks(key), low, high);
}

Bounded Fields::bounded(const std::string& key, Dimension dimension, Accepted accepted,
                        Bounded otherwise) const {
  const YamlNode* found = get(key);
  return found == nullptr ? otherwise : reader_.bounded(*found, ticks(key), dimension, accepted);
}

double Fields::exact(const std::string& key, Dimension dimension, Accepted accepted, double otherwise) const {
  const YamlNode* found = get(key);
  return found == nullptr ? otherwise : reader_.exact(*found, ticks(key), dimension, accepted);
}

Duration Fields::duration(const std::string& key, Accepted accepted, Duration otherwise) const {
  const YamlNode* found = get(key);
  return found == nullptr ? otherwise : reader_.duration(*found, ticks(key), accepted);
}

std::vector<HeatShare> Fields::heat(const std::string& key) const {
  const YamlNode* found = get(key);
  return found == nullptr ? std::vector<HeatShare>() : reader_.heat(*found, ticks(key));
}

std::optional<StateCondition> Fields::condition(const std::string& key) const {
  const YamlNode* found = get(key);
  return found == nullptr ? std::nullopt : reader_.condition(*found, ticks(key));
}

Bounded Fields::need_bounded(const std::string& key, Dimension dimension, Accepted accepted) const {
  return need(key) == nullptr ? Bounded{} : bounded(key, dimension, accepted, {});
}

double Fields::need_exact(const std::string& key, Dimension dimension, Accepted accepted) const {
  return need(key) == nullptr ? 0.0 : exact(key, dimension, accepted, 0);
}

std::int64_t Fields::need_whole(const std::string& key, std::int64_t low, std::int64_t high) const {
  return need(key) == nullptr ? std::max<std::int64_t>(low, 0) : whole(key, low, high, low);
}

}  // namespace cairn
