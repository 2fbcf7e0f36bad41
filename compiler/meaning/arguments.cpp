// Arguments of commands and of routines: matched by name, typed, held against range and steps.
//
// Where the station model sets a limit, the diagnostic points into the model too.

#include <algorithm>
#include <array>
#include <cmath>

#include "compiler/meaning/argument_words.h"
#include "compiler/meaning/program.h"
#include "compiler/text/catalogue.h"
#include "compiler/text/spelling.h"

namespace cairn {

namespace {

struct TypeWord {
  std::string_view name;
  ValueKind kind;
  Dimension dimension;
};

constexpr std::array<TypeWord, 15> types{{
    {"Duration", ValueKind::Duration, dimensions::duration},
    {"Instant", ValueKind::Instant, dimensions::instant},
    {"Power", ValueKind::Quantity, dimensions::power},
    {"Energy", ValueKind::Quantity, dimensions::energy},
    {"Temperature", ValueKind::Quantity, dimensions::temperature},
    {"Angle", ValueKind::Quantity, dimensions::angle},
    {"Length", ValueKind::Quantity, dimensions::length},
    {"Rate", ValueKind::Quantity, dimensions::data_rate},
    {"DataSize", ValueKind::Quantity, dimensions::data},
    {"Voltage", ValueKind::Quantity, dimensions::voltage},
    {"Current", ValueKind::Quantity, dimensions::current},
    {"Frequency", ValueKind::Quantity, dimensions::frequency},
    {"Ratio", ValueKind::Quantity, dimensions::ratio},
    {"Count", ValueKind::Count, dimensions::count},
    {"Text", ValueKind::Text, dimensions::ratio},
}};

std::string example_of_type(std::string_view type) {
  static constexpr std::array<std::pair<std::string_view, std::string_view>, 16> examples{{
      {"Duration", "`90 s`"},
      {"Instant", "`2031-05-14T06:00:00Z` or a mark"},
      {"Power", "`4.5 W`"},
      {"Energy", "`12 Wh`"},
      {"Temperature", "`20 degC`"},
      {"Angle", "`180 deg`"},
      {"Length", "`0.8 m`"},
      {"Rate", "`1 kbit/s`"},
      {"DataSize", "`4 kbit`"},
      {"Voltage", "`28 V`"},
      {"Current", "`200 mA`"},
      {"Frequency", "`4 Hz`"},
      {"Ratio", "`20 %`"},
      {"Count", "`3`"},
      {"Text", "`\"words\"`"},
      {"Boolean", "`true`"},
  }};
  for (const auto& [name, example] : examples) {
    if (name == type) return std::string(example);
  }
  return "one it takes elsewhere";
}

bool near(double a, double b) {
  return std::abs(a - b) <= 1e-9 * std::max({std::abs(a), std::abs(b), 1e-12});
}

std::string list_choices(const ArgumentDefinition& definition) {
  std::string list;
  for (const Choice& choice : definition.choices) list += (list.empty() ? "`" : ", `") + choice.name + "`";
  return list;
}

class ArgumentReader {
 public:
  ArgumentReader(Evaluator& evaluator, std::uint32_t tree, Scope& scope, const std::string& command)
      : evaluator_(&evaluator), tree_(tree), scope_(&scope), command_(command) {}

  // nullopt when something was reported (or the value is pending).
  std::optional<ArgumentValue> read(const ArgumentDefinition& definition, const Argument& argument) {
    if (definition.type == ArgumentType::Choice) return choice(definition, argument);
    const Value value = evaluator_->evaluate(tree_, argument.value, *scope_);
    if (!value.is_usable()) return std::nullopt;
    switch (definition.type) {
      case ArgumentType::Flag:
        if (value.kind != ValueKind::Boolean) return wrong(definition, argument, "true or false", value);
        return encode(definition, argument, value.boolean ? 1 : 0);
      case ArgumentType::Count:
        if (value.kind != ValueKind::Count) return wrong(definition, argument, "a Count", value);
        return limited(definition, argument, static_cast<double>(value.count));
      default:
        break;
    }
    double number = 0;
    if (value.kind == ValueKind::Duration && definition.dimension == dimensions::duration) {
      number = value.duration.seconds();
    } else if (value.kind == ValueKind::Count && definition.dimension == dimensions::ratio) {
      number = static_cast<double>(value.count);
    } else if (value.kind == ValueKind::Quantity &&
               (value.dimension == definition.dimension ||
                (definition.dimension == dimensions::temperature &&
                 value.dimension == dimensions::temperature_difference))) {
      number = value.number;
    } else {
      return wrong(definition, argument, "a quantity of " + name_of(definition.dimension), value);
    }
    return limited(definition, argument, number);
  }

