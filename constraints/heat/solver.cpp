// The exponential step, what lies within it, and its account of energy.

#include "constraints/heat/solver.h"

#include <algorithm>
#include <cmath>
#include <utility>

namespace cairn {

namespace {

constexpr double sigma = 5.670374419e-8;  // W m-2 K-4, CODATA 2018
constexpr double linear_within = 0.04;    // of the absolute temperature

double cube(double x) { return x * x * x; }
double fourth_power(double x) { return (x * x) * (x * x); }

// decay = e^-x and phi_k = integral over (0, 1) of e^(-x (1 - s)) s^(k-1) / (k-1)!: how a mode that relaxes
// with x = rate times time answers to what is constant, linear, quadratic and cubic in time.
struct Answer {
  double decay, phi1, phi2, phi3, phi4;
};

Answer answer(double x) {
  Answer a;
  if (x < 0.5) {  // the quotients below would lose digits
    // phi4 = 1/4! - x/5! + x^2/6! - ..., innermost term first.
    constexpr double inverses[] = {1.0 / 14, 1.0 / 13, 1.0 / 12, 1.0 / 11, 1.0 / 10, 1.0 / 9,
                                   1.0 / 8,  1.0 / 7,  1.0 / 6,  1.0 / 5,  1.0 / 24};
    double sum = 0;
    for (const double inverse : inverses) sum = (1 - x * sum) * inverse;
    a.phi4 = sum;
    a.phi3 = 1.0 / 6 - x * a.phi4;
    a.phi2 = 0.5 - x * a.phi3;
    a.phi1 = 1 - x * a.phi2;
    a.decay = 1 - x * a.phi1;
  } else {
    const double inverse = 1 / x;
    a.decay = std::exp(-x);
    a.phi1 = (1 - a.decay) * inverse;
    a.phi2 = (1 - a.phi1) * inverse;
    a.phi3 = (0.5 - a.phi2) * inverse;
    a.phi4 = (1.0 / 6 - a.phi3) * inverse;
  }
  return a;
}

}  // namespace

NetworkSolver::NetworkSolver(const Network& network, double tolerance, NetworkSpread spread)
    : network_(&network),
      tolerance_(tolerance),
      size_(network.capacities.size()),
      padded_(BlockMatrix::padded(size_)),
      spread_(std::move(spread)),
      modes_(size_) {
  radiates_.resize(size_);
  spread_.links.resize(network.links.size());
  spread_.capacities.resize(size_);
  for (std::size_t k = 0; k < network.links.size(); ++k) {
    const NetworkLink& link = network.links[k];
    const double half_width = spread_.links[k];
    if (link.radiative) {
      radiates_[link.node] = 1;
      if (link.to_sink) {
        radiators_.push_back({link.node, link.other, k, sigma * link.value, sigma * half_width});
      } else {
        radiates_[link.other] = 1;
        exchanges_.push_back({link.node, link.other, k, sigma * link.value, sigma * half_width});
      }
    } else if (link.to_sink) {
      contacts_.push_back({link.node, link.other, k, link.value, half_width});
    } else if (spread_.direction != 0) {
      ties_.push_back({link.node, link.other, link.value, half_width});
    }
  }
  // A link's surcharge changes with its ends by half-width over value of what the link itself does.
  sensitivity_.resize(padded_);
  for (std::size_t k = 0; k < network.links.size(); ++k) {
    const NetworkLink& link = network.links[k];
    const double share = link.value > 0 ? spread_.links[k] / link.value : 0;
    sensitivity_[link.node] = std::max(sensitivity_[link.node], share);
    if (!link.to_sink) sensitivity_[link.other] = std::max(sensitivity_[link.other], share);
  }
  for (std::size_t i = 0; i < size_; ++i) sensitivity_[i] += spread_.capacities[i];
  for (Values* values : {&linear_at_, &sink_coupling_, &begin_, &middle_, &end_, &before_middle_,
                         &before_end_, &begin_modes_, &middle_modes_, &end_modes_, &bend_, &defect_,
                         &conductance_of_, &watts_, &later_watts_, &fourth_, &work_, &lifted_}) {
    values->resize(padded_);
  }
  const std::size_t links = exchanges_.size() + radiators_.size() + contacts_.size() + ties_.size();
  for (Surcharge& surcharge : surcharges_) {
    surcharge = {Values(links), Values(padded_), Values(padded_)};
  }
  for (Values& values : forcing_) values.resize(padded_);
  for (Values& values : curvatures_) values.resize(padded_);
  for (Values& values : remainders_) values.resize(padded_);
  const Values one(padded_);
  answers_.fill({one, one, one, one, one});
}

// Conductances from the slopes of the radiative links where the step begins.
void NetworkSolver::linearise() {
  const auto slope = [&](std::size_t node) { return 4 * cube(begin_[node]); };
  std::vector<double> conductances(network_->links.size());
  for (std::size_t k = 0; k < conductances.size(); ++k) conductances[k] = network_->links[k].value;
  for (const Contact& link : contacts_) conductances[link.link] = link.conductance;
  Values to_sinks(size_);
  std::fill(conductance_of_.begin(), conductance_of_.end(), 0.0);
  for (Exchange& link : exchanges_) {
    link.conductance = conductances[link.link] = link.strength * 0.5 * (slope(link.node) + slope(link.other));
  }
  for (Radiator& link : radiators_) {
    link.conductance = conductances[link.link] = link.strength * slope(link.node);
    to_sinks[link.node] += link.conductance;
  }
  for (const Contact& link : contacts_) to_sinks[link.node] += link.conductance;
  for (std::size_t k = 0; k < conductances.size(); ++k) {
    const NetworkLink& link = network_->links[k];
    conductance_of_[link.node] += conductances[k];
    if (!link.to_sink) conductance_of_[link.other] += conductances[k];
  }
  modes_.find(*network_, conductances);
  modes_.to_drive(to_sinks, sink_coupling_);
  linear_at_ = begin_;
  linearised_ = true;
  ++linearisations_;
}

void NetworkSolver::set_contact(std::size_t link, double conductance) {
  for (Contact& contact : contacts_) {
    if (contact.link != link || contact.conductance == conductance) continue;
    contact.conductance = conductance;
    linearised_ = false;
  }
}

void NetworkSolver::begin_at(const std::vector<double>& temperatures) {
  const auto is = [&](const Values& values) {
    return std::equal(temperatures.begin(), temperatures.end(), values.begin());
  };
  bool known = linearised_;
  if (!linearised_ || !is(begin_)) {
    if (linearised_ && is(end_)) {
      std::swap(begin_, end_);
      std::swap(begin_modes_, end_modes_);
    } else {
      std::copy(temperatures.begin(), temperatures.end(), begin_.begin());
      known = false;
    }
  }
  bool moved = !linearised_;
  for (std::size_t i = 0; i < size_; ++i) {
    moved |= radiates_[i] != 0 && std::abs(begin_[i] - linear_at_[i]) > linear_within * linear_at_[i];
  }
  if (moved) linearise();
  if (moved || !known) {
    for (std::size_t i = 0; i < size_; ++i) watts_[i] = network_->capacities[i] * begin_[i];
    modes_.to_drive(watts_, begin_modes_);
  }
}

void NetworkSolver::weigh(double h) {
  h_ = h;
  answer_count_ = 1;
  Answers& whole = answers_[0];
  for (std::size_t k = 0; k < size_; ++k) {
    const Answer a = answer(modes_.rates()[k] * h);
    whole.decay[k] = a.decay;
    whole.phi1[k] = a.phi1;
    whole.phi2[k] = a.phi2;
    whole.phi3[k] = a.phi3;
    whole.phi4[k] = a.phi4;
  }
}

// Answers over the step halved so many times, each from the one before by the doubling formulas of Skaflestad
// and Wright, "The scaling and modified squaring method for matrix functions related to the exponential",
// Applied Numerical Mathematics 59 (2009) 783-799, turned round.
const NetworkSolver::Answers& NetworkSolver::halved(std::size_t times) {
  for (; answer_count_ <= times; ++answer_count_) {
    const double length = std::ldexp(h_, -static_cast<int>(answer_count_));
    const Answers& twice = answers_[answer_count_ - 1];
    Answers& half = answers_[answer_count_];
    for (std::size_t k = 0; k < size_; ++k) {
      half.decay[k] =
          twice.decay[k] > 1e-200 ? std::sqrt(twice.decay[k]) : std::exp(-modes_.rates()[k] * length);
      half.phi1[k] = 2 * twice.phi1[k] / (1 + half.decay[k]);
      half.phi2[k] = 2 * twice.phi2[k] - 0.5 * half.phi1[k] * half.phi1[k];
      half.phi3[k] = 4 * twice.phi3[k] - 0.5 * (half.phi1[k] + 1) * half.phi2[k];
    }
  }
  return answers_[times];
}

// What drives the nodes whatever their temperatures.
void NetworkSolver::add_surroundings(const Drive& drive, Values& watts) const {
  for (const Radiator& link : radiators_)
    watts[link.node] += link.strength * fourth_power(drive.sinks[link.sink]);
  for (const Contact& link : contacts_) watts[link.node] += link.conductance * drive.sinks[link.sink];
}

// How radiation differs from the conductances that stand for it, W.
void NetworkSolver::find_curvature(const Values& temperatures, Values& watts) {
  std::fill(watts.begin(), watts.end(), 0.0);
  for (std::size_t i = 0; i < size_; ++i) fourth_[i] = fourth_power(temperatures[i]);
  for (const Exchange& link : exchanges_) {
    const double flow = link.strength * (fourth_[link.other] - fourth_[link.node]) -
                        link.conductance * (temperatures[link.other] - temperatures[link.node]);
    watts[link.node] += flow;
    watts[link.other] -= flow;
  }
  for (const Radiator& link : radiators_) {
    watts[link.node] += link.conductance * temperatures[link.node] - link.strength * fourth_[link.node];
  }
}

// The same, differentiated by time, W/s.
void NetworkSolver::find_curvature_rate(const Values& temperatures, const Values& rates, Values& watts) {
  std::fill(watts.begin(), watts.end(), 0.0);
  for (std::size_t i = 0; i < size_; ++i) fourth_[i] = 4 * cube(temperatures[i]) * rates[i];
  for (const Exchange& link : exchanges_) {
    const double flow = link.strength * (fourth_[link.other] - fourth_[link.node]) -
                        link.conductance * (rates[link.other] - rates[link.node]);
    watts[link.node] += flow;
    watts[link.other] -= flow;
  }
  for (const Radiator& link : radiators_) {
    watts[link.node] += link.conductance * rates[link.node] - link.strength * fourth_[link.node];
  }
}

// The heat that a spread allows on top at the time, W; `fourth_` holds the nodes' temperatures.
void NetworkSolver::add_surcharge(const Drive& drive, const Values& temperatures, Surcharge& surcharge,
                                  Values& watts) {
  Values& net = surcharge.net;
  Values& extra = surcharge.links;
  std::copy(drive.heat.begin(), drive.heat.end(), net.begin());
  std::fill(extra.begin(), extra.end(), 0.0);
  double* difference = surcharge.differences.data();
  const auto between = [&](const auto& link, double x) {
    *difference++ = x;
    const double on_top = link.spread * std::abs(x);
    extra[link.node] += on_top;
    extra[link.other] += on_top;
  };
  for (const Exchange& link : exchanges_) {
    const double x = fourth_[link.other] - fourth_[link.node];
    net[link.node] += link.strength * x;
    net[link.other] -= link.strength * x;
    between(link, x);
  }
  for (const Radiator& link : radiators_) {
    const double x = fourth_power(drive.sinks[link.sink]) - fourth_[link.node];
    net[link.node] += link.strength * x;
    extra[link.node] += link.spread * std::abs(x);
    *difference++ = x;
  }
  for (const Contact& link : contacts_) {
    const double x = drive.sinks[link.sink] - temperatures[link.node];
    net[link.node] += link.conductance * x;
    extra[link.node] += link.spread * std::abs(x);
    *difference++ = x;
  }
  for (const Tie& link : ties_) {
    const double x = temperatures[link.other] - temperatures[link.node];
    net[link.node] += link.conductance * x;
    net[link.other] -= link.conductance * x;
    between(link, x);
  }
  for (std::size_t i = 0; i < size_; ++i) {
    net[i] += spread_.direction * extra[i];
    watts[i] += spread_.direction * (extra[i] + spread_.capacities[i] * std::abs(net[i]));
  }
}

// Where a flow turns round within the step its surcharge has a kink, which the quadratic would cut off below:
// its value in the middle is taken no lower than the chord's.
void NetworkSolver::lift_kinks(Values& watts) {
  const auto lift = [](double first, double middle, double last) {
    return first * last < 0 ? std::max(0.0, 0.5 * (std::abs(first) + std::abs(last)) - std::abs(middle)) : 0;
  };
  std::fill(lifted_.begin(), lifted_.end(), 0.0);
  std::size_t k = 0;
  const auto next = [&](double spread) {
    const double by = spread * lift(surcharges_[0].differences[k], surcharges_[1].differences[k],
                                    surcharges_[2].differences[k]);
    ++k;
    return by;
  };
  for (const Exchange& link : exchanges_) {
    const double by = next(link.spread);
    lifted_[link.node] += by;
    lifted_[link.other] += by;
  }
  for (const Radiator& link : radiators_) lifted_[link.node] += next(link.spread);
  for (const Contact& link : contacts_) lifted_[link.node] += next(link.spread);
  for (const Tie& link : ties_) {
    const double by = next(link.spread);
    lifted_[link.node] += by;
    lifted_[link.other] += by;
  }
  for (std::size_t i = 0; i < size_; ++i) {
    const double by =
        lifted_[i] * (1 + spread_.capacities[i]) +
        spread_.capacities[i] * lift(surcharges_[0].net[i], surcharges_[1].net[i], surcharges_[2].net[i]);
    watts[i] += spread_.direction * by;
  }
}

// K: what a quadratic misses of the remainder, from its slope at the begin. A remainder off by a cubic that
// vanishes at begin, middle and end and has the slope 1 reaches 0.096, its integral 1/32.
double NetworkSolver::missed_by_quadratic() {
  const Values& rates = point(0).rates;
  find_curvature_rate(begin_, rates, watts_);
  if (spread_.direction != 0) {
    // The surcharge's slope by a difference, ahead along the course.
    const double ahead = 1e-3 * h_;
    for (std::size_t i = 0; i < size_; ++i) {
      work_[i] = begin_[i] + ahead * rates[i];
      fourth_[i] = fourth_power(work_[i]);
    }
    std::fill(later_watts_.begin(), later_watts_.end(), 0.0);
    add_surcharge(drives_[0], work_, surcharges_[3], later_watts_);
    for (std::size_t i = 0; i < size_; ++i) {
      const double now = spread_.direction *
                         (surcharges_[0].links[i] + spread_.capacities[i] * std::abs(surcharges_[0].net[i]));
      watts_[i] += (later_watts_[i] - now) / ahead;
    }
  }
  double worst = 0;
  for (std::size_t i = 0; i < size_; ++i) {
    const double slope = 4 * curvatures_[1][i] - 3 * curvatures_[0][i] - curvatures_[2][i];
    const double off = std::abs(h_ * watts_[i] - slope);
    defect_[i] += 0.096 * off;
    worst = std::max(worst, off * std::min(h_ / (32 * network_->capacities[i]), 0.096 / conductance_of_[i]));
  }
  return worst;
}

// At the step's middle and end, from the temperatures of the pass before.
void NetworkSolver::find_later_remainders() {
  find_heat(1, middle_, watts_);
  find_heat(2, end_, later_watts_);
  if (spread_.direction != 0) {
    std::copy(watts_.begin(), watts_.end(), work_.begin());
    lift_kinks(watts_);
    // The curvature is what of the remainder bends with the temperatures.
    for (std::size_t i = 0; i < size_; ++i) curvatures_[1][i] += watts_[i] - work_[i];
  }
  modes_.to_drive(watts_, remainders_[1], later_watts_, remainders_[2]);
}

double NetworkSolver::step(double h, const std::vector<double>& temperatures, std::vector<double>& result) {
  begin_at(temperatures);
  weigh(h);
  parts_.clear();
  const bool spreads = spread_.direction != 0;
  const bool curved = !exchanges_.empty() || !radiators_.empty() || spreads;
  const bool steady = drives_[0] == drives_[1] && drives_[0] == drives_[2];
  find_remainder(0, begin_);
  middle_ = begin_;
  end_ = begin_;
  double change = 0;
  const int most = spreads ? most_passes : curved ? passes : 1;
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
    change = 0;
    for (std::size_t i = 0; i < size_; ++i) {
      change =
          std::max({change, std::abs(middle_[i] - before_middle_[i]), std::abs(end_[i] - before_end_[i])});
    }
    // What the next pass would still change is a small share of what this one has.
    if (pass > 0 && !(change > 0.1 * tolerance_)) break;
  }
  find_bends();
  result.assign(end_.begin(), end_.begin() + static_cast<std::ptrdiff_t>(size_));
  for (const double kelvin : result) {
    if (!std::isfinite(kelvin) || kelvin < 0) return 1e9;
  }
  if (!curved) return 0;
  // A remainder taken at temperatures off by so much.
  for (std::size_t i = 0; i < size_; ++i) {
    defect_[i] = (linear_within * 3 + sensitivity_[i]) * conductance_of_[i] *
                 std::max(std::abs(middle_[i] - before_middle_[i]), std::abs(end_[i] - before_end_[i]));
  }
  return std::max(change, missed_by_quadratic()) / tolerance_;
}

