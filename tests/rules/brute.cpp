// The definitions, spelt out; no sweep, no queue, nothing remembered from one time to the next.

#include "tests/rules/brute.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

namespace cairn::test {

namespace {

constexpr double never = std::numeric_limits<double>::infinity();
constexpr int quarters = 4;  // of a second

bool below(BruteValue a, BruteValue b) {
  return a.margin < b.margin || (a.margin == b.margin && !a.met && b.met);
}
BruteValue low(BruteValue a, BruteValue b) { return below(b, a) ? b : a; }
BruteValue high(BruteValue a, BruteValue b) { return below(a, b) ? b : a; }
BruteValue no(BruteValue a) { return {-a.margin, !a.met}; }
// Whole and half seconds come out exactly.
double exact(Duration duration) { return static_cast<double>(duration.nanoseconds) / 1e9; }

constexpr BruteValue yes{never, true};

// At the start of each quarter, in its middle, and towards its end.
struct Cells {
  std::vector<BruteValue> first;
  std::vector<BruteValue> middle;
  std::vector<BruteValue> last;
};

struct Span {
  double begin = 0;  // seconds
  double end = 0;
  bool from_before = false;
  bool goes_on = false;
};

class Brute {
 public:
  Brute(const RuleBook& book, const RuleEvidence& evidence)
      : book_(book),
        evidence_(evidence),
        count_(static_cast<int>((evidence.end - evidence.begin).nanoseconds / nanoseconds_per_second) *
               quarters) {}

  [[nodiscard]] int count() const { return count_; }
  struct Measured {
    bool known = false;
    bool mixed = false;
    Dimension dimension;
  };
  Measured measure(RuleNodeId id) const;
  Cells condition(RuleNodeId id) const;

 private:
  [[nodiscard]] double seconds(Instant time) const { return exact(time - evidence_.begin); }
  std::vector<Span> spans(RuleNodeId id) const;
  [[nodiscard]] bool happens(RuleNodeId id) const {
    return sort_of(book_.nodes[id].kind) == RuleSort::Events;
  }
  std::uint32_t before(RuleNodeId id) const;
  double number(RuleNodeId id, double time, bool just_before) const;
  double step(const Signal& signal, double time, bool just_before) const;
  BruteValue form(const RuleNode& node) const;
  BruteValue form_of_pairs(const RuleNode& node) const;
  Cells window(const RuleNode& node) const;
  Cells plain(Cells cells) const;