 private:
  std::optional<ArgumentValue> wrong(const ArgumentDefinition& definition, const Argument& argument,
                                     const std::string& expected, const Value& found) {
    const Span span = (*evaluator_->program().trees)[tree_].expressions[argument.value].span;
    auto builder = evaluator_->diagnostics().report(diagnostics::WrongType, span,
                                                    "`" + definition.name + "` of `" + command_ + "`",
                                                    expected, type_name(found));
    point_at_model(builder, definition, "declared here");
    const bool bare = found.kind == ValueKind::Count ||
                      (found.kind == ValueKind::Quantity && found.dimension == dimensions::ratio);
    if (bare && !definition.unit.empty()) {
      const std::string text(evaluator_->program().files->text(span));
      builder.fix(span, text + " " + definition.unit, FixKind::Guess,
                  "write a unit: `" + text + " " + definition.unit + "`");
    } else if (!definition.unit.empty()) {
      builder.hint("give it in " + definition.unit + ", or another unit of " + name_of(definition.dimension) +
                   ": " + accepted_values(definition));
    } else {
      builder.hint("write `" + example_argument(definition) + "`; it takes " + accepted_values(definition));
    }
    return std::nullopt;
  }

  void point_at_model(DiagnosticBuilder& builder, const ArgumentDefinition& definition,
                      const std::string& text) {
    const Span place = evaluator_->program().station->place(definition.origin);
    if (place.is_valid()) builder.context(place, text);
  }

  std::optional<ArgumentValue> limited(const ArgumentDefinition& definition, const Argument& argument,
                                       double number) {
    const Span span = (*evaluator_->program().trees)[tree_].expressions[argument.value].span;
    const bool low = definition.minimum && number < *definition.minimum && !near(number, *definition.minimum);
    const bool high =
        definition.maximum && number > *definition.maximum && !near(number, *definition.maximum);
    if (low || high) {
      const std::string range =
          (definition.minimum ? written_value(definition, *definition.minimum) : "any") + " .. " +
          (definition.maximum ? written_value(definition, *definition.maximum) : "any");
      auto builder = evaluator_->diagnostics().report(diagnostics::OutOfRange, span, definition.name,
                                                      written_value(definition, number), range);
      point_at_model(builder, definition, "the station model sets the range here");
      const std::string nearest = written_value(definition, low ? *definition.minimum : *definition.maximum);
      builder.fix(span, nearest, FixKind::Guess, "the nearest value in range is `" + nearest + "`");
      return std::nullopt;
    }
    if (!definition.allowed.empty() &&
        std::none_of(definition.allowed.begin(), definition.allowed.end(),
                     [number](double allowed) { return near(allowed, number); })) {
      std::string list;
      for (const double allowed : definition.allowed) {
        list += (list.empty() ? "" : ", ") + written_value(definition, allowed);
      }
      auto builder = evaluator_->diagnostics().report(diagnostics::NotAllowed, span, definition.name,
                                                      written_value(definition, number), list);
      point_at_model(builder, definition, "the station model lists the allowed values here");
      const double nearest = *std::min_element(
          definition.allowed.begin(), definition.allowed.end(),
          [number](double a, double b) { return std::abs(a - number) < std::abs(b - number); });
      const std::string text = written_value(definition, nearest);
      builder.fix(span, text, FixKind::Guess, "the nearest allowed value is `" + text + "`");
      return std::nullopt;
    }
    if (const auto steps = nearest_steps(definition, number); !steps.empty()) {
      off_step(definition, span, number, steps);
      return std::nullopt;
    }
    return encode(definition, argument, number);
  }

  // What would be sent is another value: the author says which.
  void off_step(const ArgumentDefinition& definition, Span span, double number,
                const std::vector<double>& steps) {
    auto builder =
        evaluator_->diagnostics().report(diagnostics::OffStep, span, definition.name,
                                         written_value(definition, number), written_step(definition));
    point_at_model(builder, definition, "its step is set here");
    for (const double step : steps) {
      const std::string text = written_value(definition, step);
      builder.fix(span, text, FixKind::Guess,
                  (step < number ? "the nearest below is `" : "the nearest above is `") + text + "`");
    }
  }

