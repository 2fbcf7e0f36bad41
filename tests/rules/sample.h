// Short ways to write signals, occurrences and books in tests of rules; times in whole seconds.

#pragma once

#include <cstdint>
#include <initializer_list>
#include <utility>
#include <vector>

#include "constraints/rules/course.h"
#include "constraints/rules/evaluate.h"

namespace cairn::test {

inline Instant at(std::int64_t seconds) { return {seconds * nanoseconds_per_second}; }
inline Duration secs(std::int64_t seconds) { return seconds_to_duration(seconds); }
inline EventTime exactly(std::int64_t seconds) { return {at(seconds), at(seconds), at(seconds)}; }
inline EventTime around(std::int64_t seconds, std::int64_t early, std::int64_t late) {
  return {at(seconds), at(seconds - early), at(seconds + late)};
}

// Linear between the points.
inline Signal signal(std::initializer_list<std::pair<std::int64_t, double>> points,
                     Dimension dimension = dimensions::power) {
  Signal result;
  for (const auto& [time, value] : points) {
    result.times.push_back(at(time));
    result.nominal.push_back(value);
  }
  result.lower = result.upper = result.nominal;
  result.dimension = dimension;
  result.guaranteed = true;
  return result;
}

// Each value for a second.
inline Signal steps(const std::vector<double>& values, Dimension dimension = dimensions::power) {
  Signal result;
  for (std::size_t i = 0; i < values.size(); ++i) {
    for (const std::size_t end : {i, i + 1}) {
      result.times.push_back(at(static_cast<std::int64_t>(end)));
      result.nominal.push_back(values[i]);
    }
  }
  result.lower = result.upper = result.nominal;
  result.dimension = dimension;
  result.guaranteed = true;
  return result;
}

inline Occurrence spell(std::int64_t begin, std::int64_t end) {
  Occurrence o;
  o.begin = exactly(begin);
  o.end = exactly(end);
  return o;
}

inline Occurrence happening(std::int64_t time, std::uint32_t command = TimedCommandId::none_value) {
  Occurrence o = spell(time, time);
  o.begun_by = o.ended_by = TimedCommandId{command};
  return o;
}

// A book and its evidence, filled side by side.
struct Sample {
  RuleBook book;
  RuleEvidence evidence;

  explicit Sample(std::int64_t length) {
    evidence.begin = at(0);
    evidence.end = at(length);
  }
  RuleNodeId number(Signal signal) {
    // Names only have to differ.
    RuleSignal name;
    name.prediction = Prediction::NodeTemperature;
    name.node = NodeId{static_cast<std::uint32_t>(evidence.signals.size())};
    evidence.signals.push_back(std::move(signal));
    return predicted(book, name);
  }
  RuleNodeId held(std::vector<Occurrence> list) {
    for (Occurrence& o : list) {
      o.from_before = o.from_before || o.begin.nominal <= evidence.begin;
      o.goes_on = o.goes_on || o.end.nominal >= evidence.end;
    }
    const RuleMoving name{PartId{static_cast<std::uint32_t>(evidence.spells.size())}};
    evidence.spells.push_back(std::move(list));
    return spells(book, name);
  }
  RuleNodeId happens(std::vector<Occurrence> list, std::uint32_t before = 0) {
    evidence.events.push_back(std::move(list));
    evidence.times_before.push_back(before);
    return events(book, RuleMarks{});
  }
  RuleNodeId at_least(RuleNodeId number, double limit) {
    return compare(book, RuleOperator::AtLeast, number, limit);
  }
  RuleNodeId at_most(RuleNodeId number, double limit) {
    return compare(book, RuleOperator::AtMost, number, limit);
  }
  RuleNodeId always(RuleNodeId a, std::int64_t from, std::int64_t to) {
    return windowed(book, RuleOperator::Always, a, secs(from), secs(to));
  }
  RuleNodeId sometime(RuleNodeId a, std::int64_t from, std::int64_t to) {
    return windowed(book, RuleOperator::Sometime, a, secs(from), secs(to));
  }
  RuleAnswer answer(RuleNodeId condition) const {
    RuleBook with = book;
    with.rules.add({"rule", "", condition, no_origin});
    return evaluate(with, evidence).back();
  }
  // `condition` at the span's begin alone.
  RuleAnswer at_begin(RuleNodeId condition) {
    RuleMarks begin;
    const RuleNodeId start = happens({happening(0)});
    return answer(over_span(book, RuleOperator::AtEach, start, condition));
  }
};

}  // namespace cairn::test
