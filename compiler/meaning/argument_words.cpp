// Numbers are written with as few digits as read back to the same step.

#include "compiler/meaning/argument_words.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "compiler/text/spelling.h"
#include "constraints/quantity/unit.h"

namespace cairn {

std::string written_value(const ArgumentDefinition& definition, double number) {
  switch (definition.type) {
    case ArgumentType::Flag:
      return number != 0 ? "true" : "false";
    case ArgumentType::Choice:
      for (const Choice& choice : definition.choices) {
        if (static_cast<double>(choice.raw) == number) return choice.name;
      }
      return fmt::format("{:.0f}", number);
    case ArgumentType::Count:
      return fmt::format("{:.0f}", number);
    case ArgumentType::Quantity:
      break;
  }
  const Unit* unit = find_unit(definition.unit);
  if (unit == nullptr) return show(number, definition.dimension);
  double shown = (number - unit->offset) / unit->factor;
  if (std::abs(shown) < 1e-12) shown = 0;
  return fmt::format("{:.10g} {}", shown, definition.unit);
}

std::string accepted_values(const ArgumentDefinition& definition) {
  if (definition.type == ArgumentType::Flag) return "true or false";
  std::string list;
  const auto add = [&list](const std::string& word) { list += (list.empty() ? "`" : ", `") + word + "`"; };
  constexpr std::size_t most = 12;
  for (const Choice& choice : definition.choices) add(choice.name);
  if (definition.allowed.size() <= most) {
    for (const double allowed : definition.allowed) add(written_value(definition, allowed));
  }
  if (!list.empty()) return list;
  if (definition.minimum && definition.maximum) {
    return written_value(definition, *definition.minimum) + " .. " +
           written_value(definition, *definition.maximum);
  }
  return definition.type == ArgumentType::Count ? "a whole number" : "a value in " + definition.unit;
}

std::string example_argument(const ArgumentDefinition& definition) {
  double number = definition.encoding.offset;
  if (!definition.choices.empty()) {
    number = static_cast<double>(definition.choices.front().raw);
  } else if (!definition.allowed.empty()) {
    number = definition.allowed.front();
  } else if (definition.minimum) {
    number = *definition.minimum;
    const auto steps = nearest_steps(definition, number);
    if (!steps.empty()) number = steps.back();
  }
  return definition.name + "=" + written_value(definition, number);
}

std::vector<double> nearest_steps(const ArgumentDefinition& definition, double number) {
  if (definition.type != ArgumentType::Quantity && definition.type != ArgumentType::Count) return {};
  const double step = definition.encoding.step;
  const double steps = (number - definition.encoding.offset) / step;
  const double whole = std::round(steps);
  // Decimal fractions differ in the last bits when they come by different units.
  const double slack = std::max(1e-6, 1e-9 * std::abs(steps));
  if (!std::isfinite(steps) || std::abs(steps - whole) <= slack) return {};
  std::vector<double> result;
  for (const double candidate : {std::floor(steps), std::ceil(steps)}) {
    const double value = candidate * step + definition.encoding.offset;
    const double edge = 1e-6 * step;
    if (definition.minimum && value < *definition.minimum - edge) continue;
    if (definition.maximum && value > *definition.maximum + edge) continue;
    result.push_back(value);
  }
  return result;
}

std::string written_step(const ArgumentDefinition& definition) {
  if (definition.type == ArgumentType::Count) return fmt::format("{:.0f}", definition.encoding.step);
  const Unit* unit = find_unit(definition.unit);
  if (unit == nullptr) return show(definition.encoding.step, definition.dimension);
  const std::string_view symbol =
      definition.dimension == dimensions::temperature ? "K" : std::string_view(definition.unit);
  return fmt::format("{:.10g} {}", definition.encoding.step / unit->factor, symbol);
}

void suggest_word(DiagnosticBuilder builder, const Word& word, const std::vector<std::string>& known,
                  const std::string& none) {
  if (const auto near = nearest_word(word.text, known)) {
    builder.fix(word.span, *near, FixKind::Guess, "did you mean `" + *near + "`?");
  } else if (known.empty()) {
    builder.hint(none);
  } else {
    constexpr std::size_t most = 24;
    std::string list;
    for (std::size_t i = 0; i < std::min(most, known.size()); ++i)
      list += (i > 0 ? ", `" : "`") + known[i] + "`";
    if (known.size() > most) list += " and " + std::to_string(known.size() - most) + " more";
    builder.hint("known here: " + list);
  }
}

}  // namespace cairn
