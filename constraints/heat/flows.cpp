// Links by kind, one loop for each.

#include "constraints/heat/flows.h"

#include <algorithm>
#include <cmath>

namespace cairn {

namespace {

constexpr double sigma = 5.670374419e-8;  // W m-2 K-4, CODATA 2018

template <class Value>
Value cube(Value x) {
  return x * x * x;
}
template <class Value>
Value fourth_power(Value x) {
  return (x * x) * (x * x);
}

// What is to be added to the one bound is to be taken from the other.
inline double outwards(double x) { return x; }
inline Pair outwards(Pair x) { return x * Pair{-1.0, 1.0}; }

}  // namespace

template <class Value>
Flows<Value>::Flows(const Network& network, const NetworkSpread& spread, std::size_t padded)
    : network_(&network),
      size_(network.capacities.size()),
      capacity_spread_(spread.capacities),
      sensitivity_(size_),
      conductances_(network.links.size()),
      conductance_of_(padded),
      to_sinks_(padded),
      fourth_(padded),
      net_(padded),
      extra_(padded) {
  capacity_spread_.resize(size_);
  for (std::size_t k = 0; k < network.links.size(); ++k) {
    const NetworkLink& link = network.links[k];
    const double half_width = k < spread.links.size() ? spread.links[k] : 0;
    if (link.radiative && link.to_sink) {
      radiators_.push_back({link.node, link.other, k, sigma * link.value, sigma * half_width});
    } else if (link.radiative) {
      exchanges_.push_back({link.node, link.other, k, sigma * link.value, sigma * half_width});
    } else if (link.to_sink) {
      contacts_.push_back({link.node, link.other, k, Value{} + link.value, half_width});
    } else if (bounds) {
      ties_.push_back({link.node, link.other, link.value, half_width});
    }
    // A link's surcharge changes with its ends by half-width over value of what the link itself does.
    const double share = link.value > 0 ? half_width / link.value : 0;
    sensitivity_[link.node] = std::max(sensitivity_[link.node], share);
    if (!link.to_sink) sensitivity_[link.other] = std::max(sensitivity_[link.other], share);
  }
  for (std::size_t i = 0; i < size_; ++i) sensitivity_[i] += capacity_spread_[i];
}

template <class Value>
bool Flows<Value>::set_contact(std::size_t link, Value conductance) {
  for (Contact& contact : contacts_) {
    if (contact.link != link) continue;
    const bool had = greatest(magnitude(contact.conductance - conductance)) == 0;
    contact.conductance = conductance;
    return had;
  }
  return true;
}

template <class Value>
typename Flows<Value>::Record Flows<Value>::record() const {
  const std::size_t links = exchanges_.size() + radiators_.size() + contacts_.size() + ties_.size();
  return {Values(links), Values(fourth_.size())};
}

template <class Value>
void Flows<Value>::linearise(const Values& temperatures, std::size_t side) {
  const auto slope = [&](std::size_t node) { return 4 * cube(of_side(temperatures[node], side)); };
  for (std::size_t k = 0; k < conductances_.size(); ++k) conductances_[k] = network_->links[k].value;
  std::vector<double> sinks(size_);
  for (const Contact& link : contacts_) {
    conductances_[link.link] = of_side(link.conductance, side);
    sinks[link.node] += conductances_[link.link];
  }
  for (Exchange& link : exchanges_) {
    conductances_[link.link] = link.strength * 0.5 * (slope(link.node) + slope(link.other));
    set_side(link.conductance, side, conductances_[link.link]);
  }
  for (Radiator& link : radiators_) {
    conductances_[link.link] = link.strength * slope(link.node);
    set_side(link.conductance, side, conductances_[link.link]);
    sinks[link.node] += conductances_[link.link];
  }
  std::vector<double> all(size_);
  for (std::size_t k = 0; k < conductances_.size(); ++k) {
    const NetworkLink& link = network_->links[k];
    all[link.node] += conductances_[k];
    if (!link.to_sink) all[link.other] += conductances_[k];
  }
  for (std::size_t i = 0; i < size_; ++i) {
    set_side(conductance_of_[i], side, all[i]);
    set_side(to_sinks_[i], side, sinks[i]);
  }
}

template <class Value>
void Flows<Value>::find(const DriveOf<Value>& drive, const Values& temperatures, Record& record,
                        Values& watts) {
  std::copy(drive.heat.begin(), drive.heat.end(), watts.begin());
  for (std::size_t i = 0; i < size_; ++i) fourth_[i] = fourth_power(temperatures[i]);
  if constexpr (bounds) {
    std::copy(drive.heat.begin(), drive.heat.end(), record.net.begin());
    std::fill(extra_.begin(), extra_.end(), Value{});
  }
  Values& net = record.net;
  Value* difference = record.differences.data();
  for (const Exchange& link : exchanges_) {
    const Value x = fourth_[link.other] - fourth_[link.node];
    const Value flow = link.strength * x;
    const Value bent = flow - link.conductance * (temperatures[link.other] - temperatures[link.node]);
    watts[link.node] += bent;
    watts[link.other] -= bent;
    if constexpr (bounds) {
      const Value on_top = link.spread * magnitude(x);
      net[link.node] += flow;
      net[link.other] -= flow;
      extra_[link.node] += on_top;
      extra_[link.other] += on_top;
      *difference++ = x;
    }
  }
  for (const Radiator& link : radiators_) {
    const Value x = fourth_power(drive.sinks[link.sink]) - fourth_[link.node];
    const Value flow = link.strength * x;
    watts[link.node] += flow + link.conductance * temperatures[link.node];
    if constexpr (bounds) {
      net[link.node] += flow;
      extra_[link.node] += link.spread * magnitude(x);
      *difference++ = x;
    }
  }
  for (const Contact& link : contacts_) {
    watts[link.node] += link.conductance * drive.sinks[link.sink];
    if constexpr (bounds) {
      const Value x = drive.sinks[link.sink] - temperatures[link.node];
      net[link.node] += link.conductance * x;
      extra_[link.node] += link.spread * magnitude(x);
      *difference++ = x;
    }
  }
  if constexpr (bounds) {
    for (const Tie& link : ties_) {
      const Value x = temperatures[link.other] - temperatures[link.node];
      const Value flow = link.conductance * x;
      const Value on_top = link.spread * magnitude(x);
      net[link.node] += flow;
      net[link.other] -= flow;
      extra_[link.node] += on_top;
      extra_[link.other] += on_top;
      *difference++ = x;
    }
    for (std::size_t i = 0; i < size_; ++i) {
      net[i] += outwards(extra_[i]);
      watts[i] += outwards(extra_[i] + capacity_spread_[i] * magnitude(net[i]));
    }
  }
}

template <class Value>
void Flows<Value>::find_change(const Record& record, const Values& temperatures, const Values& changes,
                               const Values& heat_changes, const DriveOf<Value>& drive,
                               const Values& sink_changes, Values& watts) {
  std::copy(heat_changes.begin(), heat_changes.begin() + static_cast<std::ptrdiff_t>(size_), watts.begin());
  for (std::size_t i = 0; i < size_; ++i) fourth_[i] = 4.0 * cube(temperatures[i]) * changes[i];
  if constexpr (bounds) {
    std::copy(heat_changes.begin(), heat_changes.begin() + static_cast<std::ptrdiff_t>(size_), net_.begin());
    std::fill(extra_.begin(), extra_.end(), Value{});
  }
  const Value* difference = record.differences.data();
  // Of |x| when x changes.
  const auto of_magnitude = [](Value x, Value change) { return x < 0.0 ? -change : change; };
  for (const Exchange& link : exchanges_) {
    const Value x = fourth_[link.other] - fourth_[link.node];
    const Value flow = link.strength * x;
    const Value bent = flow - link.conductance * (changes[link.other] - changes[link.node]);
    watts[link.node] += bent;
    watts[link.other] -= bent;
    if constexpr (bounds) {
      const Value on_top = link.spread * of_magnitude(*difference++, x);
      net_[link.node] += flow;
      net_[link.other] -= flow;
      extra_[link.node] += on_top;
      extra_[link.other] += on_top;
    }
  }
  for (const Radiator& link : radiators_) {
    const Value x = 4.0 * cube(drive.sinks[link.sink]) * sink_changes[link.sink] - fourth_[link.node];
    const Value flow = link.strength * x;
    watts[link.node] += flow + link.conductance * changes[link.node];
    if constexpr (bounds) {
      net_[link.node] += flow;
      extra_[link.node] += link.spread * of_magnitude(*difference++, x);
    }
  }
  for (const Contact& link : contacts_) {
    watts[link.node] += link.conductance * sink_changes[link.sink];
    if constexpr (bounds) {
      const Value x = sink_changes[link.sink] - changes[link.node];
      net_[link.node] += link.conductance * x;
      extra_[link.node] += link.spread * of_magnitude(*difference++, x);
    }
  }
  if constexpr (bounds) {
    for (const Tie& link : ties_) {
      const Value x = changes[link.other] - changes[link.node];
      const Value flow = link.conductance * x;
      const Value on_top = link.spread * of_magnitude(*difference++, x);
      net_[link.node] += flow;
      net_[link.other] -= flow;
      extra_[link.node] += on_top;
      extra_[link.other] += on_top;
    }
    for (std::size_t i = 0; i < size_; ++i) {
      net_[i] += outwards(extra_[i]);
      watts[i] += outwards(extra_[i] + capacity_spread_[i] * of_magnitude(record.net[i], net_[i]));
    }
  }
}

template <class Value>
void Flows<Value>::lift_kinks(const Record& begin, Record& middle, const Record& end, Values& watts) {
  const Value zero{};
  // Mostly nothing turns round.
  Value turned{};
  for (std::size_t k = 0; k < begin.differences.size(); ++k) {
    turned = lesser_of(turned, begin.differences[k] * end.differences[k]);
  }
  for (std::size_t i = 0; i < size_; ++i) turned = lesser_of(turned, begin.net[i] * end.net[i]);
  if (greatest(-turned) <= 0) return;
  const auto lift = [&](Value first, Value there, Value last) {
    const Value by = 0.5 * (magnitude(first) + magnitude(last)) - magnitude(there);
    return first * last < 0.0 ? greater_of(by, zero) : zero;
  };
  Values& lifted = extra_;
  std::fill(lifted.begin(), lifted.end(), zero);
  std::size_t k = 0;
  const auto next = [&](double spread) {
    const Value by = spread * lift(begin.differences[k], middle.differences[k], end.differences[k]);
    ++k;
    return by;
  };
  const auto between = [&](const auto& link) {
    const Value by = next(link.spread);
    lifted[link.node] += by;
    lifted[link.other] += by;
  };
  for (const Exchange& link : exchanges_) between(link);
  for (const Radiator& link : radiators_) lifted[link.node] += next(link.spread);
  for (const Contact& link : contacts_) lifted[link.node] += next(link.spread);
  for (const Tie& link : ties_) between(link);
  for (std::size_t i = 0; i < size_; ++i) {
    watts[i] += outwards(lifted[i] * (1 + capacity_spread_[i]) +
                         capacity_spread_[i] * lift(begin.net[i], middle.net[i], end.net[i]));
  }
}

// |x| between two times at which x has different signs is off its chord by no more than |x| at both together;
// what that does to a polynomial through them elsewhere is less.
template <class Value>
void Flows<Value>::add_kinks(std::span<const Record> records, Values& watts) const {
  const auto kink = [](Value first, Value last) {
    return first * last < 0.0 ? magnitude(first) + magnitude(last) : Value{};
  };
  for (std::size_t r = 0; r + 1 < records.size(); ++r) {
    const Values& first = records[r].differences;
    const Values& last = records[r + 1].differences;
    std::size_t k = 0;
    const auto add = [&](const auto& link, bool to_sink) {
      const Value by = link.spread * kink(first[k], last[k]);
      ++k;
      watts[link.node] += by * (1 + capacity_spread_[link.node]);
      return to_sink ? Value{} : by;
    };
    const auto between = [&](const auto& link) {
      watts[link.other] += add(link, false) * (1 + capacity_spread_[link.other]);
    };
    for (const Exchange& link : exchanges_) between(link);
    for (const Radiator& link : radiators_) add(link, true);
    for (const Contact& link : contacts_) add(link, true);
    for (const Tie& link : ties_) between(link);
    for (std::size_t i = 0; i < size_; ++i) {
      watts[i] += capacity_spread_[i] * kink(records[r].net[i], records[r + 1].net[i]);
    }
  }
}

template <class Value>
Value Flows<Value>::beyond_linear(const DriveOf<Value>& drive, const Values& temperatures) const {
  Value watts{};
  for (const Radiator& link : radiators_) {
    const Value here = temperatures[link.node];
    watts +=
        link.strength * (fourth_power(here) - fourth_power(drive.sinks[link.sink])) - link.conductance * here;
  }
  for (const Contact& link : contacts_) watts -= link.conductance * drive.sinks[link.sink];
  return watts;
}

template class Flows<double>;
template class Flows<Pair>;

}  // namespace cairn
