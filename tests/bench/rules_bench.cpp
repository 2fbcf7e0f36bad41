// What a rule costs: per event as loads grow, per length of its window, and against looking at every window
// anew.
//
// Ratios of processor time within one run. Usage: rules_bench [rounds]

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <functional>
#include <random>
#include <utility>

#include "tests/bench/spread.h"
#include "tests/rules/sample.h"

namespace cairn {
namespace {

using test::at;
using test::Sample;

constexpr int events = 50000;  // a minute apart

struct Random {
  std::mt19937 source{11};
  int below(int count) { return std::uniform_int_distribution<int>(0, count - 1)(source); }
};

struct Case {
  Sample sample;
  RuleNodeId reserve;
  RuleNodeId on;

  explicit Case(int count) : sample(std::int64_t{count} * 60) {
    Random random;
    Signal signal;
    std::vector<Occurrence> spells;
    for (int i = 0; i < count; ++i) {
      signal.times.push_back(at(std::int64_t{i} * 60));
      signal.nominal.push_back(random.below(1000));
      spells.push_back(
          test::spell(std::int64_t{i} * 60 + random.below(10), std::int64_t{i} * 60 + 20 + random.below(30)));
    }
    for (double value : signal.nominal) {
      signal.lower.push_back(value - 2);
      signal.upper.push_back(value + 2);
    }
    signal.dimension = dimensions::power;
    signal.guaranteed = true;
    reserve = sample.at_least(sample.number(std::move(signal)), 300);
    on = sample.held(std::move(spells));
  }
};

double timed(const Sample& sample, RuleNodeId condition, double& sink) {
  const double begin = processor_seconds();
  sink += sample.answer(condition).margin;
  return processor_seconds() - begin;
}

std::vector<double> ratios(int rounds, const std::function<double()>& one,
                           const std::function<double()>& other) {
  std::vector<double> result;
  for (int i = 0; i < rounds; ++i) {
    const double below = other();
    result.push_back(one() / below);
  }
  return result;
}

// The obvious way: at each knot the least of all knots in its window.
double look_at_each(const Signal& signal, std::int64_t window, double& sink) {
  const double begin = processor_seconds();
  double greatest = 0;
  for (std::size_t i = 0; i < signal.times.size(); ++i) {
    double least = signal.lower[i];
    for (std::size_t k = i;
         k < signal.times.size() && signal.times[k] <= signal.times[i] + test::secs(window); ++k) {
      least = std::min(least, signal.lower[k]);
    }
    greatest = std::max(greatest, least);
  }
  sink += greatest;
  return processor_seconds() - begin;
}

int run(int rounds) {
  double sink = 0;
  Case whole(events);
  Case quarter(events / 4);
  const auto window_rule = [](Case& c, std::int64_t window) {
    return c.sample.sometime(c.sample.always(c.reserve, 0, window), 0, window);
  };
  const auto duty_rule = [](Case& c, std::int64_t window) {
    return spent_at_most(c.sample.book, c.on, test::secs(window), test::secs(window));
  };
  using Make = std::function<RuleNodeId(Case&, std::int64_t)>;
  const std::pair<const char*, Make> kinds[] = {{"windows", window_rule}, {"duty", duty_rule}};
  for (const auto& [name, make] : kinds) {
    const RuleNodeId brief = make(whole, 60);
    const RuleNodeId less = make(quarter, 60);
    fmt::print("{:<8} {} events against {}: {} times\n", name, events, events / 4,
               middle_and_spread(ratios(
                                     rounds, [&] { return timed(whole.sample, brief, sink); },
                                     [&] { return timed(quarter.sample, less, sink); }),
                                 2));
    for (const std::int64_t hours : {1, 24, 720}) {
      const RuleNodeId longer = make(whole, hours * 3600);
      fmt::print("{:<8} a window of {} h against one of a minute: {} times\n", name, hours,
                 middle_and_spread(ratios(
                                       rounds, [&] { return timed(whole.sample, longer, sink); },
                                       [&] { return timed(whole.sample, brief, sink); }),
                                   2));
    }
  }
  for (const std::int64_t hours : {24, 720}) {
    const RuleNodeId once = whole.sample.always(whole.reserve, 0, hours * 3600);
    const Signal& signal = whole.sample.evidence.signals[0];
    fmt::print("looking at every window of {} h anew, one bound, against the rule with its three: {} times\n",
               hours,
               middle_and_spread(ratios(
                                     rounds, [&] { return look_at_each(signal, hours * 3600, sink); },
                                     [&] { return timed(whole.sample, once, sink); }),
                                 2));
  }
  std::vector<double> each;
  const RuleNodeId longest = window_rule(whole, 86400);
  for (int i = 0; i < rounds; ++i) each.push_back(timed(whole.sample, longest, sink) / events * 1e6);
  fmt::print("two nested windows of a day: {} us per event\n", middle_and_spread(each, 2));
  return std::isnan(sink) ? 1 : 0;
}

}  // namespace
}  // namespace cairn

int main(int count, char** arguments) {
  return cairn::run(count > 1 ? std::max(1, std::atoi(arguments[1])) : 5);
}
