// What a sentence looks at: states, predicted quantities, commands, windows, marks.

#include <algorithm>
#include <array>

#include "compiler/meaning/argument_words.h"
#include "compiler/sequence/rule_maker.h"
#include "compiler/text/catalogue.h"
#include "constraints/rules/predictions.h"

namespace cairn {

namespace {

struct QuantityWord {
  std::string_view name;
  Prediction prediction;
  Dimension dimension;
};

constexpr std::array<QuantityWord, 10> quantities{{
    {"power.reserve", Prediction::PowerReserve, dimensions::power},
    {"power.source", Prediction::PowerSource, dimensions::power},
    {"power.drawn", Prediction::PowerLoad, dimensions::power},
    {"power.charge", Prediction::StoredCharge, dimensions::energy},
    {"sun.elevation", Prediction::SunElevation, dimensions::angle},
    {"sun.azimuth", Prediction::SunAzimuth, dimensions::angle},
    {"earth.elevation", Prediction::EarthElevation, dimensions::angle},
    {"table.entries", Prediction::TableEntries, dimensions::count},
    {"table.free", Prediction::TableFree, dimensions::count},
    {"table.bytes", Prediction::TableBytes, dimensions::count},
}};

std::string written(const PathName& path) {
  std::string result(path.first.text);
  if (path.second.is_present()) result += "." + std::string(path.second.text);
  if (path.third.is_present()) result += "." + std::string(path.third.text);
  return result;
}

bool is_comparison(ExpressionKind kind) {
  return kind == ExpressionKind::Less || kind == ExpressionKind::LessOrEqual ||
         kind == ExpressionKind::Greater || kind == ExpressionKind::GreaterOrEqual;
}

// `kind` with its sides swapped.
RuleOperator comparison_of(ExpressionKind kind, bool swapped) {
  switch (kind) {
    case ExpressionKind::Less:
      return swapped ? RuleOperator::MoreThan : RuleOperator::LessThan;
    case ExpressionKind::LessOrEqual:
      return swapped ? RuleOperator::AtLeast : RuleOperator::AtMost;
    case ExpressionKind::Greater:
      return swapped ? RuleOperator::LessThan : RuleOperator::MoreThan;
    default:
      return swapped ? RuleOperator::AtMost : RuleOperator::AtLeast;
  }
}

// The number a limit has in SI; nullopt when it is of another dimension.
std::optional<double> limit_in(Dimension dimension, const Value& value) {
  if (value.kind == ValueKind::Count) {
    if (dimension != dimensions::count) return std::nullopt;
    return static_cast<double>(value.count);
  }
  if (value.kind == ValueKind::Duration) {
    if (dimension != dimensions::duration) return std::nullopt;
    return value.duration.seconds();
  }
  if (value.kind != ValueKind::Quantity) return std::nullopt;
  const bool reading =
      dimension == dimensions::temperature && value.dimension == dimensions::temperature_difference;
  const bool plain = dimension == dimensions::count && value.dimension == dimensions::ratio;
  if (value.dimension != dimension && !reading && !plain) return std::nullopt;
  return value.number;
}

}  // namespace

bool RuleMaker::is_quantity(std::uint32_t tree, ExpressionId id, Scope& scope) {
  const Expression& expression = at(tree, id);
  if (expression.kind == ExpressionKind::TimeSince || expression.kind == ExpressionKind::TimeUntil)
    return true;
  if (expression.kind != ExpressionKind::Name) return false;
  const PathName& path = path_of(tree, expression);
  if (!path.second.is_present()) return false;
  return path.first.text != "station" && evaluator_->find(written(path), scope) == nullptr;
}

RuleNodeId RuleMaker::quantity(const PathName& path, Dimension& dimension) {
  const std::string name = written(path);
  RuleSignal signal;
  if (path.first.text == "node" && path.third.text == "temperature") {
    signal.prediction = Prediction::NodeTemperature;
    signal.node = find_node(station(), path.second.text);
    dimension = dimensions::temperature;
    if (signal.node.is_valid()) return predicted(*book_, signal);
    std::vector<std::string> known;
    for (const ThermalNode& node : station().thermal.nodes) known.push_back(node.name);
    suggest_word(
        diagnostics().report(diagnostics::UnknownNode, path.second.span, std::string(path.second.text)),
        path.second, known, "the station file has no thermal nodes");
    return {};
  }
  std::vector<std::string> known;
  for (const QuantityWord& word : quantities) {
    known.emplace_back(word.name);
    if (word.name != name) continue;
    if (word.prediction == Prediction::StoredCharge && !station().power.storage) {
      diagnostics()
          .report(diagnostics::UnknownQuantity, path.span, name)
          .hint("the station file has no `storage` whose charge could be predicted");
      return {};
    }
    signal.prediction = word.prediction;
    dimension = word.dimension;
    return predicted(*book_, signal);
  }
  if (path.first.text == "node" && !path.third.is_present()) known = {name + ".temperature"};
  suggest_word(diagnostics().report(diagnostics::UnknownQuantity, path.span, name), Word{name, path.span},
               known, {});
  return {};
}

RuleNodeId RuleMaker::number(std::uint32_t tree, ExpressionId id, Scope& scope, Dimension& dimension) {
  const Expression& expression = at(tree, id);
  if (expression.kind == ExpressionKind::Name) return quantity(path_of(tree, expression), dimension);
  dimension = dimensions::duration;
  RuleNodeId what = subject(tree, expression.left, scope);
  if (!what.is_valid()) return what;
  const bool since = expression.kind == ExpressionKind::TimeSince;
  if (!is_event(what)) what = edges(*book_, RuleOperator::Begins, what);
  return number_of(*book_, since ? RuleOperator::TimeSince : RuleOperator::TimeUntil, what);
}

RuleNodeId RuleMaker::compared(std::uint32_t tree, const Expression& expression, Scope& scope) {
  const bool left = is_quantity(tree, expression.left, scope);
  const bool right = is_quantity(tree, expression.right, scope);
  if (left == right) {
    diagnostics()
        .report(diagnostics::RuleComparison, expression.span,
                std::string(evaluator_->program().files->text(expression.span)))
        .hint(left ? "a rule holds one predicted quantity against a fixed value"
                   : "one side must be a predicted quantity, such as `power.reserve` or "
                     "`node.electronics.temperature`");
    return {};
  }
  Dimension dimension;
  const RuleNodeId value = number(tree, left ? expression.left : expression.right, scope, dimension);
  const ExpressionId limit_id = left ? expression.right : expression.left;
  const Value limit = evaluator_->evaluate(tree, limit_id, scope);
  if (!value.is_valid() || !limit.is_usable()) return {};
  const auto bound = limit_in(dimension, limit);
  if (bound) return compare(*book_, comparison_of(expression.kind, !left), value, *bound);
  const ExpressionId quantity_id = left ? expression.left : expression.right;
  diagnostics()
      .report(diagnostics::UnitsMismatch, expression.span, "compare", name_of(dimension), type_name(limit))
      .context(at(tree, quantity_id).span, name_of(dimension))
      .context(at(tree, limit_id).span, type_name(limit))
      .hint("give the limit in a unit of " + name_of(dimension));
  return {};
}

std::optional<PartId> RuleMaker::part_of(std::uint32_t tree, ExpressionId id, Scope& /*scope*/, bool report) {
  const Expression& expression = at(tree, id);
  if (expression.kind != ExpressionKind::Name) return std::nullopt;
  const PathName& path = path_of(tree, expression);
  const Program& program = evaluator_->program();
  if (!report && !find_unit(station(), path.first.text).is_valid()) return std::nullopt;
  const UnitId unit = named_unit(program, path.first, diagnostics());
  if (!unit.is_valid()) return std::nullopt;
  const PartId part = path.third.is_present() ? PartId{} : find_part(station(), unit, path.second.text);
  if (part.is_valid()) return part;
  std::vector<std::string> known;
  for (const PartId other : station().units[unit].parts) known.push_back(station().parts[other].name);
  const Word& word = path.second.is_present() ? path.second : path.first;
  suggest_word(
      diagnostics().report(diagnostics::UnknownPart, word.span, station().units[unit].name,
                           path.second.is_present() ? std::string(path.second.text) : "(its own mode)"),
      path.second, known, "it has no states");
  return std::nullopt;
}

bool RuleMaker::add_state(std::uint32_t tree, PartId part, ExpressionId id, std::vector<StateId>& states,
                          bool& moving) {
  const Expression& expression = at(tree, id);
  const std::string name(evaluator_->program().files->text(expression.span));
  const StateId found = find_state(station(), part, name);
  if (found.is_valid()) {
    states.push_back(found);
    return true;
  }
  if (name == "moving") {
    moving = true;
    return true;
  }
  std::vector<std::string> known;
  for (const StateId state : station().parts[part].states) known.push_back(station().states[state].name);
  known.emplace_back("moving");
  suggest_word(
      diagnostics().report(diagnostics::BringUnknownState, expression.span, full_name(station(), part), name),
      Word{name, expression.span}, known, {});
  return false;
}

RuleNodeId RuleMaker::state(std::uint32_t tree, const Expression& expression, Scope& scope) {
  const auto part = part_of(tree, expression.left, scope, true);
  if (!part) return {};
  std::vector<StateId> states;
  bool moving = false;
  if (expression.kind == ExpressionKind::Is || expression.kind == ExpressionKind::IsNot) {
    if (!add_state(tree, *part, expression.right, states, moving)) return {};
  } else {
    for (ExpressionId id = expression.right; id.is_valid(); id = at(tree, id).right) {
      if (!add_state(tree, *part, at(tree, id).left, states, moving)) return {};
    }
  }
  if (states.empty() && !moving) return wrong(tree, expression.left, "a state to compare it with");
  RuleNodeId made;
  if (!states.empty()) made = spells(*book_, RuleState{*part, states, StateReading::Rests});
  if (moving) {
    const RuleNodeId on_its_way = spells(*book_, RuleMoving{*part});
    made = made.is_valid() ? either(*book_, made, on_its_way) : on_its_way;
  }
  const bool negated =
      expression.kind == ExpressionKind::IsNot || expression.kind == ExpressionKind::NotAmong;
  return negated ? negation(*book_, made) : made;
}

RuleNodeId RuleMaker::command(std::uint32_t tree, const Expression& expression, Scope& scope) {
  const CommandId id = named_command(evaluator_->program(), path_of(tree, expression), diagnostics());
  if (!id.is_valid()) return {};
  RuleCommand wanted;
  wanted.command = id;
  const CommandDefinition& definition = station().commands[id];
  for (ExpressionId given = expression.right; given.is_valid(); given = at(tree, given).right) {
    const Argument argument{path_of(tree, at(tree, given)).first, at(tree, given).left, at(tree, given).span};
    const auto found =
        argument_value(*evaluator_, tree, definition, full_name(station(), id), argument, scope);
    if (!found) return {};
    wanted.when.push_back({found->first, found->second.number});
  }
  return events(*book_, std::move(wanted));
}

RuleNodeId RuleMaker::window(std::uint32_t tree, const Expression& expression) {
  const Word& word = path_of(tree, expression).first;
  RuleWindow wanted;
  wanted.antenna = find_antenna(station(), word.text);
  if (!wanted.antenna.is_valid()) {
    std::vector<std::string> known;
    for (const Antenna& antenna : station().antennas) known.push_back(antenna.name);
    suggest_word(diagnostics().report(diagnostics::UnknownAntenna, word.span, std::string(word.text)), word,
                 known, "the station file lists no `windows`");
    return {};
  }
  if (expression.left.is_valid()) {
    const std::string digits(at(tree, expression.left).text);
    const auto wanted_number =
        digits.size() < 10 && digits.find_first_not_of("0123456789") == std::string::npos ? std::stoul(digits)
                                                                                          : 0UL;
    std::size_t seen = 0;
    for (std::size_t i = 0; i < station().windows.size(); ++i) {
      const Window& candidate = station().windows[station().windows.id_at(i)];
      if (candidate.antenna != wanted.antenna || candidate.closes < begin_ || candidate.opens > end_)
        continue;
      if (++seen == wanted_number) wanted.window = station().windows.id_at(i);
    }
    if (!wanted.window.is_valid()) {
      diagnostics()
          .report(diagnostics::MarkNoWindow, at(tree, expression.left).span, std::string(word.text),
                  static_cast<std::int64_t>(wanted_number), seen)
          .hint("windows that meet the span are counted from 1");
      return {};
    }
  }
  const RuleNodeId open = spells(*book_, wanted);
  if (expression.kind == ExpressionKind::WindowOpens) return edges(*book_, RuleOperator::Begins, open);
  if (expression.kind == ExpressionKind::WindowCloses) return edges(*book_, RuleOperator::Ends, open);
  return open;
}

// A mark, by its name or as an instant.
RuleNodeId RuleMaker::named(std::uint32_t tree, ExpressionId id, Scope& scope) {
  const Expression& expression = at(tree, id);
  if (expression.kind == ExpressionKind::Name) {
    const PathName& path = path_of(tree, expression);
    const bool bound = !path.second.is_present() && evaluator_->find(path.first.text, scope) != nullptr;
    if (!bound && find_unit(station(), path.first.text).is_valid()) return wrong(tree, id, "a condition");
    if (is_quantity(tree, id, scope)) return wrong(tree, id, "a condition");
  }
  const Value value = evaluator_->evaluate(tree, id, scope);
  if (!value.is_usable()) return {};
  if (value.kind != ValueKind::Instant) return wrong(tree, id, "a condition");
  const EventTime when =
      is_inside(tree, id, scope, 0) ? inside(value.instant) : outside(station().clock, value.instant);
  return events(*book_, RuleMarks{{when}});
}

RuleNodeId RuleMaker::joined(ExpressionKind kind, RuleNodeId left, RuleNodeId right) {
  if (!left.is_valid() || !right.is_valid()) return {};
  return kind == ExpressionKind::And ? both(*book_, left, right) : either(*book_, left, right);
}

RuleNodeId RuleMaker::subject(std::uint32_t tree, ExpressionId id, Scope& scope) {
  const Expression& expression = at(tree, id);
  switch (expression.kind) {
    case ExpressionKind::And:
    case ExpressionKind::Or: {
      const RuleNodeId left = condition(tree, expression.left, scope);
      const RuleNodeId right = condition(tree, expression.right, scope);
      return joined(expression.kind, left, right);
    }
    case ExpressionKind::Not: {
      const RuleNodeId inner = condition(tree, expression.left, scope);
      return inner.is_valid() ? negation(*book_, inner) : inner;
    }
    case ExpressionKind::Is:
    case ExpressionKind::IsNot:
    case ExpressionKind::Among:
    case ExpressionKind::NotAmong:
      return state(tree, expression, scope);
    case ExpressionKind::Command:
      return command(tree, expression, scope);
    case ExpressionKind::Window:
    case ExpressionKind::WindowOpens:
    case ExpressionKind::WindowCloses:
      return window(tree, expression);
    case ExpressionKind::StartOf:
    case ExpressionKind::EndOf: {
      const RuleNodeId inner = condition(tree, expression.left, scope);
      const bool begins = expression.kind == ExpressionKind::StartOf;
      return inner.is_valid() ? edges(*book_, begins ? RuleOperator::Begins : RuleOperator::Ends, inner)
                              : inner;
    }
    case ExpressionKind::TimeSince:
    case ExpressionKind::TimeUntil:
      return wrong(tree, id, "a condition");
    default:
      return is_comparison(expression.kind) ? compared(tree, expression, scope) : named(tree, id, scope);
  }
}

RuleNodeId RuleMaker::condition(std::uint32_t tree, ExpressionId id, Scope& scope) {
  const RuleNodeId made = subject(tree, id, scope);
  return made.is_valid() && is_event(made) ? wrong(tree, id, "a condition") : made;
}

}  // namespace cairn
