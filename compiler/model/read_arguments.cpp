// Arguments of commands: their type, the values they may have, and how these become bits.

#include <algorithm>
#include <cmath>

#include "compiler/model/reader.h"
#include "constraints/quantity/unit.h"

namespace cairn {

namespace {

// Beyond this a whole number is not exact in floating point, in which argument values are held.
constexpr std::int64_t most_exact = std::int64_t{1} << 53;

// A difference between two readings of `dimension`, which is what a step is.
Dimension step_dimension(Dimension dimension) {
  return dimension == dimensions::temperature ? dimensions::temperature_difference : dimension;
}

std::string shown(const ArgumentDefinition& argument, double number) {
  return show(number, argument.type == ArgumentType::Quantity ? argument.dimension : dimensions::count);
}

// Whether the value, as written at `node`, can be sent in the argument's bits.
bool fits_bits(Reader& reader, const YamlNode& node, const ArgumentDefinition& argument, double number) {
  if (encode_argument(argument, number)) return true;
  const ArgumentEncoding& encoding = argument.encoding;
  reader
      .report(
          diagnostics::ModelOutOfRange, reader.inside(node), "`" + argument.name + "`",
          shown(argument, number),
          "a value that fits in " + std::to_string(encoding.width) + (encoding.is_signed ? " signed" : "") +
              " bits in steps of " +
              show(encoding.step, argument.type == ArgumentType::Quantity ? step_dimension(argument.dimension)
                                                                          : dimensions::count))
      .hint("a larger `width` or `step`, an `offset`, or `signed: true` would make room");
  return false;
}

void read_unit(Reader& reader, const Fields& fields, ArgumentDefinition& argument) {
  const YamlNode* unit = fields.need("unit");
  if (unit == nullptr || !reader.is_text(*unit, "`unit`")) return;
  const Unit* found = find_unit(unit->text);
  if (found != nullptr) {
    argument.unit = found->symbol;
    argument.dimension = found->dimension;
    argument.encoding.step = found->factor;
    return;
  }
  std::vector<std::string> symbols;
  for (const Unit& known : all_units()) symbols.emplace_back(known.symbol);
  reader.suggest(
      reader.report(diagnostics::ModelUnknownName, reader.inside(*unit), unit->text, "unit of measure"),
      reader.inside(*unit), unit->text, symbols);
}

// {raw: 0, value: "5 V"}, rising by raw.
void read_points(Reader& reader, const YamlNode& node, const std::string& what,
                 ArgumentDefinition& argument) {
  if (!reader.is_list(node, what)) return;
  ArgumentEncoding& encoding = argument.encoding;
  for (const YamlNode& item : node.items) {
    const Fields fields(reader, item, "a point of " + what, {"raw", "value"});
    if (!fields.is_map()) return;
    CalibrationPoint point;
    point.raw = fields.need_whole("raw", least_count(encoding), greatest_count(encoding));
    point.value = fields.need_exact("value", argument.dimension, anything);
    if (!encoding.points.empty() && point.raw <= encoding.points.back().raw) {
      reader.report(diagnostics::ModelOutOfRange,
                    fields.get("raw") != nullptr ? fields.get("raw")->span : item.span, "`raw`",
                    std::to_string(point.raw),
                    "more than the " + std::to_string(encoding.points.back().raw) + " before it");
      return;
    }
    encoding.points.push_back(point);
  }
  if (encoding.points.size() < 2) {
    reader.report(diagnostics::ModelOutOfRange, node.span, what, std::to_string(encoding.points.size()),
                  "two points or more");
    encoding.calibration = Calibration::Linear;
  }
}

// What each raw count stands for, when that is no straight line through all of them.
void read_calibration(Reader& reader, const YamlNode& node, ArgumentDefinition& argument) {
  ArgumentEncoding& encoding = argument.encoding;
  const Fields fields(reader, node, "`calibration`", {"coefficients", "points", "values"});
  if (!fields.is_map()) return;
  const YamlNode* coefficients = fields.get("coefficients");
  const YamlNode* points = fields.get("points");
  const YamlNode* values = fields.get("values");
  if ((coefficients != nullptr) + (points != nullptr) + (values != nullptr) != 1) {
    reader.report(diagnostics::ModelMissingKey, node.span, "`calibration`", "coefficients")
        .hint("give one of `coefficients`, `points` and `values`");
    return;
  }
  constexpr int widest = 16;  // every count of it is looked at
  if (encoding.width > widest) {
    reader.report(diagnostics::ModelOutOfRange, node.span, "the width of an argument with `calibration`",
                  std::to_string(encoding.width) + " bits", "at most " + std::to_string(widest));
    return;
  }
  if (coefficients != nullptr) {
    if (!reader.is_list(*coefficients, "`coefficients`")) return;
    const Unit* unit = find_unit(argument.unit);
    for (const YamlNode& item : coefficients->items) {
      const double value = reader.decimal(item, "a coefficient", anything);
      encoding.coefficients.push_back(value * unit->factor +
                                      (encoding.coefficients.empty() ? unit->offset : 0));
    }
    if (encoding.coefficients.size() < 2 || encoding.coefficients.size() > 8) {
      reader.report(diagnostics::ModelOutOfRange, coefficients->span, "`coefficients`",
                    std::to_string(encoding.coefficients.size()), "two to eight of them");
      return;
    }
    encoding.calibration = Calibration::Polynomial;
  } else {
    encoding.calibration = points != nullptr ? Calibration::Points : Calibration::Values;
    read_points(reader, points != nullptr ? *points : *values, points != nullptr ? "`points`" : "`values`",
                argument);
  }
  if (encoding.calibration == Calibration::Linear || encoding.calibration == Calibration::Values) return;
  if (const auto turn = where_it_turns(encoding)) {
    reader
        .report(diagnostics::ModelOutOfRange, node.span, "`calibration`",
                "a law that turns back at raw " + std::to_string(*turn),
                "one that rises or falls over all raw counts")
        .hint("otherwise a value could be sent in two ways");
    encoding.calibration = Calibration::Linear;
  }
}

void read_encoding(Reader& reader, const Fields& fields, ArgumentDefinition& argument) {
  ArgumentEncoding& encoding = argument.encoding;
  encoding.width = static_cast<int>(fields.whole("width", 1, 64, 8));
  if (argument.type != ArgumentType::Quantity && argument.type != ArgumentType::Count) return;
  encoding.is_signed = fields.flag("signed", false);
  if (argument.type == ArgumentType::Quantity && !argument.unit.empty() &&
      fields.get("resolution") != nullptr) {
    encoding.resolution = fields.exact("resolution", step_dimension(argument.dimension), not_negative, 0);
  }
  if (const YamlNode* calibration = fields.get("calibration")) {
    for (const char* key : {"step", "offset"}) {
      const YamlNode* linear = fields.get(key);
      if (linear == nullptr) continue;
      reader.report(diagnostics::ModelUnknownKey, linear->span, key, "an argument with `calibration`")
          .hint("the calibration says what each raw count stands for");
    }
    if (!argument.unit.empty()) read_calibration(reader, *calibration, argument);
    return;
  }
  if (argument.type == ArgumentType::Quantity) {
    if (argument.unit.empty()) return;
    encoding.step = fields.exact("step", step_dimension(argument.dimension), positive, encoding.step);
    encoding.offset = fields.exact("offset", argument.dimension, anything, 0);
    if (encoding.step <= 0) encoding.step = 1;
    return;
  }
  if (fields.get("step") != nullptr)
    encoding.step = static_cast<double>(fields.whole("step", 1, most_exact, 1));
  if (fields.get("offset") != nullptr) {
    encoding.offset = static_cast<double>(fields.whole("offset", -most_exact, most_exact, 0));
  }
}

void read_limits(Reader& reader, const Fields& fields, ArgumentDefinition& argument) {
  if (const YamlNode* range = fields.get("range")) {
    const Dimension dimension = argument.type == ArgumentType::Count ? dimensions::count : argument.dimension;
    if (const auto found = reader.range(*range, "`range`", dimension)) {
      argument.minimum = found->low;
      argument.maximum = found->high;
      if (fits_bits(reader, *range, argument, found->low)) fits_bits(reader, *range, argument, found->high);
    }
  }
  const YamlNode* allowed = fields.get("allowed");
  if (allowed == nullptr || !reader.is_list(*allowed, "`allowed`")) return;
  std::vector<double> values;
  for (const YamlNode& item : allowed->items) {
    if (const auto value = read_argument_value(reader, item, argument)) values.push_back(*value);
  }
  if (allowed->items.empty()) {
    reader.report(diagnostics::ModelOutOfRange, allowed->span, "`allowed`", "an empty list",
                  "at least one value");
  }
  argument.allowed = std::move(values);
}

void read_choices(Reader& reader, const Fields& fields, ArgumentDefinition& argument) {
  const YamlNode* choices = fields.need("choices");
  if (choices == nullptr || !reader.is_map(*choices, "`choices`")) return;
  const std::int64_t most =
      argument.encoding.width >= 53 ? most_exact : (std::int64_t{1} << argument.encoding.width) - 1;
  std::unordered_map<std::uint64_t, const YamlEntry*> seen;
  for (const YamlEntry& entry : choices->entries) {
    reader.check_name(entry.key, entry.key_span);
    const auto raw =
        static_cast<std::uint64_t>(reader.whole(entry.value, "the number of `" + entry.key + "`", 0, most));
    const auto [earlier, is_new] = seen.emplace(raw, &entry);
    if (!is_new) {
      reader
          .report(diagnostics::ModelDuplicateNumber, entry.value.span, std::to_string(raw),
                  earlier->second->key)
          .context(earlier->second->value.span, "given here first");
    }
    argument.choices.push_back({entry.key, raw});
  }
  if (choices->entries.empty()) {
    reader.report(diagnostics::ModelMissingKey, choices->span, "`choices`", "NAME of a choice");
  }
}

void read_default(Reader& reader, const Fields& fields, ArgumentDefinition& argument) {
  const YamlNode* node = fields.get("default");
  if (node == nullptr) return;
  const auto value = read_argument_value(reader, *node, argument);
  if (!value) return;
  if (argument.type == ArgumentType::Choice) {
    argument.default_choice = node->text;
  } else {
    argument.default_number = *value;
  }
}

}  // namespace

std::optional<double> read_argument_value(Reader& reader, const YamlNode& node,
                                          const ArgumentDefinition& argument) {
  const std::string what = "`" + argument.name + "`";
  if (argument.type == ArgumentType::Flag) return reader.flag(node, what) ? 1.0 : 0.0;
  if (argument.type == ArgumentType::Choice) {
    if (!reader.is_text(node, what)) return std::nullopt;
    std::vector<std::string> names;
    for (const Choice& choice : argument.choices) {
      if (choice.name == node.text) return static_cast<double>(choice.raw);
      names.push_back(choice.name);
    }
    reader.suggest(
        reader.report(diagnostics::ModelUnknownName, reader.inside(node), node.text, "choice of " + what),
        reader.inside(node), node.text, names);
    return std::nullopt;
  }
  if (argument.type == ArgumentType::Quantity && argument.unit.empty()) return std::nullopt;
  const double value = argument.type == ArgumentType::Count
                           ? static_cast<double>(reader.whole(node, what, -most_exact, most_exact))
                           : reader.exact(node, what, argument.dimension, anything);
  // Decimal fractions differ in the last bits when they come by different units.
  const double slack = 1e-9 * argument.encoding.step;
  const bool below = argument.minimum && value < *argument.minimum - slack;
  const bool above = argument.maximum && value > *argument.maximum + slack;
  if (below || above) {
    reader.report(
        diagnostics::ModelOutOfRange, reader.inside(node), what, shown(argument, value),
        "a value from " + shown(argument, *argument.minimum) + " to " + shown(argument, *argument.maximum));
    return std::nullopt;
  }
  const auto is_value = [&](double one) { return std::abs(one - value) <= slack; };
  if (!argument.allowed.empty() && std::none_of(argument.allowed.begin(), argument.allowed.end(), is_value)) {
    reader.report(diagnostics::ModelOutOfRange, reader.inside(node), what, shown(argument, value),
                  "one of the `allowed` values");
    return std::nullopt;
  }
  if (!fits_bits(reader, node, argument, value)) return std::nullopt;
  return value;
}

void read_arguments(Reader& reader, const YamlNode& node, CommandDefinition& command) {
  if (!reader.is_map(node, "`arguments`")) return;
  for (const YamlEntry& entry : node.entries) {
    reader.check_name(entry.key, entry.key_span);
    ArgumentDefinition argument;
    argument.name = entry.key;
    argument.origin = reader.origin(entry.key_span);
    const std::string what = "argument `" + entry.key + "`";
    if (!reader.is_map(entry.value, what)) continue;
    const YamlNode* type = entry.value.find("type");
    if (type == nullptr) {
      reader.report(diagnostics::ModelMissingKey, entry.value.span, what, "type")
          .hint("write `type: quantity`, `count`, `choice` or `flag`");
      continue;
    }
    const auto kind = reader.word(*type, "type of argument", {"quantity", "count", "choice", "flag"});
    if (!kind) continue;
    std::vector<std::string> known{"type", "width", "default", "note"};
    const auto also = [&](std::initializer_list<const char*> keys) {
      known.insert(known.end(), keys.begin(), keys.end());
    };
    if (*kind == 0) {
      also({"unit", "range", "allowed", "step", "offset", "signed", "calibration", "resolution"});
    }
    if (*kind == 1) also({"range", "allowed", "step", "offset", "signed"});
    if (*kind == 2) also({"choices"});
    argument.type = *kind == 0   ? ArgumentType::Quantity
                    : *kind == 1 ? ArgumentType::Count
                    : *kind == 2 ? ArgumentType::Choice
                                 : ArgumentType::Flag;
    const Fields fields(reader, entry.value, what, std::move(known));
    argument.note = fields.text("note");
    if (argument.type == ArgumentType::Count) argument.dimension = dimensions::count;
    if (argument.type == ArgumentType::Quantity) read_unit(reader, fields, argument);
    read_encoding(reader, fields, argument);
    if (argument.type == ArgumentType::Choice) read_choices(reader, fields, argument);
    const bool numeric = argument.type == ArgumentType::Count || !argument.unit.empty();
    if (numeric) read_limits(reader, fields, argument);
    read_default(reader, fields, argument);
    command.arguments.push_back(std::move(argument));
  }
}

}  // namespace cairn