  const RuleBook& book_;
  const RuleEvidence& evidence_;
  int count_;
};

Brute::Measured Brute::measure(RuleNodeId id) const {
  const RuleNode& node = book_.nodes[id];
  switch (node.kind) {
    case RuleOperator::Spells:
    case RuleOperator::Events:
    case RuleOperator::Begins:
    case RuleOperator::Ends:
      return {};
    case RuleOperator::Predicted:
      return {true, false, evidence_.signals[node.signal.value].dimension};
    case RuleOperator::TimesWithin:
    case RuleOperator::AtMostTimes:
      return {true, false, dimensions::count};
    case RuleOperator::AtLeast:
    case RuleOperator::AtMost:
    case RuleOperator::MoreThan:
    case RuleOperator::LessThan:
    case RuleOperator::Not:
    case RuleOperator::Always:
    case RuleOperator::Sometime:
      return measure(node.a);
    case RuleOperator::AtEach:
      return measure(node.b);
    case RuleOperator::And:
    case RuleOperator::Or: {
      const Measured a = measure(node.a);
      const Measured b = measure(node.b);
      if (a.mixed || b.mixed || (a.known && b.known && a.dimension != b.dimension)) return {false, true, {}};
      return a.known ? a : b;
    }
    default:
      return {true, false, dimensions::duration};
  }
}

double Brute::step(const Signal& signal, double time, bool just_before) const {
  // Steps at whole seconds: the value of the second that time lies in, or the one before.
  const int second = static_cast<int>(just_before ? std::ceil(time) - 1 : std::floor(time));
  double value = signal.nominal.back();
  for (std::size_t i = signal.times.size(); i-- > 0;) {
    if (seconds(signal.times[i]) > second) continue;
    return signal.nominal[i];
  }
  return value;
}

std::uint32_t Brute::before(RuleNodeId id) const {
  const RuleNode& node = book_.nodes[id];
  return node.kind == RuleOperator::Events ? evidence_.times_before[node.events.value] : 0;
}

std::vector<Span> Brute::spans(RuleNodeId id) const {
  const RuleNode& node = book_.nodes[id];
  std::vector<Span> result;
  if (node.kind == RuleOperator::Events || node.kind == RuleOperator::Spells) {
    const auto& list = node.kind == RuleOperator::Events ? evidence_.events[node.events.value]
                                                         : evidence_.spells[node.spells.value];
    for (const Occurrence& o : list) {
      result.push_back({seconds(o.begin.nominal), seconds(o.end.nominal), o.from_before, o.goes_on});
    }
    return result;
  }
  if (node.kind == RuleOperator::Begins || node.kind == RuleOperator::Ends) {
    for (const Span& span : spans(node.a)) {
      const bool begins = node.kind == RuleOperator::Begins;
      if (begins ? span.from_before : span.goes_on) continue;
      const double time = begins ? span.begin : span.end;
      result.push_back({time, time, false, false});
    }
    return result;
  }
  const Cells cells = plain(condition(id));
  for (int k = 0; k < count_; ++k) {
    if (!cells.middle[static_cast<std::size_t>(k)].met) continue;
    int end = k;
    while (end < count_ && cells.middle[static_cast<std::size_t>(end)].met) ++end;
    result.push_back({double(k) / quarters, double(end) / quarters, k == 0, end == count_});
    k = end;
  }
  return result;
}

double Brute::number(RuleNodeId id, double time, bool just_before) const {
  const RuleNode& node = book_.nodes[id];
  const double within = exact(node.first);
  double result = never;
  switch (node.kind) {
    case RuleOperator::Predicted:
      return step(evidence_.signals[node.signal.value], time, just_before);
    case RuleOperator::TimeSince:
      for (const Span& e : spans(node.a)) {
        if (just_before ? e.begin < time : e.begin <= time) result = std::min(result, time - e.begin);
      }
      return result;
    case RuleOperator::TimeUntil:
      for (const Span& e : spans(node.a)) {
        if (just_before ? e.begin >= time : e.begin > time) result = std::min(result, e.begin - time);
      }
      return result;
    case RuleOperator::TimeHeld:
      for (const Span& s : spans(node.a)) {
        if (just_before ? s.begin < time && time <= s.end : s.begin <= time && time < s.end)
          return time - s.begin;
      }
      return 0;
    case RuleOperator::TimeSpent:
      result = 0;
      for (const Span& s : spans(node.a)) {
        result += std::max(0.0, std::min(s.end, time) - std::max(s.begin, time - within));
      }
      return result;
    default:
      result = 0;
      for (const Span& e : spans(node.a)) {
        if (just_before ? time - within <= e.begin && e.begin < time
                        : time - within < e.begin && e.begin <= time) {
          result += 1;
        }
      }
      return result;
  }
}

// Whether it is met in the middle of each quarter, and no more than that.
Cells Brute::plain(Cells cells) const {
  for (BruteValue& value : cells.middle) value.margin = value.met ? never : -never;
  cells.first = cells.last = cells.middle;
  return cells;
}

Cells Brute::window(const RuleNode& node) const {
  const Cells a = condition(node.a);
  Cells result;
  const bool always = node.kind == RuleOperator::Always;
  const int from = static_cast<int>(node.first.nanoseconds / nanoseconds_per_second) * quarters;
  const int to = static_cast<int>(node.second.nanoseconds / nanoseconds_per_second) * quarters;
  const auto starts = [&](int j) { return j >= 0 && j < count_; };
  for (int k = 0; k < count_; ++k) {
    BruteValue first = always ? yes : no(yes);
    BruteValue middle = first;
    BruteValue last = first;
    const auto take = [always](BruteValue& into, BruteValue value) {
      into = always ? low(into, value) : high(into, value);
    };
    // Points of [k + from, k + to]: the value there, and what it comes from if that lies within.
    for (int j = k + from; j <= k + to; ++j) {
      if (starts(j)) take(first, a.first[static_cast<std::size_t>(j)]);
      if (j > k + from && starts(j - 1)) take(first, a.last[static_cast<std::size_t>(j - 1)]);
    }
    // The same window a moment before k + 1.
    for (int j = k + from; j <= k + to; ++j) {
      if (starts(j)) take(last, a.last[static_cast<std::size_t>(j)]);
      if (j > k + from && starts(j)) take(last, a.first[static_cast<std::size_t>(j)]);
    }
    // And from its middle to its middle: all that lies between, and the two.
    for (int j = k + from; j <= k + to; ++j) {
      if (starts(j) && (j == k + from || j == k + to)) take(middle, a.middle[static_cast<std::size_t>(j)]);
      if (j > k + from && starts(j)) take(middle, a.first[static_cast<std::size_t>(j)]);
      if (j > k + from && starts(j - 1)) take(middle, a.last[static_cast<std::size_t>(j - 1)]);
    }
    result.first.push_back(first);
    result.middle.push_back(middle);
    result.last.push_back(last);
  }
  return result;
}

Cells Brute::condition(RuleNodeId id) const {
  const RuleNode& node = book_.nodes[id];
  Cells result;
  switch (node.kind) {
    case RuleOperator::Spells:
      for (int k = 0; k < count_; ++k) {
        const double time = double(k) / quarters;
        bool met = false;
        for (const Span& s : spans(id)) met = met || (s.begin <= time && time < s.end);
        result.first.push_back({met ? never : -never, met});
      }
      result.middle = result.last = result.first;
      return result;
    case RuleOperator::AtLeast:
    case RuleOperator::MoreThan:
    case RuleOperator::AtMost:
    case RuleOperator::LessThan:
      for (int k = 0; k < count_; ++k) {
        for (const int half : {0, 1, 2}) {
          const double x = number(node.a, (k + half / 2.0) / quarters, half > 0);
          const bool above = node.kind == RuleOperator::AtLeast || node.kind == RuleOperator::MoreThan;
          const bool strict = node.kind == RuleOperator::MoreThan || node.kind == RuleOperator::LessThan;
          const double margin = above ? x - node.limit : node.limit - x;
          std::vector<BruteValue>& into = half == 0 ? result.first : half == 1 ? result.middle : result.last;
          into.push_back({margin, margin > 0 || (margin == 0 && !strict)});
        }
      }
      return result;
    case RuleOperator::Not:
      result = condition(node.a);
      for (auto* values : {&result.first, &result.middle, &result.last}) {
        for (BruteValue& value : *values) value = no(value);
      }
      return result;
    case RuleOperator::And:
    case RuleOperator::Or: {
      const bool mixed = measure(id).mixed;
      const Cells a = mixed ? plain(condition(node.a)) : condition(node.a);
      const Cells b = mixed ? plain(condition(node.b)) : condition(node.b);
      const bool both = node.kind == RuleOperator::And;
      for (auto values : {&Cells::first, &Cells::middle, &Cells::last}) {
        for (std::size_t k = 0; k < a.first.size(); ++k) {
          const BruteValue x = (a.*values)[k];
          const BruteValue y = (b.*values)[k];
          (result.*values).push_back(both ? low(x, y) : high(x, y));
        }
      }
      return result;
    }
    case RuleOperator::Always:
    case RuleOperator::Sometime:
      return window(node);
    default: {
      const BruteValue value = form(node);
      result.first.assign(static_cast<std::size_t>(count_), value);
      result.middle = result.last = result.first;
      return result;
    }
  }
}

BruteValue seconds_left(double margin) { return {margin, margin >= 0}; }

BruteValue Brute::form(const RuleNode& node) const {
  BruteValue worst = yes;
  const double first = exact(node.first);
  switch (node.kind) {
    case RuleOperator::AtEach: {
      const Cells b = condition(node.b);
      for (const Span& e : spans(node.a)) {
        const int k = static_cast<int>(e.begin * quarters);
        if (k < 0 || k > count_ || count_ == 0) continue;
        worst = low(worst, k == 0 ? b.first[0] : b.last[static_cast<std::size_t>(k - 1)]);
      }
      return worst;
    }
    case RuleOperator::LastsAtLeast:
      for (const Span& s : spans(node.a)) {
        if (!s.from_before && !s.goes_on) worst = low(worst, seconds_left(s.end - s.begin - first));
      }
      return worst;
    case RuleOperator::LastsAtMost:
      for (const Span& s : spans(node.a)) worst = low(worst, seconds_left(first - (s.end - s.begin)));
      return worst;
    case RuleOperator::AtMostTimes: {
      double times = before(node.a);
      for (const Span& s : spans(node.a)) times += s.from_before ? 0 : 1;
      return seconds_left(node.limit - times);
    }
    default:
      return form_of_pairs(node);
  }
}

BruteValue Brute::form_of_pairs(const RuleNode& node) const {
  const std::vector<Span> as = spans(node.a);
  const std::vector<Span> bs = spans(node.b);
  const double first = exact(node.first);
  const bool same = node.a == node.b;
  BruteValue worst = yes;
  for (std::size_t i = 0; i < as.size(); ++i) {
    const Span& a = as[i];
    BruteValue best{-never, false};  // over what would do
    for (std::size_t j = 0; j < bs.size(); ++j) {
      const Span& b = bs[j];
      switch (node.kind) {
        case RuleOperator::Apart:
          if (same && i == j) break;
          worst = low(worst, seconds_left(std::max(a.begin, b.begin) - std::min(a.end, b.end) - first));
          break;
        case RuleOperator::OnlyAfter:
          if (happens(node.b)) {
            best = high(best, seconds_left(a.begin - b.begin - first));
          } else if (b.begin <= a.begin && (a.begin <= b.end || b.goes_on)) {
            best = high(best, b.from_before ? yes : seconds_left(a.begin - b.begin - first));
          }
          break;
        case RuleOperator::FollowedBy:
          if (same && b.begin <= a.begin) break;
          if (happens(node.b) ? b.begin >= a.end : b.end > a.end || b.goes_on) {
            best = high(best, seconds_left(first - std::max(0.0, b.begin - a.end)));
          }
          break;
        case RuleOperator::OnlyInside: {
          const double to_end = b.goes_on ? never : b.end - a.end;
          const double depth = std::min(b.from_before ? never : a.begin - b.begin, to_end);
          best = high(best, {depth, depth > 0 || (depth == 0 && !(happens(node.a) && to_end == 0))});
          break;
        }
        case RuleOperator::NeverInside: {
          const double away = std::max(b.begin - a.end, a.begin - b.end);
          const bool at_begin = happens(node.a) && a.begin == b.begin;
          worst = low(worst, {away, away > 0 || (away == 0 && !at_begin)});
          break;
        }
        default:
          worst = low(worst, seconds_left(b.begin - a.end));
          break;
      }
    }
    switch (node.kind) {
      case RuleOperator::OnlyAfter:
        if (a.from_before) break;
        if (happens(node.b) && before(node.b) > 0) best = yes;
        // A spell that does not hold has held for no time at all.
        if (!happens(node.b) && best.margin == -never) best = {-first, false};
        worst = low(worst, best);
        break;
      case RuleOperator::FollowedBy:
        if (!a.goes_on) worst = low(worst, best);
        break;
      case RuleOperator::OnlyInside:
        worst = low(worst, best);
        break;
      case RuleOperator::NeverAfter:
        if (before(node.b) > 0) worst = low(worst, {-a.end, false});
        break;
      default:
        break;
    }
  }
  return worst;
}

}  // namespace

BruteAnswer brute_answer(const RuleBook& book, const RuleEvidence& evidence, RuleNodeId condition) {
  const Brute brute(book, evidence);
  BruteAnswer answer;
  answer.worst = yes;
  const Cells cells = brute.condition(condition);
  for (const BruteValue& value : cells.first) answer.worst = low(answer.worst, value);
  for (const BruteValue& value : cells.last) answer.worst = low(answer.worst, value);
  const Brute::Measured measured = brute.measure(condition);
  answer.has_dimension = measured.known;
  answer.mixed = measured.mixed;
  return answer;
}

}  // namespace cairn::test