// What drives the nodes at the step's begin (0), middle (1) or end (2) besides the linear flows.
void NetworkSolver::find_heat(std::size_t time, const Values& temperatures, Values& watts) {
  const Drive& drive = drives_[time];
  std::copy(drive.heat.begin(), drive.heat.end(), watts.begin());
  add_surroundings(drive, watts);
  Values& curvature = curvatures_[time];
  find_curvature(temperatures, curvature);
  if (spread_.direction != 0) add_surcharge(drive, temperatures, surcharges_[time], curvature);
  for (std::size_t i = 0; i < size_; ++i) watts[i] += curvature[i];
}

void NetworkSolver::find_remainder(std::size_t time, const Values& temperatures) {
  find_heat(time, temperatures, watts_);
  modes_.to_drive(watts_, remainders_[time]);
}

void NetworkSolver::displace(Values& displaced, const Values& watts) {
  modes_.to_drive(watts, work_);
  const Answers& whole = halved(0);
  for (std::size_t k = 0; k < size_; ++k) {
    displaced[k] = whole.decay[k] * displaced[k] + h_ * whole.phi1[k] * work_[k];
  }
}

// The quadratic through the three remainders, and what the modes make of it by the middle and the end.
void NetworkSolver::answer_remainder() {
  const Answers& half = halved(1);
  const Answers& whole = halved(0);
  for (std::size_t k = 0; k < size_; ++k) {
    const double first = remainders_[0][k];
    const double middle = remainders_[1][k];
    const double last = remainders_[2][k];
    const double linear = 4 * middle - 3 * first - last;
    const double quadratic = 2 * (first - 2 * middle + last);
    forcing_[0][k] = first;
    forcing_[1][k] = linear;
    forcing_[2][k] = quadratic;
    middle_modes_[k] =
        half.decay[k] * begin_modes_[k] +
        h_ / 2 * (half.phi1[k] * first + half.phi2[k] * linear / 2 + half.phi3[k] * quadratic / 2);
    end_modes_[k] = whole.decay[k] * begin_modes_[k] +
                    h_ * (whole.phi1[k] * first + whole.phi2[k] * linear + whole.phi3[k] * 2 * quadratic);
  }
  modes_.to_temperatures(middle_modes_, middle_, end_modes_, end_);
}

