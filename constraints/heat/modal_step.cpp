// The exponential step, what lies within it, and its account of energy.

#include "constraints/heat/modal_step.h"

#include <algorithm>
#include <cmath>

namespace cairn {

namespace {

// Of the absolute temperature. Where nodes are many a linearisation costs most, and steps that are somewhat
// shorter cost less than it: two hundred nodes take two fifths of the time.
double linear_within_of(std::size_t nodes) {
  constexpr std::size_t many = 50;
  return nodes < many ? 0.06 : 0.1;
}

struct Halves {
  const double *first, *middle, *last, *begin;
  double *linear, *quadratic, *by_middle, *by_end;
};

CAIRN_WIDEST void answer_all(const Answers& whole, const Answers& half, double h, std::size_t count,
                             const Halves& of) {
  const auto at = [](const auto& values, std::size_t k) -> const Lane& {
    return reinterpret_cast<const Lane&>(values[k]);
  };
  for (std::size_t k = 0; k < count; k += lane) {
    const Lane first = at(of.first, k);
    const Lane linear = 4 * at(of.middle, k) - 3 * first - at(of.last, k);
    const Lane quadratic = 2 * (first - 2 * at(of.middle, k) + at(of.last, k));
    reinterpret_cast<Lane&>(of.linear[k]) = linear;
    reinterpret_cast<Lane&>(of.quadratic[k]) = quadratic;
    reinterpret_cast<Lane&>(of.by_middle[k]) =
        at(half.decay, k) * at(of.begin, k) +
        h * 0.5 *
            (at(half.phi1, k) * first + at(half.phi2, k) * 0.5 * linear + at(half.phi3, k) * 0.5 * quadratic);
    reinterpret_cast<Lane&>(of.by_end[k]) =
        at(whole.decay, k) * at(of.begin, k) +
        h * (at(whole.phi1, k) * first + at(whole.phi2, k) * linear + at(whole.phi3, k) * 2 * quadratic);
  }
}

}  // namespace

template <class Value>
ModalStep<Value>::ModalStep(const Network& network, double tolerance, const NetworkSpread& spread)
    : StepMethod<Value>({0, 0.5, 1}, ModeMatrix<Value>::padded(network.capacities.size())),
      tolerance_(tolerance),
      size_(network.capacities.size()),
      padded_(ModeMatrix<Value>::padded(size_)),
      linear_within_(linear_within_of(size_)),
      capacities_(&network.capacities),
      network_(&network),
      flows_(network, spread, padded_),
      modes_(size_),
      whole_(padded_ * sides_of<Value>),
      half_(padded_ * sides_of<Value>),
      some_(padded_ * sides_of<Value>) {
  std::vector<char> radiates(size_);
  for (const NetworkLink& link : network.links) {
    if (!link.radiative) continue;
    radiates[link.node] = 1;
    if (!link.to_sink) radiates[link.other] = 1;
  }
  for (std::size_t i = 0; i < size_; ++i) {
    if (radiates[i] != 0) radiating_.push_back(i);
  }
  for (Values* values :
       {&linear_at_, &sink_coupling_, &begin_, &middle_, &end_, &before_middle_, &before_end_, &begin_modes_,
        &middle_modes_, &end_modes_, &defect_, &work_, &changes_, &heat_changes_}) {
    values->resize(padded_);
  }
  for (auto* three : {&watts_, &remainders_, &forcing_}) {
    for (Values& values : *three) values.resize(padded_);
  }
  for (auto& record : records_) record = flows_.record();
}

template <class Value>
void ModalStep<Value>::set_contact(std::size_t link, Value conductance) {
  if (!flows_.set_contact(link, conductance)) linearised_ = false;
}

// Conductances from the slopes of the radiative links where the step begins.
template <class Value>
void ModalStep<Value>::linearise(std::size_t side) {
  flows_.linearise(begin_, side);
  modes_.find(*network_, flows_.conductances(), side);
  for (std::size_t i = 0; i < size_; ++i) set_side(linear_at_[i], side, of_side(begin_[i], side));
}

template <class Value>
void ModalStep<Value>::begin_at(const Values& temperatures) {
  bool known = linearised_;
  if (!linearised_ || !same(temperatures, begin_, size_)) {
    if (linearised_ && same(temperatures, end_, size_)) {
      begin_.swap(end_);
      begin_modes_.swap(end_modes_);
    } else {
      std::copy(temperatures.begin(), temperatures.begin() + static_cast<std::ptrdiff_t>(size_),
                begin_.begin());
      known = false;
    }
  }
  Value furthest{};
  for (const std::size_t i : radiating_) {
    furthest = greater_of(furthest, magnitude(begin_[i] - linear_at_[i]) - linear_within_ * linear_at_[i]);
  }
  bool moved = false;
  for (std::size_t side = 0; side < sides_of<Value>; ++side) {
    if (linearised_ && !(of_side(furthest, side) > 0)) continue;
    linearise(side);
    moved = true;
  }
  if (moved) {
    modes_.to_drive(flows_.to_sinks(), sink_coupling_);
    linearised_ = true;
    ++linearisations_;
  }
  if (moved || !known) {
    for (std::size_t i = 0; i < size_; ++i) work_[i] = (*capacities_)[i] * begin_[i];
    modes_.to_drive(work_, begin_modes_);
  }
}

template <class Value>
bool ModalStep<Value>::is_steady() const {
  const auto is = [&](const DriveOf<Value>& drive) {
    return same(drive.heat, drives_[0].heat, size_) &&
           same(drive.sinks, drives_[0].sinks, drives_[0].sinks.size());
  };
  return is(drives_[1]) && is(drives_[2]);
}

// K: what a quadratic misses of the remainder, from its slope at the begin. A remainder off by a cubic that
// vanishes at begin, middle and end and has the slope 1 reaches 0.096, its integral 1/32.
template <class Value>
double ModalStep<Value>::missed_by_quadratic() {
  const Values& rates = point(0).rates;
  // By the end, were all to go on as it begins.
  for (std::size_t i = 0; i < size_; ++i) changes_[i] = h_ * rates[i];
  const auto onwards = [&](const Values& first, const Values& middle, const Values& last, Values& change,
                           std::size_t count) {
    for (std::size_t i = 0; i < count; ++i) change[i] = 4.0 * middle[i] - 3.0 * first[i] - last[i];
  };
  const std::size_t sinks = drives_[0].sinks.size();
  sink_changes_.resize(sinks);
  onwards(drives_[0].heat, drives_[1].heat, drives_[2].heat, heat_changes_, size_);
  onwards(drives_[0].sinks, drives_[1].sinks, drives_[2].sinks, sink_changes_, sinks);
  flows_.find_change(records_[0], begin_, changes_, heat_changes_, drives_[0], sink_changes_, work_);
  Value worst{};
  const Values& conductance_of = flows_.conductance_of();
  for (std::size_t i = 0; i < size_; ++i) {
    const Value slope = 4.0 * watts_[1][i] - 3.0 * watts_[0][i] - watts_[2][i];
    const Value off = magnitude(work_[i] - slope);
    if constexpr (bounds) defect_[i] += 0.096 * off;
    const Value by_capacity = Value{} + h_ / (32 * (*capacities_)[i]);
    const Value by_conductance = 0.096 / conductance_of[i];
    worst = greater_of(worst, off * lesser_of(by_capacity, by_conductance));
  }
  return greatest(worst);
}

// At the step's middle and end, from the temperatures of the pass before.
template <class Value>
void ModalStep<Value>::find_later_remainders() {
  flows_.find(drives_[1], middle_, records_[1], watts_[1]);
  flows_.find(drives_[2], end_, records_[2], watts_[2]);
  if constexpr (bounds) flows_.lift_kinks(records_[0], records_[1], records_[2], watts_[1]);
  modes_.to_drive(watts_[1], remainders_[1], watts_[2], remainders_[2]);
}

template <class Value>
double ModalStep<Value>::step(double h, const Values& temperatures, Values& result) {
  begin_at(temperatures);
  h_ = h;
  whole_.find(plain(modes_.rates()), h);
  half_.find(plain(modes_.rates()), h / 2);
  asked_.clear();
  const bool steady = is_steady();
  flows_.find(drives_[0], begin_, records_[0], watts_[0]);
  modes_.to_drive(watts_[0], remainders_[0]);
  middle_ = begin_;
  end_ = begin_;
  double change = 0;
  double change_before = 0;
  const int most = flows_.is_linear() ? 1 : most_passes;
  for (int pass = 0; pass < most; ++pass) {
    if (pass == 0 && steady) {
      remainders_[1] = remainders_[0];
      remainders_[2] = remainders_[0];
    } else {
      find_later_remainders();
    }
    before_middle_.swap(middle_);
    before_end_.swap(end_);
    answer_remainder();
    Value most_changed{};
    for (std::size_t i = 0; i < size_; ++i) {
      most_changed = greater_of(most_changed, greater_of(magnitude(middle_[i] - before_middle_[i]),
                                                         magnitude(end_[i] - before_end_[i])));
    }
    change_before = change;
    change = greatest(most_changed);
    // What the next pass would still change is a small share of what this one has.
    if (pass > 0 && !(change > (bounds ? 1.0 : 0.2) * tolerance_)) break;
  }
  find_bends();
  result.assign(end_.begin(), end_.begin() + static_cast<std::ptrdiff_t>(size_));
  for (std::size_t i = 0; i < size_ * sides_of<Value>; ++i) {
    const double kelvin = plain(result)[i];
    if (!std::isfinite(kelvin) || kelvin < 0) return 1e9;
  }
  if (flows_.is_linear()) return 0;
  if constexpr (bounds) {
    // A remainder taken at temperatures off by so much.
    const Values& conductance_of = flows_.conductance_of();
    for (std::size_t i = 0; i < size_; ++i) {
      defect_[i] = (linear_within_ * 3 + flows_.sensitivity()[i]) * conductance_of[i] *
                   greater_of(magnitude(middle_[i] - before_middle_[i]), magnitude(end_[i] - before_end_[i]));
    }
  }
  // The next pass would change less, as this one has changed less than the one before.
  const double still = change_before > 0 ? change * std::min(1.0, change / change_before) : change;
  return std::max(still, missed_by_quadratic()) / tolerance_;
}

template <class Value>
void ModalStep<Value>::displace(const Displacement<Value>& begin, Displacement<Value>& end) {
  const Values* modes = &begin.modes;
  end.modes.resize(padded_);
  if (begin.linearisation != linearisations_) {
    for (std::size_t i = 0; i < size_; ++i) work_[i] = (*capacities_)[i] * begin.off[i];
    modes_.to_drive(work_, end.modes);
    modes = &end.modes;
  }
  end.linearisation = linearisations_;
  modes_.to_drive(defect_, work_);
  const Value* decay = reinterpret_cast<const Value*>(whole_.decay.data());
  const Value* phi1 = reinterpret_cast<const Value*>(whole_.phi1.data());
  for (std::size_t k = 0; k < size_; ++k) end.modes[k] = decay[k] * (*modes)[k] + h_ * phi1[k] * work_[k];
  modes_.to_temperatures(end.modes, work_);
  end.off.assign(work_.begin(), work_.begin() + static_cast<std::ptrdiff_t>(size_));
}

// The quadratic through the three remainders, and what the modes make of it by the middle and the end.
template <class Value>
void ModalStep<Value>::answer_remainder() {
  forcing_[0] = remainders_[0];
  answer_all(whole_, half_, h_, padded_ * sides_of<Value>,
             {plain(remainders_[0]), plain(remainders_[1]), plain(remainders_[2]), plain(begin_modes_),
              plain(forcing_[1]), plain(forcing_[2]), plain(middle_modes_), plain(end_modes_)});
  modes_.to_temperatures(middle_modes_, middle_, end_modes_, end_);
}

// The answers to the constant, the linear and the quadratic part each grow from 0 to their value without
// turning back, so none strays from its chord by more than that value; nor by more than an eighth of its
// second derivative (for the quadratic part, 2/sqrt(243)).
template <class Value>
void ModalStep<Value>::find_bends() {
  const double* rates = plain(modes_.rates());
  double* bends = plain(work_);
  for (std::size_t k = 0; k < size_ * sides_of<Value>; ++k) {
    const double relaxing = plain(forcing_[0])[k] - rates[k] * plain(begin_modes_)[k];
    bends[k] = h_ * (std::abs(relaxing) * std::min(whole_.phi1[k], rates[k] * h_ * 0.125) +
                     std::abs(plain(forcing_[1])[k]) * std::min(whole_.phi2[k], 0.125) +
                     std::abs(plain(forcing_[2])[k]) * std::min(2 * whole_.phi3[k], 0.1284));
  }
  modes_.to_bounds(work_, bend_);
}

template <class Value>
const typename ModalStep<Value>::Point& ModalStep<Value>::point(double part) {
  for (std::size_t i = 0; i < asked_.size(); ++i) {
    if (asked_[i] == part) return points_[i];
  }
  if (asked_.size() == points_.size()) {
    points_.push_back({Values(padded_), Values(padded_), false, Values(padded_), Values(padded_)});
  }
  Point& made = points_[asked_.size()];
  asked_.push_back(part);
  made.has_nodes = part == 0 || part == 0.5 || part == 1;
  const std::size_t count = size_ * sides_of<Value>;
  const double* constant = plain(forcing_[0]);
  const double* linear = plain(forcing_[1]);
  const double* quadratic = plain(forcing_[2]);
  const double* begin = plain(begin_modes_);
  double* modes = plain(made.modes);
  double* slopes = plain(made.slopes);
  if (made.has_nodes) {
    made.modes = part == 0 ? begin_modes_ : part == 1 ? end_modes_ : middle_modes_;
  } else {
    some_.find(plain(modes_.rates()), part * h_);
    for (std::size_t k = 0; k < count; ++k) {
      modes[k] = some_.decay[k] * begin[k] +
                 part * h_ *
                     (some_.phi1[k] * constant[k] +
                      part * (some_.phi2[k] * linear[k] + 2 * part * some_.phi3[k] * quadratic[k]));
    }
  }
  for (std::size_t k = 0; k < count; ++k) {
    slopes[k] = constant[k] + part * (linear[k] + part * quadratic[k]) - plain(modes_.rates())[k] * modes[k];
  }
  if (made.has_nodes) {
    made.temperatures = part == 0 ? begin_ : part == 1 ? end_ : middle_;
    modes_.to_temperatures(made.slopes, made.rates);
  }
  return made;
}

template <class Value>
Reading ModalStep<Value>::at(std::size_t node, double part, std::size_t side) {
  const Point& here = point(part);
  if (here.has_nodes) return {of_side(here.temperatures[node], side), of_side(here.rates[node], side)};
  const double* shares = modes_.node(node);
  double kelvin[lane] = {};
  double rate[lane] = {};
  for (std::size_t k = 0; k < padded_ * sides_of<Value>; k += lane) {
    for (std::size_t i = 0; i < lane; ++i) {
      kelvin[i] += shares[k + i] * plain(here.modes)[k + i];
      rate[i] += shares[k + i] * plain(here.slopes)[k + i];
    }
  }
  if constexpr (bounds) return {kelvin[side] + kelvin[side + 2], rate[side] + rate[side + 2]};
  return {(kelvin[0] + kelvin[1]) + (kelvin[2] + kelvin[3]), (rate[0] + rate[1]) + (rate[2] + rate[3])};
}

template <class Value>
double ModalStep<Value>::energy_in() const {
  const auto sum = [](const DriveOf<Value>& drive) {
    double watts = 0;
    for (const Value& heat : drive.heat) watts += of_side(heat, 0);
    return watts;
  };
  return h_ / 6 * (sum(drives_[0]) + 4 * sum(drives_[1]) + sum(drives_[2]));
}

template <class Value>
double ModalStep<Value>::energy_out() {
  // The linear part in full, however fast it goes; the rest is smooth. From the temperatures, not from the
  // stages, so that the account is a check of the step.
  const std::size_t sides = sides_of<Value>;
  double linear = 0;
  for (std::size_t k = 0; k < size_ * sides; k += sides) {
    linear += plain(sink_coupling_)[k] *
              (whole_.phi1[k] * plain(begin_modes_)[k] +
               h_ * (whole_.phi2[k] * plain(forcing_[0])[k] + whole_.phi3[k] * plain(forcing_[1])[k] +
                     2 * whole_.phi4[k] * plain(forcing_[2])[k]));
  }
  const auto beyond = [&](std::size_t time, const Values& temperatures) {
    return of_side(flows_.beyond_linear(drives_[time], temperatures), 0);
  };
  return h_ * (linear + (beyond(0, begin_) + 4 * beyond(1, middle_) + beyond(2, end_)) / 6);
}

template class ModalStep<double>;
template class ModalStep<Pair>;

}  // namespace cairn
