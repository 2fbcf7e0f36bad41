// Building books of rules, and saying what is wrong with one.

#include "constraints/rules/rule.h"

#include <algorithm>
#include <cmath>
#include <type_traits>
#include <utility>

namespace cairn {

RuleSort sort_of(RuleOperator kind) {
  if (kind <= RuleOperator::TimesWithin) return RuleSort::Number;
  return kind <= RuleOperator::Ends ? RuleSort::Events : RuleSort::Condition;
}

// ---- makers ---------------------------------------------------------------------------------------------

namespace {

RuleNode node_of(RuleOperator kind, RuleNodeId a = {}, RuleNodeId b = {}) {
  RuleNode node;
  node.kind = kind;
  node.a = a;
  node.b = b;
  return node;
}

RuleNodeId as_events(RuleBook& book, RuleNodeId a) {
  return sort_of(book.nodes[a].kind) == RuleSort::Condition ? edges(book, RuleOperator::Begins, a) : a;
}

// How far back the same is looked for: what many rules ask is asked early.
constexpr std::size_t looked_at = 1000;

bool same(const RuleSpells& a, const RuleSpells& b) {
  return std::visit(
      [&b](const auto& one) {
        using Kind = std::decay_t<decltype(one)>;
        const Kind* other = std::get_if<Kind>(&b);
        if constexpr (std::is_same_v<Kind, RuleInterval>) {
          return false;  // each stands for itself
        } else {
          return other != nullptr && *other == one;
        }
      },
      a);
}

}  // namespace

RuleNodeId predicted(RuleBook& book, RuleSignal signal) {
  RuleNode node = node_of(RuleOperator::Predicted);
  for (std::size_t i = 0; i < book.signals.size() && !node.signal.is_valid(); ++i) {
    if (book.signals[book.signals.id_at(i)] == signal) node.signal = book.signals.id_at(i);
  }
  if (!node.signal.is_valid()) node.signal = book.signals.add(signal);
  return book.nodes.add(node);
}

RuleNodeId spells(RuleBook& book, RuleSpells spells) {
  for (std::size_t i = 0; i < std::min(book.nodes.size(), looked_at); ++i) {
    const RuleNode& known = book.nodes[book.nodes.id_at(i)];
    if (known.kind == RuleOperator::Spells && known.spells.value < book.spells.size() &&
        same(book.spells[known.spells], spells)) {
      return book.nodes.id_at(i);
    }
  }
  RuleNode node = node_of(RuleOperator::Spells);
  node.spells = book.spells.add(std::move(spells));
  return book.nodes.add(node);
}

RuleNodeId events(RuleBook& book, RuleEvents events) {
  RuleNode node = node_of(RuleOperator::Events);
  node.events = book.events.add(std::move(events));
  return book.nodes.add(node);
}

RuleNodeId compare(RuleBook& book, RuleOperator comparison, RuleNodeId number, double limit) {
  RuleNode node = node_of(comparison, number);
  node.limit = limit;
  return book.nodes.add(node);
}

RuleNodeId negation(RuleBook& book, RuleNodeId a) { return book.nodes.add(node_of(RuleOperator::Not, a)); }

RuleNodeId both(RuleBook& book, RuleNodeId a, RuleNodeId b) {
  return book.nodes.add(node_of(RuleOperator::And, a, b));
}

RuleNodeId either(RuleBook& book, RuleNodeId a, RuleNodeId b) {
  return book.nodes.add(node_of(RuleOperator::Or, a, b));
}

RuleNodeId whilst(RuleBook& book, RuleNodeId a, RuleNodeId b) { return either(book, negation(book, a), b); }

RuleNodeId windowed(RuleBook& book, RuleOperator kind, RuleNodeId a, Duration from, Duration to) {
  RuleNode node = node_of(kind, a);
  node.first = from;
  node.second = to;
  return book.nodes.add(node);
}

RuleNodeId number_of(RuleBook& book, RuleOperator kind, RuleNodeId a, Duration within) {
  RuleNode node = node_of(kind, a);
  node.first = within;
  return book.nodes.add(node);
}

RuleNodeId edges(RuleBook& book, RuleOperator kind, RuleNodeId condition) {
  return book.nodes.add(node_of(kind, condition));
}

RuleNodeId over_span(RuleBook& book, RuleOperator kind, RuleNodeId a, RuleNodeId b, Duration first,
                     double limit) {
  RuleNode node = node_of(kind, a, b);
  node.first = first;
  node.limit = limit;
  return book.nodes.add(node);
}

RuleNodeId spent_at_most(RuleBook& book, RuleNodeId a, Duration most, Duration within) {
  return compare(book, RuleOperator::AtMost, number_of(book, RuleOperator::TimeSpent, a, within),
                 most.seconds());
}

RuleNodeId times_at_most(RuleBook& book, RuleNodeId a, std::uint32_t most, Duration within) {
  const RuleNodeId happens = as_events(book, a);
  return compare(book, RuleOperator::AtMost, number_of(book, RuleOperator::TimesWithin, happens, within),
                 most);
}

// ---- moving parts ---------------------------------------------------------------------------------------

namespace {

// How a node bears on the rule when it grows or becomes true.
enum class Role : std::uint8_t { For, Against };
Role other(Role role) { return role == Role::For ? Role::Against : Role::For; }

struct Roles {
  Role a = Role::For;
  Role b = Role::For;
};

Roles roles_under(RuleOperator kind, Role role) {
  switch (kind) {
    case RuleOperator::AtMost:
    case RuleOperator::LessThan:
    case RuleOperator::Not:
    case RuleOperator::TimeSince:
    case RuleOperator::TimeUntil:
    case RuleOperator::LastsAtMost:
    case RuleOperator::AtMostTimes:
      return {other(role), role};
    case RuleOperator::AtEach:
    case RuleOperator::OnlyAfter:
    case RuleOperator::OnlyInside:
      return {other(role), role};
    case RuleOperator::Apart:
    case RuleOperator::NeverInside:
    case RuleOperator::NeverAfter:
      return {other(role), other(role)};
    default:
      return {role, role};
  }
}

// The node as it reads in the role: a state that has another reading gets an entry of its own.
bool set_reading(RuleBook& book, RuleNode& node, Role role) {
  if (node.kind != RuleOperator::Spells || node.spells.value >= book.spells.size()) return false;
  const RuleState* state = std::get_if<RuleState>(&book.spells[node.spells]);
  const StateReading wanted = role == Role::For ? StateReading::Rests : StateReading::Touches;
  if (state == nullptr || state->reading == wanted) return false;
  RuleState copy = *state;
  copy.reading = wanted;
  node.spells = book.spells.add(std::move(copy));
  return true;
}

}  // namespace

RuleNodeId read_moves_by_role(RuleBook& book, RuleNodeId condition) {
  if (condition.value >= book.nodes.size()) return condition;
  // Operands stand before those who use them: the roles come down from the end, the nodes go up from the
  // beginning. A book that breaks this is left for fault() to find.
  struct Readings {
    bool asked[2] = {false, false};
    RuleNodeId node[2];
  };
  std::vector<Readings> readings(condition.value + 1);
  readings[condition.value].asked[static_cast<std::size_t>(Role::For)] = true;
  for (std::uint32_t i = condition.value + 1; i-- > 0;) {
    const RuleNode& node = book.nodes[RuleNodeId{i}];
    for (const Role role : {Role::For, Role::Against}) {
      if (!readings[i].asked[static_cast<std::size_t>(role)]) continue;
      const Roles roles = roles_under(node.kind, role);
      if (node.a.value < i) readings[node.a.value].asked[static_cast<std::size_t>(roles.a)] = true;
      if (node.b.value < i) readings[node.b.value].asked[static_cast<std::size_t>(roles.b)] = true;
    }
  }
  for (std::uint32_t i = 0; i <= condition.value; ++i) {
    for (const Role role : {Role::For, Role::Against}) {
      if (!readings[i].asked[static_cast<std::size_t>(role)]) continue;
      RuleNode node = book.nodes[RuleNodeId{i}];
      bool changed = set_reading(book, node, role);
      const Roles roles = roles_under(node.kind, role);
      const auto follow = [&](RuleNodeId& operand, Role as) {
        if (operand.value >= i) return;
        const RuleNodeId read = readings[operand.value].node[static_cast<std::size_t>(as)];
        changed = changed || read != operand;
        operand = read;
      };
      follow(node.a, roles.a);
      follow(node.b, roles.b);
      readings[i].node[static_cast<std::size_t>(role)] = changed ? book.nodes.add(node) : RuleNodeId{i};
    }
  }
  return readings[condition.value].node[static_cast<std::size_t>(Role::For)];
}

// ---- faults ---------------------------------------------------------------------------------------------

namespace {

// Which sorts an operator takes.
enum class Taking : std::uint8_t { Nothing, Number, Events, Condition, Either };

struct Operands {
  Taking a = Taking::Nothing;
  Taking b = Taking::Nothing;
};

Operands operands_of(RuleOperator kind) {
  switch (kind) {
    case RuleOperator::Predicted:
    case RuleOperator::Events:
    case RuleOperator::Spells:
      return {};
    case RuleOperator::TimeSince:
    case RuleOperator::TimeUntil:
    case RuleOperator::TimesWithin:
      return {Taking::Events, Taking::Nothing};
    case RuleOperator::TimeHeld:
    case RuleOperator::TimeSpent:
    case RuleOperator::Begins:
    case RuleOperator::Ends:
    case RuleOperator::Not:
    case RuleOperator::Always:
    case RuleOperator::Sometime:
    case RuleOperator::LastsAtLeast:
    case RuleOperator::LastsAtMost:
      return {Taking::Condition, Taking::Nothing};
    case RuleOperator::AtLeast:
    case RuleOperator::MoreThan:
    case RuleOperator::AtMost:
    case RuleOperator::LessThan:
      return {Taking::Number, Taking::Nothing};
    case RuleOperator::And:
    case RuleOperator::Or:
      return {Taking::Condition, Taking::Condition};
    case RuleOperator::AtEach:
      return {Taking::Events, Taking::Condition};
    case RuleOperator::OnlyInside:
    case RuleOperator::NeverInside:
      return {Taking::Either, Taking::Condition};
    case RuleOperator::OnlyAfter:
    case RuleOperator::FollowedBy:
    case RuleOperator::Apart:
    case RuleOperator::NeverAfter:
      return {Taking::Either, Taking::Either};
    case RuleOperator::AtMostTimes:
      return {Taking::Either, Taking::Nothing};
  }
  return {};
}

bool takes(Taking taking, RuleSort sort) {
  switch (taking) {
    case Taking::Number:
      return sort == RuleSort::Number;
    case Taking::Events:
      return sort == RuleSort::Events;
    case Taking::Condition:
      return sort == RuleSort::Condition;
    case Taking::Either:
      return sort != RuleSort::Number;
    case Taking::Nothing:
      break;
  }
  return false;
}

std::optional<RuleFaultKind> operand_fault(const RuleBook& book, RuleNodeId user, RuleNodeId operand,
                                           Taking taking) {
  if (taking == Taking::Nothing) return std::nullopt;
  if (!operand.is_valid() || !(operand < user)) return RuleFaultKind::NoSuchNode;
  if (!takes(taking, sort_of(book.nodes[operand].kind))) return RuleFaultKind::WrongSort;
  return std::nullopt;
}

std::optional<RuleFaultKind> own_fault(const RuleBook& book, const RuleNode& node) {
  const bool there = node.kind == RuleOperator::Predicted ? node.signal.value < book.signals.size()
                     : node.kind == RuleOperator::Spells  ? node.spells.value < book.spells.size()
                     : node.kind == RuleOperator::Events  ? node.events.value < book.events.size()
                                                          : true;
  if (!there) return RuleFaultKind::NoSuchEntry;
  if (!(std::abs(node.limit) < greatest_limit)) return RuleFaultKind::BadLimit;
  for (const Duration duration : {node.first, node.second}) {
    if (duration > longest_duration || duration < longest_duration * -1) return RuleFaultKind::BadDuration;
  }
  const bool window = node.kind == RuleOperator::Always || node.kind == RuleOperator::Sometime;
  if (window ? node.second < node.first : node.first < Duration{0}) return RuleFaultKind::BadDuration;
  return std::nullopt;
}

}  // namespace

std::optional<RuleFault> fault(const RuleBook& book) {
  for (std::size_t i = 0; i < book.nodes.size(); ++i) {
    const RuleNodeId id = book.nodes.id_at(i);
    const RuleNode& node = book.nodes[id];
    if (node.kind > RuleOperator::NeverAfter) return RuleFault{RuleFaultKind::NoSuchNode, id};
    const Operands operands = operands_of(node.kind);
    std::optional<RuleFaultKind> kind = operand_fault(book, id, node.a, operands.a);
    if (!kind) kind = operand_fault(book, id, node.b, operands.b);
    if (!kind) kind = own_fault(book, node);
    if (kind) return RuleFault{*kind, id};
  }
  for (const Rule& rule : book.rules) {
    if (rule.condition.value >= book.nodes.size())
      return RuleFault{RuleFaultKind::NoSuchNode, rule.condition};
    if (sort_of(book.nodes[rule.condition].kind) != RuleSort::Condition) {
      return RuleFault{RuleFaultKind::WrongSort, rule.condition};
    }
  }
  return std::nullopt;
}

}  // namespace cairn