  std::optional<ArgumentValue> encode(const ArgumentDefinition& definition, const Argument& argument,
                                      double number) {
    const auto raw = encode_argument(definition, number);
    const Span span = (*evaluator_->program().trees)[tree_].expressions[argument.value].span;
    if (raw) {
      const ArgumentValue value{number, *raw};
      const double error = quantisation_error(definition, value);
      if (!definition.encoding.resolution || std::abs(error) <= *definition.encoding.resolution * (1 + 1e-9))
        return value;
      const std::string sent = show_argument(definition, {decode_argument(definition, *raw), *raw});
      auto builder = evaluator_->diagnostics().report(
          diagnostics::Resolution, span, definition.name, show_argument(definition, value), sent,
          show_difference(definition, std::abs(error)),
          show_difference(definition, *definition.encoding.resolution));
      point_at_model(builder, definition, "its resolution and encoding are set here");
      builder.fix(span, sent, FixKind::Guess, "`" + sent + "` is sent as it stands");
      return std::nullopt;
    }
    auto builder = evaluator_->diagnostics().report(
        diagnostics::OutOfRange, span, definition.name, show(number, definition.dimension),
        "what " + std::to_string(definition.encoding.width) + " bits can carry");
    point_at_model(builder, definition, "its encoding is set here");
    builder.hint("give a smaller value, or a wider field in the station file");
    return std::nullopt;
  }

  std::optional<ArgumentValue> choice(const ArgumentDefinition& definition, const Argument& argument) {
    const Tree& source = (*evaluator_->program().trees)[tree_];
    const Expression& expression = source.expressions[argument.value];
    std::string word;
    const bool bare =
        expression.kind == ExpressionKind::Name && !source.paths[expression.path].second.is_present();
    if (bare) word = std::string(source.paths[expression.path].first.text);
    const auto matches = [&word](const Choice& choice) { return choice.name == word; };
    auto found = std::find_if(definition.choices.begin(), definition.choices.end(), matches);
    if (found == definition.choices.end() && (!bare || evaluator_->find(word, *scope_) != nullptr)) {
      const Value value = evaluator_->evaluate(tree_, argument.value, *scope_);
      if (!value.is_usable()) return std::nullopt;
      if (value.kind != ValueKind::Text) {
        return wrong(definition, argument, "one of " + list_choices(definition), value);
      }
      word = value.text;
      found = std::find_if(definition.choices.begin(), definition.choices.end(), matches);
    }
    if (found != definition.choices.end()) return ArgumentValue{static_cast<double>(found->raw), found->raw};
    auto builder = evaluator_->diagnostics().report(diagnostics::NotAChoice, expression.span, word,
                                                    definition.name, list_choices(definition));
    point_at_model(builder, definition, "the choices are declared here");
    std::vector<std::string> known;
    for (const Choice& known_choice : definition.choices) known.push_back(known_choice.name);
    if (const auto close = nearest_word(word, known)) {
      builder.fix(expression.span, *close, FixKind::Guess, "did you mean `" + *close + "`?");
    } else {
      builder.hint("write `" + example_argument(definition) + "`, or another of them");
    }
    return std::nullopt;
  }