// The answers to the constant, the linear and the quadratic part each grow from 0 to their value without
// turning back, so none strays from its chord by more than that value; nor by more than an eighth of its
// second derivative (for the quadratic part, 2/sqrt(243)).
void NetworkSolver::find_bends() {
  const Answers& whole = halved(0);
  for (std::size_t k = 0; k < size_; ++k) {
    const double rate = modes_.rates()[k];
    const double constant = whole.phi1[k] * (forcing_[0][k] - rate * begin_modes_[k]);
    work_[k] = h_ * (std::abs(constant) * std::min(1.0, rate * h_ / (8 * whole.phi1[k])) +
                     std::abs(forcing_[1][k]) * std::min(whole.phi2[k], 0.125) +
                     std::abs(forcing_[2][k]) * std::min(2 * whole.phi3[k], 0.1284));
  }
  modes_.to_bounds(work_, bend_);
}

const NetworkSolver::Point& NetworkSolver::point(double part) {
  for (std::size_t i = 0; i < parts_.size(); ++i) {
    if (parts_[i] == part) return points_[i];
  }
  // A part that halving leads to is one short step on from a coarser one; any other, one from the begin.
  std::size_t halvings = 0;
  for (double odd = part; halvings <= most_halvings && odd != std::floor(odd); odd *= 2) ++halvings;
  const double length = halvings <= most_halvings ? std::ldexp(1.0, -static_cast<int>(halvings)) : part;
  const Point* from =
      part == 0 || part == 0.5 || part == 1 || length == part ? nullptr : &point(part - length);
  if (parts_.size() == points_.size()) {
    points_.push_back({Values(padded_), Values(padded_), false, Values(padded_), Values(padded_)});
  }
  Point& made = points_[parts_.size()];
  parts_.push_back(part);
  if (part == 0 || part == 1) {
    made.modes = part == 0 ? begin_modes_ : end_modes_;
  } else if (part == 0.5) {
    made.modes = middle_modes_;
  } else {
    const Values& before = from == nullptr ? begin_modes_ : from->modes;
    const double gone = part - length;
    const double t = length * h_;
    const Answers* table = halvings <= most_halvings ? &halved(halvings) : nullptr;
    for (std::size_t k = 0; k < size_; ++k) {
      const Answer a = table == nullptr
                           ? answer(modes_.rates()[k] * t)
                           : Answer{table->decay[k], table->phi1[k], table->phi2[k], table->phi3[k], 0};
      const double constant = forcing_[0][k] + gone * (forcing_[1][k] + gone * forcing_[2][k]);
      const double linear = length * (forcing_[1][k] + 2 * gone * forcing_[2][k]);
      const double quadratic = length * length * forcing_[2][k];
      made.modes[k] =
          a.decay * before[k] + t * (a.phi1 * constant + a.phi2 * linear + 2 * a.phi3 * quadratic);
    }
  }
  for (std::size_t k = 0; k < size_; ++k) {
    made.slopes[k] =
        forcing_[0][k] + part * (forcing_[1][k] + part * forcing_[2][k]) - modes_.rates()[k] * made.modes[k];
  }
  made.has_nodes = part == 0 || part == 0.5 || part == 1;
  if (made.has_nodes) {
    made.temperatures = part == 0 ? begin_ : part == 1 ? end_ : middle_;
    modes_.to_temperatures(made.slopes, made.rates);
  }
  return made;
}

