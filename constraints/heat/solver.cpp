// The exponential step, what lies within it, and its account of energy.

#include "constraints/heat/solver.h"

#include <algorithm>
#include <cmath>

namespace cairn {

namespace {

constexpr double sigma = 5.670374419e-8;  // W m-2 K-4, CODATA 2018
constexpr double linear_within = 0.02;    // of the absolute temperature

double cube(double x) { return x * x * x; }
double fourth_power(double x) { return (x * x) * (x * x); }

// decay = e^-x and phi_k = integral over (0, 1) of e^(-x (1 - s)) s^(k-1) / (k-1)!: how a mode that relaxes
// with x = rate times time answers what is constant, linear, quadratic and cubic in time.
struct Answers {
  double decay, phi1, phi2, phi3, phi4;
};

Answers answers(double x) {
  Answers a;
  if (x < 1) {  // the quotients below would lose digits
    // phi4 = 1/4! - x/5! + x^2/6! - ..., innermost term first.
    constexpr double inverses[] = {1.0 / 17, 1.0 / 16, 1.0 / 15, 1.0 / 14, 1.0 / 13, 1.0 / 12, 1.0 / 11,
                                   1.0 / 10, 1.0 / 9,  1.0 / 8,  1.0 / 7,  1.0 / 6,  1.0 / 5,  1.0 / 24};
    double sum = 0;
    for (const double inverse : inverses) sum = (1 - x * sum) * inverse;
    a.phi4 = sum;
    a.phi3 = 1.0 / 6 - x * a.phi4;
    a.phi2 = 0.5 - x * a.phi3;
    a.phi1 = 1 - x * a.phi2;
    a.decay = 1 - x * a.phi1;
  } else {
    a.decay = std::exp(-x);
    a.phi1 = (1 - a.decay) / x;
    a.phi2 = (1 - a.phi1) / x;
    a.phi3 = (0.5 - a.phi2) / x;
    a.phi4 = (1.0 / 6 - a.phi3) / x;
  }
  return a;
}

}  // namespace

NetworkSolver::NetworkSolver(const Network& network, double tolerance)
    : network_(&network), tolerance_(tolerance), size_(network.capacities.size()), modes_(size_) {
  radiates_.resize(size_);
  for (std::size_t k = 0; k < network.links.size(); ++k) {
    const NetworkLink& link = network.links[k];
    if (link.radiative) {
      radiates_[link.node] = 1;
      if (link.to_sink) {
        radiators_.push_back({link.node, link.other, k, sigma * link.value});
      } else {
        radiates_[link.other] = 1;
        exchanges_.push_back({link.node, link.other, k, sigma * link.value});
      }
    } else if (link.to_sink) {
      contacts_.push_back({link.node, link.other, link.value});
    }
  }
  const std::size_t padded = BlockMatrix::padded(size_);
  for (Values* values : {&linear_at_, &sink_coupling_, &begin_, &end_, &begin_modes_, &end_modes_, &decay_,
                         &phi1_, &phi2_, &phi3_, &phi4_, &half_decay_, &half_phi1_, &reach_, &stage_,
                         &stage_modes_, &watts_, &fourth_, &work_}) {
    values->resize(padded);
  }
  for (Values& values : forcing_) values.resize(padded);
  for (Values& values : stages_) values.resize(padded);
}

// Conductances from the slopes of the radiative links where the step begins.
void NetworkSolver::linearise() {
  const auto slope = [&](std::size_t node) { return 4 * cube(begin_[node]); };
  std::vector<double> conductances(network_->links.size());
  for (std::size_t k = 0; k < conductances.size(); ++k) conductances[k] = network_->links[k].value;
  Values to_sinks(size_);
  for (Exchange& link : exchanges_) {
    link.conductance = conductances[link.link] = link.strength * 0.5 * (slope(link.node) + slope(link.other));
  }
  for (Radiator& link : radiators_) {
    link.conductance = conductances[link.link] = link.strength * slope(link.node);
    to_sinks[link.node] += link.conductance;
  }
  for (const Contact& link : contacts_) to_sinks[link.node] += link.conductance;
  modes_.find(*network_, conductances);
  modes_.to_drive(to_sinks, sink_coupling_);
  linear_at_ = begin_;
  linearised_ = true;
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
  for (std::size_t k = 0; k < size_; ++k) {
    const Answers a = answers(modes_.rates()[k] * h);
    decay_[k] = a.decay;
    phi1_[k] = a.phi1;
    phi2_[k] = a.phi2;
    phi3_[k] = a.phi3;
    phi4_[k] = a.phi4;
    half_decay_[k] = std::sqrt(a.decay);
    half_phi1_[k] = 2 * a.phi1 / (1 + half_decay_[k]);
  }
}

// What drives the nodes whatever their temperatures.
void NetworkSolver::add_surroundings(const Drive& drive, Values& watts) const {
  for (const Radiator& link : radiators_)
    watts[link.node] += link.strength * fourth_power(drive.sinks[link.sink]);
  for (const Contact& link : contacts_) watts[link.node] += link.conductance * drive.sinks[link.sink];
}

// How radiation differs from the conductances that stand for it.
void NetworkSolver::add_curvature(const Values& temperatures, Values& watts) {
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

double NetworkSolver::step(double h, const std::vector<double>& temperatures, std::vector<double>& result) {
  begin_at(temperatures);
  weigh(h);
  point_count_ = 0;
  const auto drive_modes = [&](std::size_t stage, const Values& kelvin) {
    std::copy(drives_[stage].heat.begin(), drives_[stage].heat.end(), watts_.begin());
    add_surroundings(drives_[stage], watts_);
    add_curvature(kelvin, watts_);
    modes_.to_drive(watts_, stages_[stage]);
  };
  Values& first = stages_[0];
  Values& middle = stages_[1];
  Values& last = stages_[2];
  drive_modes(0, begin_);
  for (std::size_t k = 0; k < size_; ++k) {
    stage_modes_[k] = half_decay_[k] * begin_modes_[k] + 0.5 * h * half_phi1_[k] * first[k];
  }
  modes_.to_temperatures(stage_modes_, stage_);
  drive_modes(1, stage_);
  for (std::size_t k = 0; k < size_; ++k) {
    stage_modes_[k] = decay_[k] * begin_modes_[k] + h * phi1_[k] * (2 * middle[k] - first[k]);
  }
  modes_.to_temperatures(stage_modes_, stage_);
  drive_modes(2, stage_);

  for (std::size_t k = 0; k < size_; ++k) {
    forcing_[0][k] = first[k];
    forcing_[1][k] = 4 * middle[k] - 3 * first[k] - last[k];
    forcing_[2][k] = 2 * (first[k] - 2 * middle[k] + last[k]);
    // Each of these three grows from 0 to its value without turning back.
    const double constant = h * phi1_[k] * (forcing_[0][k] - modes_.rates()[k] * begin_modes_[k]);
    const double linear = h * phi2_[k] * forcing_[1][k];
    const double quadratic = h * 2 * phi3_[k] * forcing_[2][k];
    end_modes_[k] = begin_modes_[k] + constant + linear + quadratic;
    work_[k] = 0.5 * (std::abs(constant) + std::abs(linear) + std::abs(quadratic));
  }
  modes_.to_temperatures(end_modes_, end_);
  modes_.to_bounds(work_, reach_);

  // The error: what the quadratic adds to the linear course of the remainder, and what one more turn would
  // change.
  std::fill(watts_.begin(), watts_.end(), 0.0);
  add_curvature(stage_, watts_);
  for (double& watts : watts_) watts = -watts;
  add_curvature(end_, watts_);
  modes_.to_drive(watts_, work_);
  for (std::size_t k = 0; k < size_; ++k) {
    stage_modes_[k] = h * ((2 * phi3_[k] - phi2_[k]) * forcing_[2][k] + (4 * phi3_[k] - phi2_[k]) * work_[k]);
  }
  modes_.to_temperatures(stage_modes_, stage_);

  result.resize(size_);
  double error = 0;
  for (std::size_t i = 0; i < size_; ++i) {
    result[i] = end_[i];
    error = std::max(error, std::abs(stage_[i]) / tolerance_);
    if (!std::isfinite(result[i]) || result[i] < 0) return 1e9;
  }
  return error;
}

const NetworkSolver::Point& NetworkSolver::point(double part) {
  for (std::size_t i = 0; i < point_count_; ++i) {
    if (points_[i].part == part) return points_[i];
  }
  if (point_count_ == points_.size()) points_.push_back({0, Values(size_), Values(size_)});
  Point& made = points_[point_count_++];
  made.part = part;
  const double t = part * h_;
  for (std::size_t k = 0; k < size_; ++k) {
    const double rate = modes_.rates()[k];
    const double linear = part * forcing_[1][k];
    const double quadratic = part * part * forcing_[2][k];
    if (part == 0 || part == 1) {
      made.modes[k] = part == 0 ? begin_modes_[k] : end_modes_[k];
    } else {
      const Answers a = answers(rate * t);
      made.modes[k] = a.decay * begin_modes_[k] +
                      t * (a.phi1 * forcing_[0][k] + a.phi2 * linear + 2 * a.phi3 * quadratic);
    }
    made.slopes[k] = forcing_[0][k] + linear + quadratic - rate * made.modes[k];
  }
  return made;
}

NetworkSolver::Reading NetworkSolver::at(std::size_t node, double part) {
  const Point& here = point(part);
  const double* shares = modes_.node(node);
  Reading reading;
  for (std::size_t k = 0; k < size_; ++k) {
    reading.temperature += shares[k] * here.modes[k];
    reading.rate += shares[k] * here.slopes[k];
  }
  return reading;
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
  double linear = 0;
  for (std::size_t k = 0; k < size_; ++k) {
    linear += sink_coupling_[k] *
              (phi1_[k] * begin_modes_[k] +
               h_ * (phi2_[k] * forcing_[0][k] + phi3_[k] * forcing_[1][k] + 2 * phi4_[k] * forcing_[2][k]));
  }
  std::copy(point(0.5).modes.begin(), point(0.5).modes.end(), stage_modes_.begin());
  modes_.to_temperatures(stage_modes_, stage_);
  return h_ * (linear + (beyond_linear(drives_[0], begin_) + 4 * beyond_linear(drives_[1], stage_) +
                         beyond_linear(drives_[2], end_)) /
                            6);
}

}  // namespace cairn