  Evaluator* evaluator_;
  std::uint32_t tree_;
  Scope* scope_;
  const std::string& command_;
};

}  // namespace

std::vector<std::string> type_names() {
  std::vector<std::string> names;
  for (const TypeWord& type : types) names.emplace_back(type.name);
  names.emplace_back("Boolean");
  return names;
}

bool is_type(std::string_view name) {
  const auto names = type_names();
  return std::find(names.begin(), names.end(), name) != names.end();
}

bool has_type(std::string_view type, const Value& value) {
  if (type == "Boolean") return value.kind == ValueKind::Boolean;
  for (const TypeWord& word : types) {
    if (word.name != type) continue;
    if (value.kind == ValueKind::Count && word.dimension == dimensions::ratio &&
        word.kind == ValueKind::Quantity) {
      return true;
    }
    if (value.kind != word.kind) return false;
    if (value.kind != ValueKind::Quantity || value.dimension == word.dimension) return true;
    return word.dimension == dimensions::temperature && value.dimension == dimensions::temperature_difference;
  }
  return false;
}

UnitId named_unit(const Program& program, const Word& word, Diagnostics& diagnostics) {
  const Station& station = program.station->station;
  const UnitId unit = find_unit(station, word.text);
  if (unit.is_valid()) return unit;
  std::vector<std::string> known;
  for (const StationUnit& candidate : station.units) known.push_back(candidate.name);
  suggest_word(
      diagnostics.report(diagnostics::UnknownUnitName, word.span, station.name, std::string(word.text)), word,
      known, "the station file has no `units`");
  return unit;
}

CommandId named_command(const Program& program, const PathName& path, Diagnostics& diagnostics) {
  const Station& station = program.station->station;
  const UnitId unit = named_unit(program, path.first, diagnostics);
  if (!unit.is_valid()) return {};
  const CommandId command =
      path.third.is_present() ? CommandId{} : find_command(station, unit, path.second.text);
  if (command.is_valid()) return command;
  std::vector<std::string> known;
  for (const CommandDefinition& candidate : station.commands) {
    if (candidate.unit == unit) known.push_back(candidate.name);
  }
  Word word = path.second;
  if (path.third.is_present() || !word.is_present()) word.span = path.span;
  const std::string name = std::string(path.second.text) +
                           (path.third.is_present() ? "." + std::string(path.third.text) : std::string());
  suggest_word(diagnostics.report(diagnostics::UnknownCommand, word.span, station.units[unit].name, name),
               word, known, "no command of this unit is in the station file");
  return {};
}

std::optional<TimedCommand> command_of(Evaluator& evaluator, std::uint32_t tree, const Statement& statement,
                                       Scope& scope) {
  const Program& program = evaluator.program();
  Diagnostics& diagnostics = evaluator.diagnostics();
  const CommandId id = named_command(program, (*program.trees)[tree].paths[statement.path], diagnostics);
  if (!id.is_valid()) return std::nullopt;
  const Station& station = program.station->station;
  const CommandDefinition& definition = station.commands[id];
  const std::string name = full_name(station, id);
  const Tree& source = (*program.trees)[tree];

  bool good = true;
  std::vector<const Argument*> given(definition.arguments.size(), nullptr);
  for (std::uint32_t i = 0; i < statement.argument_count; ++i) {
    const Argument& argument = source.arguments[statement.first_argument + i];
    const auto found = std::find_if(
        definition.arguments.begin(), definition.arguments.end(),
        [&argument](const ArgumentDefinition& known) { return known.name == argument.name.text; });
    if (found == definition.arguments.end()) {
      std::vector<std::string> known;
      for (const ArgumentDefinition& candidate : definition.arguments) known.push_back(candidate.name);
      suggest_word(diagnostics.report(diagnostics::UnknownArgument, argument.name.span, name,
                                      std::string(argument.name.text)),
                   argument.name, known, "`" + name + "` takes no arguments");
      good = false;
      continue;
    }
    const Argument*& slot = given[static_cast<std::size_t>(found - definition.arguments.begin())];
    if (slot != nullptr) {
      diagnostics.report(diagnostics::RepeatedArgument, argument.name.span, std::string(argument.name.text))
          .context(slot->name.span, "first given here")
          .hint("keep one of the two");
      good = false;
      continue;
    }
    slot = &argument;
  }

  TimedCommand command;
  command.command = id;
  command.immediate = statement.immediate;
  ArgumentReader reader(evaluator, tree, scope, name);
  const bool names_good = good;
  for (std::size_t i = 0; i < definition.arguments.size(); ++i) {
    const ArgumentDefinition& argument = definition.arguments[i];
    ArgumentValue value;
    if (given[i] != nullptr) {
      const auto read = reader.read(argument, *given[i]);
      good = good && read.has_value();
      value = read.value_or(ArgumentValue{});
    } else if (argument.type == ArgumentType::Choice && argument.default_choice) {
      for (const Choice& choice : argument.choices) {
        if (choice.name == *argument.default_choice) value = {static_cast<double>(choice.raw), choice.raw};
      }
    } else if (argument.default_number) {
      value = {*argument.default_number, encode_argument(argument, *argument.default_number).value_or(0)};
    } else {
      if (names_good) {  // a misspelt name already says what is missing
        auto builder =
            diagnostics.report(diagnostics::MissingArgument,
                               (*program.trees)[tree].paths[statement.path].span, name, argument.name);
        const Span place = program.station->place(argument.origin);
        if (place.is_valid()) builder.context(place, "declared here");
        builder.hint("add it, such as `" + example_argument(argument) + "`; it takes " +
                     accepted_values(argument));
      }
      good = false;
    }
    command.arguments.push_back(value);
  }
  if (!good) return std::nullopt;
  return command;
}

std::optional<std::pair<std::uint32_t, ArgumentValue>> argument_value(
    Evaluator& evaluator, std::uint32_t tree, const CommandDefinition& definition, const std::string& command,
    const Argument& argument, Scope& scope) {
  std::vector<std::string> known;
  for (std::uint32_t i = 0; i < definition.arguments.size(); ++i) {
    known.push_back(definition.arguments[i].name);
    if (known.back() != argument.name.text) continue;
    const auto value =
        ArgumentReader(evaluator, tree, scope, command).read(definition.arguments[i], argument);
    if (!value) return std::nullopt;
    return std::pair(i, *value);
  }
  suggest_word(evaluator.diagnostics().report(diagnostics::UnknownArgument, argument.name.span, command,
                                              std::string(argument.name.text)),
               argument.name, known, "`" + command + "` takes no arguments");
  return std::nullopt;
}

bool bind_parameters(Evaluator& evaluator, std::uint32_t caller_tree, const Statement& call, Scope& outer,
                     RoutineRef ref, Scope& inner) {
  const Program& program = evaluator.program();
  Diagnostics& diagnostics = evaluator.diagnostics();
  const Item& routine = program.item(ref);
  const Tree& source = (*program.trees)[caller_tree];
  const std::string name(routine.name.text);
  bool good = true;
  bool names_good = true;
  std::map<std::string_view, const Argument*> given;
  for (std::uint32_t i = 0; i < call.argument_count; ++i) {
    const Argument& argument = source.arguments[call.first_argument + i];
    const bool known =
        std::any_of(routine.parameters.begin(), routine.parameters.end(),
                    [&argument](const Parameter& p) { return p.name.text == argument.name.text; });
    if (!known) {
      std::vector<std::string> names;
      for (const Parameter& parameter : routine.parameters) names.emplace_back(parameter.name.text);
      suggest_word(diagnostics.report(diagnostics::UnknownArgument, argument.name.span, name,
                                      std::string(argument.name.text)),
                   argument.name, names, "`" + name + "` takes no arguments: `do " + name + "()`");
      good = names_good = false;
    } else if (const auto [slot, fresh] = given.emplace(argument.name.text, &argument); !fresh) {
      diagnostics.report(diagnostics::RepeatedArgument, argument.name.span, std::string(argument.name.text))
          .context(slot->second->name.span, "first given here")
          .hint("keep one of the two");
      good = false;
    }
  }
  for (const Parameter& parameter : routine.parameters) {
    Binding binding;
    binding.name = parameter.name;
    binding.tree = ref.tree;
    binding.scope = &inner;
    binding.stage = BindingStage::Done;
    const auto found = given.find(parameter.name.text);
    Span place = parameter.span;
    if (found != given.end()) {
      binding.value = evaluator.evaluate(caller_tree, found->second->value, outer);
      place = source.expressions[found->second->value].span;
    } else if (parameter.default_value.is_valid()) {
      binding.value = evaluator.evaluate(ref.tree, parameter.default_value, inner);
    } else {
      if (names_good) {
        diagnostics
            .report(diagnostics::MissingArgument, call.name.span, name, std::string(parameter.name.text))
            .context(parameter.span, "declared here")
            .hint("add `" + std::string(parameter.name.text) +
                  "=VALUE` between the parentheses; it is of type " + std::string(parameter.type.text));
      }
      good = false;
    }
    if (binding.value.is_usable() && is_type(parameter.type.text) &&
        !has_type(parameter.type.text, binding.value)) {
      auto builder = diagnostics.report(
          diagnostics::WrongType, place, "`" + std::string(parameter.name.text) + "` of `" + name + "`",
          "of type " + std::string(parameter.type.text), type_name(binding.value));
      if (found != given.end()) builder.context(parameter.span, "declared here");
      builder.hint("give a value of type " + std::string(parameter.type.text) + ", such as " +
                   example_of_type(parameter.type.text));
      good = false;
    }
    if (parameter.type.text == "Temperature" && binding.value.kind == ValueKind::Quantity) {
      binding.value.dimension = dimensions::temperature;  // a bare K given where a reading is wanted
    }
    if (!binding.value.is_usable()) good = false;
    evaluator.define(inner, std::move(binding));
  }
  return good;
}

}  // namespace cairn
