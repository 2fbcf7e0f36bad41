// Expressions to values, names to bindings.
//
// A binding is evaluated once, when first needed; meeting one that is still running is a circle.

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

#include "compiler/meaning/argument_words.h"
#include "compiler/meaning/program.h"
#include "compiler/text/catalogue.h"
#include "constraints/quantity/unit.h"

namespace cairn {

namespace {

constexpr int deepest_evaluation = 2000;

std::optional<double> read_double(std::string_view text) {
  double value = 0;
  const auto [end, problem] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (problem != std::errc{} || end != text.data() + text.size() || !std::isfinite(value))
    return std::nullopt;
  return value;
}

std::optional<std::int64_t> read_count(std::string_view text) {
  std::int64_t value = 0;
  const auto [end, problem] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (problem != std::errc{} || end != text.data() + text.size()) return std::nullopt;
  return value;
}

std::string written(const PathName& path) {
  std::string result(path.first.text);
  if (path.second.is_present()) result += "." + std::string(path.second.text);
  if (path.third.is_present()) result += "." + std::string(path.third.text);
  return result;
}

std::string kind_hint(ValueKind kind, const Value& found) {
  switch (kind) {
    case ValueKind::Instant:
      return "an instant is a mark, a time such as 2031-05-14T06:00:00Z, or one of these plus a duration";
    case ValueKind::Duration:
      if (found.kind == ValueKind::Count) {
        const std::string count = std::to_string(found.count);
        return "write a unit: `" + count + " s`, `" + count + " min` or `" + count + " h`";
      }
      if (found.kind == ValueKind::Instant)
        return "give a length of time such as `90 s`; from one instant to another it is `later - earlier`";
      return "give a length of time such as `90 s` or `2 h`";
    case ValueKind::Count:
      return "give a whole number without a unit, such as `3`";
    case ValueKind::Boolean:
      return "something true or false is a comparison such as `depth > 1 m` or `store is first`, or a "
             "constant that "
             "holds one";
    default:
      return "write it as in docs/language.md, under Values";
  }
}

std::string length_of_month(std::string_view text) {
  const auto digits = [text](std::size_t at, std::size_t count) {
    int value = 0;
    for (std::size_t i = at; i < at + count; ++i) value = value * 10 + (text[i] - '0');
    return value;
  };
  const int year = digits(0, 4);
  const bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
  if (text.size() > 7 && text[7] != '-')
    return std::to_string(year) + " has the days 001 to " + (leap ? "366" : "365");
  const int month = digits(5, 2);
  if (month < 1 || month > 12) return "months go from 01 to 12; the order is year, month, day";
  constexpr std::array<int, 12> lengths{31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  const int days = lengths[static_cast<std::size_t>(month - 1)] + (month == 2 && leap ? 1 : 0);
  return std::string(text.substr(0, 7)) + " has the days 01 to " + std::to_string(days);
}

constexpr std::string_view number_hint =
    "a count has at most 19 digits, up to 9223372036854775807; other numbers reach to 1.7e308";

}  // namespace

Evaluator::Evaluator(const Program& program, Diagnostics& diagnostics, MarkSolver solver)
    : program_(&program), diagnostics_(&diagnostics), solver_(std::move(solver)) {
  globals_ = &new_scope(nullptr);
  for (std::uint32_t tree = 0; tree < program.trees->size(); ++tree) {
    for (const Item& item : (*program.trees)[tree].items) {
      if (item.kind != ItemKind::Let) continue;
      Binding binding;
      binding.name = item.name;
      binding.tree = tree;
      binding.scope = globals_;
      binding.expression = item.value;
      define(*globals_, std::move(binding));
    }
  }
}

Scope& Evaluator::new_scope(Scope* parent) {
  scopes_.push_back(Scope{parent, {}});
  return scopes_.back();
}

Binding* Evaluator::find(std::string_view name, Scope& scope) {
  for (Scope* at = &scope; at != nullptr; at = at->parent) {
    const auto found = at->names.find(name);
    if (found != at->names.end()) return &found->second;
  }
  return nullptr;
}

void Evaluator::define(Scope& scope, Binding binding) {
  const std::string name(binding.name.text);
  const auto found = scope.names.find(name);
  if (found != scope.names.end()) {
    diagnostics_->report(diagnostics::DuplicateName, binding.name.span, name)
        .context(found->second.name.span, "first defined here")
        .hint("choose another name for one of the two");
    return;
  }
  scope.names.emplace(name, std::move(binding));
}

void Evaluator::declare(std::uint32_t tree, StatementId first, Scope& scope) {
  const Tree& source = (*program_->trees)[tree];
  for (StatementId id = first; id.is_valid(); id = source.statements[id].next) {
    const Statement& statement = source.statements[id];
    if (statement.kind != StatementKind::Let && statement.kind != StatementKind::Mark) continue;
    Binding binding;
    binding.name = statement.name;
    binding.tree = tree;
    binding.scope = &scope;
    if (statement.kind == StatementKind::Let) {
      binding.expression = statement.value;
    } else {
      binding.mark = &source.marks[statement.mark];
    }
    define(scope, std::move(binding));
  }
}

Value Evaluator::resolve(Binding& binding) {
  if (binding.stage == BindingStage::Done) return binding.value;
  if (binding.stage == BindingStage::Running) {
    report_cycle(binding);
    return Value::error();
  }
  binding.stage = BindingStage::Running;
  running_.push_back(&binding);
  Value value;
  if (binding.mark == nullptr) {
    value = evaluate(binding.tree, binding.expression, *binding.scope);
  } else if (binding.mark->kind == MarkKind::Expression) {
    value = evaluate_as(ValueKind::Instant, binding.tree, binding.mark->value, *binding.scope,
                        "mark `" + std::string(binding.name.text) + "`");
  } else {
    value = solver_(binding);
  }
  binding.value = value;
  binding.stage = BindingStage::Done;
  running_.pop_back();
  return value;
}

void Evaluator::report_cycle(const Binding& binding) {
  auto at = std::find(running_.begin(), running_.end(), &binding);
  std::string circle;
  auto builder =
      diagnostics_->report(diagnostics::NameCycle, binding.name.span, std::string(binding.name.text));
  constexpr std::ptrdiff_t most = 12;
  const auto end = running_.end() - at > most ? at + most : running_.end();
  for (; at != end; ++at) {
    circle += std::string((*at)->name.text) + " -> ";
    if (*at != &binding) builder.context((*at)->name.span, "on the way");
  }
  circle += end == running_.end() ? std::string(binding.name.text) : "...";
  builder.hint("the circle is " + circle + ": give one of them a value that needs none of the others");
}

Value Evaluator::evaluate_as(ValueKind kind, std::uint32_t tree, ExpressionId expression, Scope& scope,
                             const std::string& what) {
  Value value = evaluate(tree, expression, scope);
  if (!value.is_usable() || value.kind == kind) return value;
  Value wanted;
  wanted.kind = kind;
  const std::string expected = kind == ValueKind::Boolean
                                   ? "true or false"
                                   : (kind == ValueKind::Instant ? "an " : "a ") + type_name(wanted);
  diagnostics_
      ->report(diagnostics::WrongType, (*program_->trees)[tree].expressions[expression].span, what, expected,
               type_name(value))
      .hint(kind_hint(kind, value));
  blame(tree, expression, scope);
  return Value::error();
}

void Evaluator::blame(std::uint32_t tree, ExpressionId id, Scope& scope) {
  const Expression& expression = (*program_->trees)[tree].expressions[id];
  for (const ExpressionId side : {expression.left, expression.right}) {
    if (side.is_valid()) blame(tree, side, scope);
  }
  if (expression.kind != ExpressionKind::Name) return;
  const PathName& path = (*program_->trees)[tree].paths[expression.path];
  Binding* binding = path.second.is_present() ? nullptr : find(path.first.text, scope);
  if (binding != nullptr && binding->stage == BindingStage::Done) binding->value = Value::error();
}

Value Evaluator::evaluate(std::uint32_t tree, ExpressionId id, Scope& scope) {
  if (!id.is_valid()) return Value::error();
  const Expression& expression = (*program_->trees)[tree].expressions[id];
  if (depth_ >= deepest_evaluation) {
    diagnostics_->report(diagnostics::ValueOverflow, expression.span, "chain of definitions")
        .hint("at most " + std::to_string(deepest_evaluation) +
              " steps hang on each other; give a value on the way outright");
    return Value::error();
  }
  ++depth_;
  Value value;
  switch (expression.kind) {
    case ExpressionKind::Number:
    case ExpressionKind::Quantity:
      value = literal(expression, false);
      break;
    case ExpressionKind::Instant:
      value = instant(expression);
      break;
    case ExpressionKind::Text:
      value = Value::of_text(unescape(expression.text));
      break;
    case ExpressionKind::Boolean:
      value = Value::of_boolean(expression.text == "true");
      break;
    case ExpressionKind::Name:
      value = name_value(tree, expression, scope);
      break;
    case ExpressionKind::Negate: {
      const Expression& inner = (*program_->trees)[tree].expressions[expression.left];
      if (inner.kind == ExpressionKind::Quantity || inner.kind == ExpressionKind::Number) {
        value = literal(inner, true);  // -5 degC is a reading below zero, not the negative of one
      } else {
        value = negate(evaluate(tree, expression.left, scope), expression.span, *diagnostics_);
      }
      break;
    }
    case ExpressionKind::Add:
    case ExpressionKind::Subtract:
    case ExpressionKind::Multiply:
    case ExpressionKind::Divide: {
      const Value left = evaluate(tree, expression.left, scope);
      const Value right = evaluate(tree, expression.right, scope);
      const auto& expressions = (*program_->trees)[tree].expressions;
      value = arithmetic(expression.kind, left, right, expression, expressions[expression.left].span,
                         expressions[expression.right].span, *diagnostics_);
      if (value.kind == ValueKind::Error && left.is_usable() && right.is_usable()) blame(tree, id, scope);
      break;
    }
    default:
      value = condition(tree, expression, scope);
  }
  --depth_;
  return value;
}

Value Evaluator::literal(const Expression& expression, bool negative) {
  std::string digits = negative ? "-" : "";
  digits += expression.text;
  if (!expression.unit.is_present()) {
    if (const auto count = read_count(digits)) return Value::of_count(*count);
    if (const auto number = read_double(digits); number && digits.find_first_of(".eE") != std::string::npos) {
      return Value::of_quantity(*number, dimensions::ratio);
    }
    diagnostics_->report(diagnostics::NumberRange, expression.span, digits).hint(std::string(number_hint));
    return Value::error();
  }
  if (const auto nanoseconds = nanoseconds_in(expression.unit.text)) {
    if (const auto duration = exact_duration(digits, *nanoseconds)) return Value::of(*duration);
    diagnostics_
        ->report(diagnostics::InexactDuration, expression.span,
                 digits + " " + std::string(expression.unit.text))
        .hint("durations are whole numbers of `ns` and reach to 292 years: round it, or use a larger unit");
    return Value::error();
  }
  const Unit* unit = find_unit(expression.unit.text);
  if (unit == nullptr) return Value::error();  // the parser has reported it
  const auto number = read_double(digits);
  if (!number) {
    diagnostics_->report(diagnostics::NumberRange, expression.span, digits).hint(std::string(number_hint));
    return Value::error();
  }
  // A bare K is a difference; where a reading is wanted it is taken as one (see has_type).
  const bool kelvin = expression.unit.text == "K";
  Value value = Value::of_quantity(*number * unit->factor + (kelvin ? 0 : unit->offset),
                                   kelvin ? dimensions::temperature_difference : unit->dimension);
  if (value.kind == ValueKind::Error) {
    diagnostics_->report(diagnostics::NumberRange, expression.span, digits).hint(std::string(number_hint));
  }
  return value;
}

Value Evaluator::instant(const Expression& expression) {
  const auto result = parse_utc(expression.text, *program_->leap_seconds);
  if (result) return Value::of(*result);
  const std::string text(expression.text);
  switch (result.error()) {
    case UtcError::Malformed:
      diagnostics_->report(diagnostics::BadInstant, expression.span, text)
          .hint(
              "an instant is UTC with a `Z`: `2031-05-14T06:00:00Z` or, by day of the year, "
              "`2031-134T06:00:00Z`");
      break;
    case UtcError::NoSuchDate:
      diagnostics_->report(diagnostics::NoSuchDate, expression.span, text).hint(length_of_month(text));
      break;
    case UtcError::NoSuchTime:
      diagnostics_->report(diagnostics::NoSuchTime, expression.span, text)
          .hint(
              "hours go from 00 to 23, minutes and seconds from 00 to 59; midnight is 00:00:00 of the day it "
              "begins");
      break;
    case UtcError::NoLeapSecond: {
      std::string before = text;
      before.replace(before.find(":60"), 3, ":59");
      diagnostics_->report(diagnostics::NoLeapSecond, expression.span, text)
          .fix(expression.span, before, FixKind::Guess, "the second before is `" + before + "`");
      break;
    }
    case UtcError::BeforeTable:
      diagnostics_->report(diagnostics::BeforeLeapTable, expression.span, text)
          .hint("write an instant from 1972-01-01T00:00:00Z on");
      break;
    case UtcError::AfterRange:
      diagnostics_->report(diagnostics::InstantRange, expression.span, text)
          .hint("write an instant up to the year 2245");
      break;
    case UtcError::TooManyDigits: {
      const std::string good = text.substr(0, text.find('.') + 10) + "Z";
      diagnostics_->report(diagnostics::InstantDigits, expression.span, text)
          .fix(expression.span, good, FixKind::Guess, "times are whole nanoseconds: write `" + good + "`");
      break;
    }
  }
  return Value::error();
}

Value Evaluator::name_value(std::uint32_t tree, const Expression& expression, Scope& scope) {
  const PathName& path = (*program_->trees)[tree].paths[expression.path];
  const std::string name = written(path);
  if (!path.second.is_present()) {
    if (Binding* binding = find(name, scope)) return resolve(*binding);
  } else if (path.first.text == "station") {
    return fact(path);
  }
  if (!unknown_.emplace(name, expression.span).second && !path.second.is_present()) return Value::error();
  std::vector<std::string> known;
  for (Scope* at = &scope; at != nullptr; at = at->parent) {
    for (const auto& entry : at->names) {
      if (entry.second.stage != BindingStage::Running) known.push_back(entry.first);
    }
  }
  auto builder = diagnostics_->report(diagnostics::UnknownName, expression.span, name);
  const Word word{name, expression.span};
  if (path.second.is_present()) {
    builder.hint("only a mark waits for a predicted quantity: `mark NAME = " + name + " falls below VALUE`");
  } else if (known.empty()) {
    builder.hint("define it, with `mark " + name + " = INSTANT` or `let " + name + " = VALUE`");
  } else {
    suggest_word(builder, word, known, {});
  }
  return Value::error();
}

}  // namespace cairn
