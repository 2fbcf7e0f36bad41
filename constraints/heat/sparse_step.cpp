// Newton's method on all stages at once, what their polynomial leaves over, and its account of energy.

#include "constraints/heat/sparse_step.h"

#include <algorithm>
#include <cmath>

namespace cairn {

namespace {

// Where the polynomial is held against the network it has not been fitted to: about in the middle of the
// longest stretch between two stages, where it is off most.
constexpr double check_part = 0.8;

// Errors in trials were up to twice what is left over there comes to.
constexpr double caution = 2;

// Not beyond the step, where the drive need not be smooth.
std::vector<double> parts_of(const Collocation& numbers) {
  std::vector<double> parts(numbers.parts.begin(), numbers.parts.begin() + Collocation::end + 1);
  parts.push_back(check_part);
  return parts;
}

}  // namespace

template <class Value>
SparseStep<Value>::SparseStep(const Network& network, double tolerance, const NetworkSpread& spread)
    : StepMethod<Value>(parts_of(collocation()), network.capacities.size()),
      numbers_(collocation()),
      tolerance_(tolerance),
      size_(network.capacities.size()),
      network_(&network),
      flows_(network, spread, size_),
      conductances_(network.links.size()),
      of_side_(size_) {
  if constexpr (bounds) {
    constexpr double most = 0.9;
    for (const double share : flows_.sensitivity()) spread_share_ = std::max(spread_share_, share);
    spread_share_ = std::min(spread_share_, most);
  }
  drives_.emplace_back();  // beyond the step
  for (std::size_t side = 0; side < sides_of<Value>; ++side) factors_.emplace_back(network);
  for (auto* course : {&course_, &course_before_, &powers_}) {
    for (Values& values : *course) values.resize(size_);
  }
  for (Values& values : heat_) values.resize(size_);
  for (auto* joules : {&residuals_, &changes_}) {
    for (Values& values : *joules) values.resize(size_);
  }
  for (Values* values : {&there_, &off_begin_, &off_later_, &defect_, &work_}) values->resize(size_);
  for (auto& record : records_) record = flows_.record();
}

template <class Value>
void SparseStep<Value>::set_contact(std::size_t link, Value conductance) {
  if (!flows_.set_contact(link, conductance)) h_before_ = 0;
}

template <class Value>
void SparseStep<Value>::linearise() {
  factored_ = true;
  for (std::size_t side = 0; side < sides_of<Value>; ++side) {
    flows_.linearise(course_[0], side);
    const std::vector<double>& by_link = flows_.conductances();
    for (std::size_t k = 0; k < by_link.size(); ++k) set_side(conductances_[k], side, by_link[k]);
    factored_ &= factors_[side].factor(by_link, numbers_.gamma * h_);
  }
}

// Temperatures at the stages as the step before has them where it goes on, or had them where this is a part
// of it; else as they are at the begin.
template <class Value>
void SparseStep<Value>::guess(double h, const Values& temperatures) {
  constexpr double furthest = 2.5;  // further on the polynomial runs away
  const bool again = h_before_ > 0 && same(temperatures, course_before_[0], size_);
  const bool on = h_before_ > 0 && !again && same(temperatures, course_before_[end], size_);
  const double ratio = h_before_ > 0 ? h / h_before_ : 0;
  std::copy(temperatures.begin(), temperatures.begin() + static_cast<std::ptrdiff_t>(size_),
            course_[0].begin());
  for (std::size_t j = 1; j < points; ++j) {
    const double part = (on ? 1 : 0) + numbers_.parts[j] * ratio;
    if ((again && part <= numbers_.parts.back()) || (on && part <= 1 + furthest)) {
      weigh(numbers_.value_at(part), course_before_, course_[j]);
    } else {
      course_[j] = course_[0];
    }
  }
}

template <class Value>
void SparseStep<Value>::weigh(const Collocation::ByPoint& weights, const Course& course, Values& sum) const {
  for (std::size_t i = 0; i < size_; ++i) {
    Value total{};
    for (std::size_t j = 0; j < points; ++j) total += weights[j] * course[j][i];
    sum[i] = total;
  }
}

// In the point beyond the step it is what it would be if it went on as it does within.
template <class Value>
void SparseStep<Value>::extend_drive() {
  const auto extend = [&](auto values_of) {
    Values& sum = values_of(drives_.back());
    sum.assign(values_of(drives_[0]).size(), Value{});
    for (std::size_t j = 0; j <= end; ++j) {
      const Values& values = values_of(drives_[j]);
      for (std::size_t i = 0; i < sum.size(); ++i) sum[i] += numbers_.beyond[j] * values[i];
    }
  };
  extend([](DriveOf<Value>& drive) -> Values& { return drive.heat; });
  extend([](DriveOf<Value>& drive) -> Values& { return drive.sinks; });
}

template <class Value>
const DriveOf<Value>& SparseStep<Value>::drive_of(std::size_t point) const {
  return point <= end ? drives_[point] : point == check ? drives_[end + 1] : drives_.back();
}

// W net into the nodes at such temperatures.
template <class Value>
void SparseStep<Value>::find_heat(std::size_t point, const Values& temperatures) {
  Values& watts = heat_[point];
  flows_.find(drive_of(point), temperatures, records_[point], watts);
  for (std::size_t k = 0; k < conductances_.size(); ++k) {
    const NetworkLink& link = network_->links[k];
    if (link.to_sink) {
      watts[link.node] -= conductances_[k] * temperatures[link.node];
    } else {
      const Value flow = conductances_[k] * (temperatures[link.other] - temperatures[link.node]);
      watts[link.node] += flow;
      watts[link.other] -= flow;
    }
  }
}

// J by which each stage's temperatures fail to be what heat has brought by then.
template <class Value>
void SparseStep<Value>::find_residuals() {
  for (std::size_t j = 1; j < points; ++j) find_heat(j, course_[j]);
  for (std::size_t s = 0; s < stages; ++s) {
    const Collocation::ByStage& weights = numbers_.integrals[s];
    for (std::size_t i = 0; i < size_; ++i) {
      Value joules{};
      for (std::size_t j = 0; j < stages; ++j) joules += weights[j] * heat_[j + 1][i];
      residuals_[s][i] = h_ * joules - network_->capacities[i] * (course_[s + 1][i] - course_[0][i]);
    }
  }
}

// J to K by C + gamma h G.
template <class Value>
void SparseStep<Value>::solve(Values& joules) {
  if constexpr (bounds) {
    for (std::size_t side = 0; side < 2; ++side) {
      for (std::size_t i = 0; i < size_; ++i) of_side_[i] = joules[i][side];
      factors_[side].solve(of_side_);
      for (std::size_t i = 0; i < size_; ++i) joules[i][side] = of_side_[i];
    }
  } else {
    factors_[0].solve(joules);
  }
}

// What all stages change by, were the network linear: J in, K out. In Laguerre's polynomials one follows the
// other: (C + gamma h G) w_k = r_k + gamma h G w_(k-1).
template <class Value>
void SparseStep<Value>::solve_stages(std::array<Values, stages>& joules) {
  for (std::size_t i = 0; i < size_; ++i) {
    std::array<Value, stages> of_node{};
    for (std::size_t k = 0; k < stages; ++k) {
      for (std::size_t s = 0; s < stages; ++s) of_node[k] += numbers_.from_stages[k][s] * joules[s][i];
    }
    for (std::size_t k = 0; k < stages; ++k) joules[k][i] = of_node[k];
  }
  for (std::size_t k = 0; k < stages; ++k) {
    if (k > 0) {
      // gamma h G w is what its right side had beyond C w.
      for (std::size_t i = 0; i < size_; ++i) {
        joules[k][i] += work_[i] - network_->capacities[i] * joules[k - 1][i];
      }
    }
    work_ = joules[k];
    solve(joules[k]);
  }
  for (std::size_t i = 0; i < size_; ++i) {
    std::array<Value, stages> of_node{};
    for (std::size_t s = 0; s < stages; ++s) {
      for (std::size_t k = 0; k < stages; ++k) of_node[s] += numbers_.to_stages[s][k] * joules[k][i];
    }
    for (std::size_t s = 0; s < stages; ++s) joules[s][i] = of_node[s];
  }
}

// Whether Newton's method has come close enough.
template <class Value>
bool SparseStep<Value>::settle() {
  constexpr int most_turns =
      bounds ? 16 : 10;  // a spread is in no factor, and may be as stiff as the network
  const double close = 0.05 * tolerance_;
  double before = 0;
  for (int turn = 0; turn < most_turns; ++turn) {
    find_residuals();
    changes_ = residuals_;
    solve_stages(changes_);
    Value most{};
    for (std::size_t s = 0; s < stages; ++s) {
      for (std::size_t i = 0; i < size_; ++i) {
        course_[s + 1][i] += changes_[s][i];
        most = greater_of(most, magnitude(changes_[s][i]));
      }
    }
    const double change = greatest(most);
    if (!std::isfinite(change)) return false;
    // Each turn changes less than the one before by about the same share; a spread's own is in no factor, and
    // need not show at first.
    double share = turn > 0 ? change / before : 1;
    if (turn > 0 && share > 2) return false;
    if (bounds && share < 1) share = std::max(share, spread_share_);
    still_ = share < 1 ? change * share / (1 - share) : change;
    if (still_ <= close || change <= 0.1 * close) return true;
    if (turn == 0 && flows_.is_linear()) {
      still_ = 0;
      return true;
    }
    before = change;
  }
  return false;
}

template <class Value>
double SparseStep<Value>::step(double h, const Values& temperatures, Values& result) {
  constexpr double useless = 1e9;
  std::swap(course_, course_before_);
  has_powers_ = false;
  guess(h, temperatures);
  extend_drive();
  h_ = h;
  linearise();
  const bool settled = factored_ && settle();
  h_before_ = settled ? h : 0;
  result.assign(course_[end].begin(), course_[end].end());
  for (std::size_t i = 0; i < size_ * sides_of<Value>; ++i) {
    const double kelvin = plain(result)[i];
    if (!std::isfinite(kelvin) || kelvin < 0) return useless;
  }
  find_bends();
  const double off = std::max(left_over(), settled ? 0.0 : useless * tolerance_);
  // It grows with the fifth power of the step.
  return std::pow(off / tolerance_, 0.6);
}

// K: what the polynomial leaves over of the heat balance where it has not been fitted, and what that comes
// to.
template <class Value>
double SparseStep<Value>::left_over() {
  find_heat(0, course_[0]);
  weigh(numbers_.value_at(check_part), course_, there_);
  find_heat(check, there_);
  const auto left = [&](double part, const Values& heat, Values& watts) {
    weigh(numbers_.slope_at(part), course_, watts);
    for (std::size_t i = 0; i < size_; ++i) watts[i] = heat[i] - network_->capacities[i] / h_ * watts[i];
  };
  left(0, heat_[0], off_begin_);
  left(check_part, heat_[check], off_later_);
  if constexpr (bounds) {
    for (std::size_t i = 0; i < size_; ++i) {
      defect_[i] = greater_of(magnitude(off_begin_[i]), magnitude(off_later_[i])) +
                   still_ * (flows_.conductance_of()[i] + network_->capacities[i] / h_);
    }
    flows_.add_kinks({records_.data(), end + 1}, defect_);
  }
  Value most{};
  for (Values* watts : {&off_begin_, &off_later_}) {
    for (Value& value : *watts) value *= numbers_.gamma * h_;
    solve(*watts);
    for (const Value value : *watts) most = greater_of(most, magnitude(value));
  }
  return caution * greatest(most);
}

template <class Value>
void SparseStep<Value>::find_bends() {
  for (std::size_t i = 0; i < size_; ++i) bend_[i] = Value{};
  constexpr std::size_t degree = points - 1;
  for (std::size_t k = 1; k < degree; ++k) {
    weigh(numbers_.controls[k], course_, work_);
    const double part = static_cast<double>(k) / degree;
    for (std::size_t i = 0; i < size_; ++i) {
      const Value chord = course_[0][i] + part * (course_[end][i] - course_[0][i]);
      bend_[i] = greater_of(bend_[i], magnitude(work_[i] - chord));
    }
  }
}

// As powers of the part: many nodes are asked for at many times, or none.
template <class Value>
void SparseStep<Value>::find_powers() {
  has_powers_ = true;
  for (std::size_t p = 0; p < points; ++p) weigh(numbers_.coefficients[p], course_, powers_[p]);
}

template <class Value>
Reading SparseStep<Value>::at(std::size_t node, double part, std::size_t side) {
  if (!has_powers_) find_powers();
  Reading reading;
  for (std::size_t p = points; p-- > 0;) {
    reading.rate = reading.rate * part + reading.temperature;
    reading.temperature = reading.temperature * part + of_side(powers_[p][node], side);
  }
  reading.rate /= h_;
  // To the last bit, whatever the powers are rounded to.
  if (part == 0 || part == 1) reading.temperature = of_side(course_[part == 0 ? 0 : end][node], side);
  return reading;
}

// The step again, of the linear network, from what is off under a constant heat of what is left over.
template <class Value>
void SparseStep<Value>::displace(const Displacement<Value>& begin, Displacement<Value>& end_of_step) {
  const Values& off = begin.off;
  Values& watts = there_;
  for (std::size_t i = 0; i < size_; ++i) watts[i] = defect_[i];
  for (std::size_t k = 0; k < conductances_.size(); ++k) {
    const NetworkLink& link = network_->links[k];
    const Value flow = conductances_[k] * (link.to_sink ? -off[link.node] : off[link.other] - off[link.node]);
    watts[link.node] += flow;
    if (!link.to_sink) watts[link.other] -= flow;
  }
  for (std::size_t s = 0; s < stages; ++s) {
    for (std::size_t i = 0; i < size_; ++i) changes_[s][i] = h_ * numbers_.parts[s + 1] * watts[i];
  }
  solve_stages(changes_);
  end_of_step.off.resize(size_);
  for (std::size_t i = 0; i < size_; ++i) end_of_step.off[i] = off[i] + changes_[end - 1][i];
}

template <class Value>
double SparseStep<Value>::energy_in() const {
  double joules = 0;
  for (std::size_t j = 0; j <= end; ++j) {
    double watts = 0;
    for (const Value& heat : drives_[j].heat) watts += of_side(heat, 0);
    joules += h_ * numbers_.whole[j] * watts;
  }
  return joules;
}

// At other times than the stages', so that the account is a check of the step: those of Gauss.
template <class Value>
double SparseStep<Value>::energy_out() {
  const double aside = std::sqrt(0.15);
  constexpr double weights[3] = {5.0 / 18, 8.0 / 18, 5.0 / 18};
  const double parts[3] = {0.5 - aside, 0.5, 0.5 + aside};
  double joules = 0;
  for (std::size_t k = 0; k < 3; ++k) {
    const Collocation::ByPoint weight = numbers_.value_at(parts[k]);
    weigh(weight, course_, there_);
    drive_between_.sinks.assign(drives_[0].sinks.size(), Value{});
    for (std::size_t j = 0; j < points; ++j) {
      for (std::size_t sink = 0; sink < drive_between_.sinks.size(); ++sink) {
        drive_between_.sinks[sink] += weight[j] * drive_of(j).sinks[sink];
      }
    }
    Value watts = flows_.beyond_linear(drive_between_, there_);
    for (std::size_t i = 0; i < size_; ++i) watts += flows_.to_sinks()[i] * there_[i];
    joules += h_ * weights[k] * of_side(watts, 0);
  }
  return joules;
}

template class SparseStep<double>;
template class SparseStep<Pair>;

}  // namespace cairn
