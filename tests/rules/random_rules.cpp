// Small spans and small numbers, so that ties, touching ends and empty rows come often.

#include "tests/rules/random_rules.h"

#include <algorithm>

namespace cairn::test {

RandomRules::RandomRules(unsigned seed, bool bounds, bool direct)
    : random_(seed), bounds_(bounds), direct_(direct), length_(1 + below(24)), sample_(length_) {
  for (int i = 0; i < 3; ++i) {
    signals_.push_back(
        sample_.number(some_signal(i < 2 ? dimensions::power : dimensions::temperature_difference)));
  }
  for (int i = 0; i < 3; ++i) spells_.push_back(sample_.held(some_spells()));
  for (int i = 0; i < 3; ++i) {
    events_.push_back(sample_.happens(some_events(), below(8) == 0 ? 1 : 0));
  }
}

Signal RandomRules::some_signal(Dimension dimension) {
  std::vector<double> values;
  for (int i = 0; i < length_; ++i) {
    values.push_back(!values.empty() && below(2) == 0 ? values.back() : below(7) - 3);
  }
  Signal result = steps(values, dimension);
  if (!bounds_) return result;
  for (std::size_t i = 0; i < result.times.size(); i += 2) {
    const double down = below(3);
    const double up = below(3);
    for (const std::size_t k : {i, i + 1}) {
      result.lower[k] -= down;
      result.upper[k] += up;
    }
  }
  return result;
}

Existence RandomRules::some_existence() {
  const int pick = bounds_ ? below(6) : 5;
  return pick == 0 ? Existence::Possible : pick == 1 ? Existence::Nominal : Existence::Sure;
}

// With bounds, times lie far enough apart to stay in order whatever happens.
std::vector<Occurrence> RandomRules::some_spells() {
  std::vector<Occurrence> result;
  const int slack = bounds_ ? 2 : 0;
  for (int time = below(4); time < length_;) {
    const int end = std::min(length_, time + 1 + slack + below(6));
    Occurrence o = spell(time, end);
    o.existence = some_existence();
    if (bounds_ && time > 0) o.begin = around(time, below(2), below(2));
    if (bounds_ && end < length_) o.end = around(end, below(2), below(2));
    if (end - time > slack || time == 0 || end == length_) result.push_back(o);
    time = end + 1 + slack + below(6);
  }
  return result;
}

std::vector<Occurrence> RandomRules::some_events() {
  std::vector<Occurrence> result;
  for (int time = below(6); time <= length_; time += below(bounds_ ? 7 : 5) + (bounds_ ? 3 : 0)) {
    Occurrence o = happening(time);
    o.existence = some_existence();
    if (bounds_) o.begin = o.end = around(time, std::min(time, below(2)), std::min(length_ - time, below(2)));
    result.push_back(o);
    if (!bounds_ && below(4) == 0) ++time;
  }
  return result;
}

RuleEvidence RandomRules::inside_bounds() {
  RuleEvidence result = sample_.evidence;
  for (Signal& signal : result.signals) {
    for (std::size_t i = 0; i < signal.times.size(); i += 2) {
      const double value = signal.lower[i] + below(1 + static_cast<int>(signal.upper[i] - signal.lower[i]));
      for (const std::size_t k : {i, i + 1}) signal.nominal[k] = signal.lower[k] = signal.upper[k] = value;
    }
  }
  const auto settle = [this](EventTime& time) {
    const auto width = (time.latest - time.earliest).nanoseconds / 500'000'000;
    const Instant at = time.earliest + Duration{500'000'000 * below(1 + static_cast<int>(width))};
    time = {at, at, at};
  };
  // What is not sure may not come about.
  for (auto* lists : {&result.spells, &result.events}) {
    for (auto& list : *lists) {
      std::erase_if(list,
                    [this](const Occurrence& o) { return o.existence != Existence::Sure && below(2) == 0; });
      for (Occurrence& o : list) o.existence = Existence::Sure;
    }
  }
  for (auto& list : result.spells) {
    for (Occurrence& o : list) {
      settle(o.begin);
      settle(o.end);
    }
  }
  for (auto& list : result.events) {
    for (Occurrence& o : list) {
      settle(o.begin);
      o.end = o.begin;
    }
  }
  return result;
}

RuleNodeId RandomRules::comparison(RuleNodeId number, int most) {
  const RuleOperator kinds[] = {RuleOperator::AtLeast, RuleOperator::MoreThan, RuleOperator::AtMost,
                                RuleOperator::LessThan};
  return compare(sample_.book, kinds[below(4)], number, below(most));
}

RuleNodeId RandomRules::number(int depth) {
  RuleBook& book = sample_.book;
  switch (below(6)) {
    case 0:
      return number_of(book, RuleOperator::TimeSince, event(depth - 1));
    case 1:
      return number_of(book, RuleOperator::TimeUntil, event(depth - 1));
    case 2:
      return number_of(book, RuleOperator::TimeHeld, steps_only(depth - 1));
    case 3:
      return number_of(book, RuleOperator::TimeSpent, steps_only(depth - 1), secs(below(8)));
    case 4:
      return number_of(book, RuleOperator::TimesWithin, event(depth - 1), secs(below(8)));
    default:
      return signals_[static_cast<std::size_t>(below(3))];
  }
}

RuleNodeId RandomRules::event(int depth) {
  if (direct_ || depth <= 0 || below(3) > 0) return events_[static_cast<std::size_t>(below(3))];
  return edges(sample_.book, below(2) == 0 ? RuleOperator::Begins : RuleOperator::Ends,
               steps_only(depth - 1));
}

RuleNodeId RandomRules::steps_only(int depth) {
  RuleBook& book = sample_.book;
  if (depth <= 0 || below(4) == 0) {
    if (below(2) == 0) return spells_[static_cast<std::size_t>(below(3))];
    return comparison(signals_[static_cast<std::size_t>(below(3))], 3);
  }
  switch (below(4)) {
    case 0:
      return negation(book, steps_only(depth - 1));
    case 1: {
      const RuleNodeId a = steps_only(depth - 1);
      return both(book, a, steps_only(depth - 1));
    }
    case 2: {
      const RuleNodeId a = steps_only(depth - 1);
      return either(book, a, steps_only(depth - 1));
    }
    default: {
      const int from = below(10) - 4;
      const RuleNodeId a = steps_only(depth - 1);
      return windowed(book, below(2) == 0 ? RuleOperator::Always : RuleOperator::Sometime, a, secs(from),
                      secs(from + below(6)));
    }
  }
}

RuleNodeId RandomRules::operand(int depth) {
  if (below(2) == 0) return event(depth - 1);
  return direct_ ? spells_[static_cast<std::size_t>(below(3))] : condition(depth - 1);
}

RuleNodeId RandomRules::form(int depth) {
  RuleBook& book = sample_.book;
  const auto spell_or = [&] {
    return direct_ ? spells_[static_cast<std::size_t>(below(3))] : condition(depth - 1);
  };
  const RuleNodeId a = operand(depth);
  const RuleNodeId b = operand(depth);
  switch (below(10)) {
    case 0: {
      const RuleNodeId e = event(depth - 1);
      return over_span(book, RuleOperator::AtEach, e, condition(depth - 1));
    }
    case 1:
      return over_span(book, RuleOperator::OnlyAfter, a, b, secs(below(5)));
    case 2:
      return over_span(book, RuleOperator::FollowedBy, a, below(6) == 0 ? a : b, secs(below(6)));
    case 3:
      return over_span(book, RuleOperator::Apart, a, below(3) == 0 ? a : b, secs(below(5)));
    case 4:
      return over_span(book, RuleOperator::LastsAtLeast, spell_or(), {}, secs(below(6)));
    case 5:
      return over_span(book, RuleOperator::LastsAtMost, spell_or(), {}, secs(below(6)));
    case 6:
      return over_span(book, RuleOperator::OnlyInside, a, spell_or());
    case 7:
      return over_span(book, RuleOperator::NeverInside, a, spell_or());
    case 8:
      return over_span(book, RuleOperator::AtMostTimes, a, {}, {}, below(4));
    default:
      return over_span(book, RuleOperator::NeverAfter, a, b);
  }
}

RuleNodeId RandomRules::condition(int depth) {
  RuleBook& book = sample_.book;
  if (depth <= 0) return steps_only(0);
  switch (below(9)) {
    case 0:
      return negation(book, condition(depth - 1));
    case 1: {
      const RuleNodeId a = condition(depth - 1);
      return both(book, a, condition(depth - 1));
    }
    case 2: {
      const RuleNodeId a = condition(depth - 1);
      return either(book, a, condition(depth - 1));
    }
    case 3:
    case 4: {
      const int from = below(12) - 6;
      const RuleNodeId a = condition(depth - 1);
      return windowed(book, below(2) == 0 ? RuleOperator::Always : RuleOperator::Sometime, a, secs(from),
                      secs(from + below(8)));
    }
    case 5:
    case 6:
      return comparison(number(depth), 6);
    default:
      return form(depth);
  }
}

}  // namespace cairn::test
