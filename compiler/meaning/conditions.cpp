// What is true or false before anything runs: comparisons, `is`, `and`, `or`, `not`, and facts of the
// station.
//
// A condition here is fixed by constants, parameters and facts. What a unit does while the load runs is no
// such thing, and whoever asks for it is told so.

#include <algorithm>
#include <array>

#include "compiler/meaning/argument_words.h"
#include "compiler/meaning/program.h"
#include "compiler/text/catalogue.h"

namespace cairn {

namespace {

bool is_number(const Value& value) {
  return value.kind == ValueKind::Quantity || value.kind == ValueKind::Count;
}

double number_in(const Value& value) {
  return value.kind == ValueKind::Count ? static_cast<double>(value.count) : value.number;
}

bool is_temperature(Dimension dimension) {
  return dimension == dimensions::temperature || dimension == dimensions::temperature_difference;
}

// -1, 0, 1; nullopt when the two cannot be compared. Texts and flags have no order: 0, or 1 when they differ.
std::optional<int> order_of(const Value& a, const Value& b) {
  const auto order = [](const auto& x, const auto& y) { return x < y ? -1 : (y < x ? 1 : 0); };
  if (is_number(a) && is_number(b)) {
    if (a.kind == ValueKind::Count && b.kind == ValueKind::Count) return order(a.count, b.count);
    const Dimension left = a.kind == ValueKind::Count ? dimensions::ratio : a.dimension;
    const Dimension right = b.kind == ValueKind::Count ? dimensions::ratio : b.dimension;
    if (left != right && !(is_temperature(left) && is_temperature(right))) return std::nullopt;
    return order(number_in(a), number_in(b));
  }
  if (a.kind != b.kind) return std::nullopt;
  switch (a.kind) {
    case ValueKind::Duration:
      return order(a.duration, b.duration);
    case ValueKind::Instant:
      return order(a.instant, b.instant);
    case ValueKind::Boolean:
      return a.boolean == b.boolean ? 0 : 1;
    case ValueKind::Text:
      return a.text == b.text ? 0 : 1;
    default:
      return std::nullopt;
  }
}

bool has_order(const Value& value) {
  return value.kind != ValueKind::Text && value.kind != ValueKind::Boolean;
}

bool asks_for_order(ExpressionKind kind) {
  return kind == ExpressionKind::Less || kind == ExpressionKind::LessOrEqual ||
         kind == ExpressionKind::Greater || kind == ExpressionKind::GreaterOrEqual;
}

bool is_met(ExpressionKind kind, int order) {
  switch (kind) {
    case ExpressionKind::Less:
      return order < 0;
    case ExpressionKind::LessOrEqual:
      return order <= 0;
    case ExpressionKind::Greater:
      return order > 0;
    case ExpressionKind::GreaterOrEqual:
      return order >= 0;
    case ExpressionKind::IsNot:
      return order != 0;
    default:
      return order == 0;
  }
}

struct Fact {
  std::string_view name;
  Value (*value)(const Station& station);
};

constexpr std::array<Fact, 9> facts{{
    {"name", [](const Station& s) { return Value::of_text(s.name); }},
    {"address", [](const Station& s) { return Value::of_count(s.address); }},
    {"latitude", [](const Station& s) { return Value::of_quantity(s.site.latitude, dimensions::angle); }},
    {"longitude", [](const Station& s) { return Value::of_quantity(s.site.longitude, dimensions::angle); }},
    {"table-entries", [](const Station& s) { return Value::of_count(s.table.entries); }},
    {"least-spacing", [](const Station& s) { return Value::of(s.table.least_spacing); }},
    {"load-guard", [](const Station& s) { return Value::of(s.table.load_guard); }},
    {"reserve-floor",
     [](const Station& s) { return Value::of_quantity(s.power.reserve_floor, dimensions::power); }},
    {"link-rate", [](const Station& s) { return Value::of_quantity(s.link.rate, dimensions::data_rate); }},
}};

}  // namespace

Value Evaluator::fact(const PathName& path) {
  const Station& station = program_->station->station;
  std::vector<std::string> known;
  for (const Fact& candidate : facts) {
    if (candidate.name == path.second.text && !path.third.is_present()) return candidate.value(station);
    known.emplace_back(candidate.name);
  }
  suggest_word(diagnostics_->report(diagnostics::UnknownFact, path.span, std::string(path.second.text)),
               path.second, known, {});
  return Value::error();
}

bool Evaluator::is_predicted(std::uint32_t tree, ExpressionId id, Scope& scope) {
  const Expression& expression = (*program_->trees)[tree].expressions[id];
  if (expression.kind != ExpressionKind::Name) return false;
  const PathName& path = (*program_->trees)[tree].paths[expression.path];
  if (!path.second.is_present() && find(path.first.text, scope) != nullptr) return false;
  if (find_unit(program_->station->station, path.first.text).is_valid()) return true;
  constexpr std::array<std::string_view, 5> predicted{"power", "node", "sun", "earth", "table"};
  return path.second.is_present() &&
         std::find(predicted.begin(), predicted.end(), path.first.text) != predicted.end();
}

// The right side of `is`: a bare word is a word where words are compared.
Value Evaluator::compared_value(std::uint32_t tree, ExpressionId id, const Value& left, Scope& scope) {
  const Tree& source = (*program_->trees)[tree];
  const Expression& expression = source.expressions[id];
  if (left.kind == ValueKind::Text && expression.kind == ExpressionKind::Name) {
    const PathName& path = source.paths[expression.path];
    if (!path.second.is_present() && find(path.first.text, scope) == nullptr) {
      return Value::of_text(std::string(path.first.text));
    }
  }
  return evaluate(tree, id, scope);
}

Value Evaluator::compare(std::uint32_t tree, ExpressionKind kind, Span place, const Value& left,
                         ExpressionId left_id, ExpressionId right_id, Scope& scope) {
  const auto& expressions = (*program_->trees)[tree].expressions;
  const bool ordered = asks_for_order(kind);
  if (left.kind == ValueKind::Error && !ordered) return left;  // the right side may be a word of its kind
  const Value right = ordered ? evaluate(tree, right_id, scope) : compared_value(tree, right_id, left, scope);
  if (left.kind == ValueKind::Error || right.kind == ValueKind::Error) return Value::error();
  if (left.kind == ValueKind::Pending) return left;
  if (right.kind == ValueKind::Pending) return right;
  const auto order = order_of(left, right);
  if (order && (!ordered || has_order(left))) return Value::of_boolean(is_met(kind, *order));
  auto builder =
      diagnostics_->report(diagnostics::UnitsMismatch, place, "compare", type_name(left), type_name(right));
  builder.context(expressions[left_id].span, type_name(left))
      .context(expressions[right_id].span, type_name(right));
  builder.hint(order ? "words and flags have no order: ask with `is` or `is not`"
                     : "give both in units of the same kind, or compare something else");
  blame(tree, left_id, scope);
  blame(tree, right_id, scope);
  return Value::error();
}

Value Evaluator::among(std::uint32_t tree, const Expression& expression, Scope& scope) {
  const auto& expressions = (*program_->trees)[tree].expressions;
  const Value left = evaluate(tree, expression.left, scope);
  if (!left.is_usable()) return left;
  bool found = false;
  for (ExpressionId id = expression.right; id.is_valid(); id = expressions[id].right) {
    const Value equal = compare(tree, ExpressionKind::Is, expression.span, left, expression.left,
                                expressions[id].left, scope);
    if (!equal.is_usable()) return equal;
    found = found || equal.boolean;
  }
  return Value::of_boolean(found == (expression.kind == ExpressionKind::Among));
}

Value Evaluator::condition(std::uint32_t tree, const Expression& expression, Scope& scope) {
  for (const ExpressionId side : {expression.left, expression.right}) {
    if (!side.is_valid() || !is_predicted(tree, side, scope)) continue;
    const Span place = (*program_->trees)[tree].expressions[side].span;
    diagnostics_->report(diagnostics::NotFixed, place, std::string(program_->files->text(place)))
        .hint(
            "what is chosen here is chosen before anything runs: from constants, parameters and facts such "
            "as "
            "`station.name`");
    return Value::error();
  }
  const auto truth = [&](ExpressionId id, const char* word) {
    return evaluate_as(ValueKind::Boolean, tree, id, scope, "what `" + std::string(word) + "` stands with");
  };
  switch (expression.kind) {
    case ExpressionKind::Not: {
      const Value inner = truth(expression.left, "not");
      return inner.is_usable() ? Value::of_boolean(!inner.boolean) : inner;
    }
    case ExpressionKind::And:
    case ExpressionKind::Or: {
      const bool both = expression.kind == ExpressionKind::And;
      const Value left = truth(expression.left, both ? "and" : "or");
      const Value right = truth(expression.right, both ? "and" : "or");
      if (!left.is_usable()) return left;
      if (!right.is_usable()) return right;
      return Value::of_boolean(both ? left.boolean && right.boolean : left.boolean || right.boolean);
    }
    case ExpressionKind::Among:
    case ExpressionKind::NotAmong:
      return among(tree, expression, scope);
    default:
      return compare(tree, expression.kind, expression.span, evaluate(tree, expression.left, scope),
                     expression.left, expression.right, scope);
  }
}

}  // namespace cairn