NetworkSolver::Reading NetworkSolver::at(std::size_t node, double part) {
  const Point& here = point(part);
  if (here.has_nodes) return {here.temperatures[node], here.rates[node]};
  const double* shares = modes_.node(node);
  constexpr std::size_t block = BlockMatrix::block;
  double kelvin[block] = {};
  double rate[block] = {};
  for (std::size_t k = 0; k < padded_; k += block) {
    for (std::size_t i = 0; i < block; ++i) {
      kelvin[i] += shares[k + i] * here.modes[k + i];
      rate[i] += shares[k + i] * here.slopes[k + i];
    }
  }
  return {(kelvin[0] + kelvin[1]) + (kelvin[2] + kelvin[3]), (rate[0] + rate[1]) + (rate[2] + rate[3])};
}

double NetworkSolver::energy_in() const {
  const auto sum = [](const Drive& drive) {
    double watts = 0;
    for (const double heat : drive.heat) watts += heat;
    return watts;
  };
  return h_ / 6 * (sum(drives_[0]) + 4 * sum(drives_[1]) + sum(drives_[2]));
}

// W that leave through the sinks, less what the conductances say of temperatures counted from 0 K.
double NetworkSolver::beyond_linear(const Drive& drive, const Values& temperatures) const {
  double watts = 0;
  for (const Radiator& link : radiators_) {
    const double here = temperatures[link.node];
    watts +=
        link.strength * (fourth_power(here) - fourth_power(drive.sinks[link.sink])) - link.conductance * here;
  }
  for (const Contact& link : contacts_) watts -= link.conductance * drive.sinks[link.sink];
  return watts;
}

double NetworkSolver::energy_out() {
  // The linear part in full, however fast it goes; the rest is smooth. From the temperatures, not from the
  // stages, so that the account is a check of the step.
  const Answers& whole = halved(0);
  double linear = 0;
  for (std::size_t k = 0; k < size_; ++k) {
    linear += sink_coupling_[k] * (whole.phi1[k] * begin_modes_[k] +
                                   h_ * (whole.phi2[k] * forcing_[0][k] + whole.phi3[k] * forcing_[1][k] +
                                         2 * whole.phi4[k] * forcing_[2][k]));
  }
  return h_ * (linear + (beyond_linear(drives_[0], begin_) + 4 * beyond_linear(drives_[1], middle_) +
                         beyond_linear(drives_[2], end_)) /
                            6);
}

}  // namespace cairn
