// Signals of slanting lines with jumps: random formulas against the definitions on a fine grid.
//
// Slopes are at most 1 in a unit, so that on a grid of a 20th no extreme between grid points is missed by
// more than a 20th, at whatever depth. Jumps and windows lie on the grid.

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "tests/rules/sample.h"

namespace cairn::test {
namespace {

constexpr int per_second = 20;
constexpr double grain = 1.0 / per_second;
constexpr double slack =
    grain + 1e-6;  // an extreme lies within half a cell of a grid point, both values may be off

// At the start of each cell and towards its end.
struct Cells {
  std::vector<double> first;
  std::vector<double> last;
};

class Lines {
 public:
  explicit Lines(unsigned seed) : random_(seed), seconds_(2 + below(9)), sample_(seconds_) {
    for (int i = 0; i < 2; ++i) {
      Signal signal;
      Cells cells;
      double value = real(8);
      for (int s = 0; s < seconds_; ++s) {
        if (below(4) == 0) value = real(8);
        const double next = value + real(1);
        for (const auto& [time, at_time] : {std::pair{s, value}, std::pair{s + 1, next}}) {
          signal.times.push_back(at(time));
          signal.nominal.push_back(at_time);
        }
        for (int k = 0; k < per_second; ++k) {
          cells.first.push_back(value + (next - value) * k * grain);
          cells.last.push_back(value + (next - value) * (k + 1) * grain);
        }
        value = next;
      }
      signal.lower = signal.upper = signal.nominal;
      signal.dimension = dimensions::power;
      numbers_.push_back(sample_.number(signal));
      courses_.push_back(cells);
    }
  }

  struct Made {
    RuleNodeId node;
    Cells cells;
  };
  Made condition(int depth) {
    if (depth == 0) {
      const auto which = static_cast<std::size_t>(below(2));
      const double limit = real(4);
      const bool above = below(2) == 0;
      Made made{
          compare(sample_.book, above ? RuleOperator::AtLeast : RuleOperator::AtMost, numbers_[which], limit),
          courses_[which]};
      each(made.cells, [&](double x) { return above ? x - limit : limit - x; });
      return made;
    }
    switch (below(4)) {
      case 0: {
        Made made = condition(depth - 1);
        made.node = negation(sample_.book, made.node);
        each(made.cells, [](double x) { return -x; });
        return made;
      }
      case 1: {
        Made a = condition(depth - 1);
        const Made b = condition(depth - 1);
        const bool and_ = below(2) == 0;
        a.node = and_ ? both(sample_.book, a.node, b.node) : either(sample_.book, a.node, b.node);
        for (auto values : {&Cells::first, &Cells::last}) {
          for (std::size_t k = 0; k < (a.cells.*values).size(); ++k) {
            double& x = (a.cells.*values)[k];
            const double y = (b.cells.*values)[k];
            x = and_ ? std::min(x, y) : std::max(x, y);
          }
        }
        return a;
      }
      default:
        return windowed_condition(depth);
    }
  }

  Sample& sample() { return sample_; }

 private:
  int below(int count) { return std::uniform_int_distribution<int>(0, count - 1)(random_); }
  double real(double size) { return std::uniform_real_distribution<double>(-size, size)(random_); }
  template <class Change>
  static void each(Cells& cells, const Change& change) {
    for (double& x : cells.first) x = change(x);
    for (double& x : cells.last) x = change(x);
  }

  Made windowed_condition(int depth) {
    Made a = condition(depth - 1);
    const bool always = below(2) == 0;
    const int from = below(8 * per_second) - 4 * per_second;
    const int to = from + below(4 * per_second);
    const Duration cell{nanoseconds_per_second / per_second};
    a.node = windowed(sample_.book, always ? RuleOperator::Always : RuleOperator::Sometime, a.node,
                      cell * from, cell * to);
    const int count = static_cast<int>(a.cells.first.size());
    Cells result;
    for (int k = 0; k < count; ++k) {
      double first = always ? surely : -surely;
      double last = first;
      const auto take = [always](double& into, double x) {
        into = always ? std::min(into, x) : std::max(into, x);
      };
      for (int j = std::max(0, k + from); j <= std::min(count - 1, k + to); ++j) {
        take(first, a.cells.first[static_cast<std::size_t>(j)]);
        take(last, a.cells.last[static_cast<std::size_t>(j)]);
        if (j > k + from) take(last, a.cells.first[static_cast<std::size_t>(j)]);
      }
      for (int j = std::max(0, k + from); j < std::min(count, k + to); ++j) {
        take(first, a.cells.last[static_cast<std::size_t>(j)]);
      }
      result.first.push_back(first);
      result.last.push_back(last);
    }
    a.cells = result;
    return a;
  }

  std::mt19937 random_;
  int seconds_;
  Sample sample_;
  std::vector<RuleNodeId> numbers_;
  std::vector<Cells> courses_;
};

TEST(Lines, RandomFormulasComeWithinAGrainOfTheDefinitions) {
  int finite = 0;
  for (unsigned seed = 0; seed < 4000; ++seed) {
    Lines lines(seed);
    const Lines::Made made = lines.condition(1 + static_cast<int>(seed % 4));
    // As a whole: a conjunction would be answered part by part.
    Sample& sample = lines.sample();
    const RuleNodeId whole = negation(sample.book, negation(sample.book, made.node));
    double expected = surely;
    for (const double x : made.cells.first) expected = std::min(expected, x);
    for (const double x : made.cells.last) expected = std::min(expected, x);
    const RuleAnswer found = sample.answer(whole);
    if (!std::isfinite(expected)) {
      ASSERT_EQ(found.margin, expected) << seed;
      continue;
    }
    ++finite;
    ASSERT_NEAR(found.margin, expected, slack) << seed;
    ASSERT_EQ(found.verdict == Verdict::Fails, found.margin < 0) << seed;
    ASSERT_GE(found.time, sample.evidence.begin) << seed;
    ASSERT_LE(found.time, sample.evidence.end) << seed;
  }
  EXPECT_GT(finite, 2000);
}

}  // namespace
}  // namespace cairn::test
