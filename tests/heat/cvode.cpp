// The reference solver's door: its own right-hand side, written apart from the solver under test.

#include "tests/heat/cvode.h"

#include <cvode/cvode.h>
#include <nvector/nvector_serial.h>
#include <sundials/sundials_context.h>
#include <sunlinsol/sunlinsol_dense.h>
#include <sunmatrix/sunmatrix_dense.h>

#include <cmath>
#include <stdexcept>

namespace cairn {

struct CvodeReference::Handles {
  SUNContext context = nullptr;
  N_Vector state = nullptr;
  SUNMatrix matrix = nullptr;
  SUNLinearSolver linear = nullptr;
  void* memory = nullptr;
  const Network* network = nullptr;
  const Drive* drive = nullptr;
};

namespace {

void must(int flag) {
  if (flag < 0) throw std::runtime_error("CVODE failed with flag " + std::to_string(flag));
}

// W into each node, then divided by its capacity.
void find_rates(const Network& network, const Drive& drive, const double* t, double* out) {
  constexpr double sigma = 5.670374419e-8;  // CODATA 2018
  const std::size_t n = network.capacities.size();
  for (std::size_t i = 0; i < n; ++i) out[i] = drive.heat[i];
  for (const NetworkLink& link : network.links) {
    const double a = t[link.node];
    const double b = link.to_sink ? drive.sinks[link.other] : t[link.other];
    const double watts =
        link.radiative ? sigma * link.value * (std::pow(b, 4) - std::pow(a, 4)) : link.value * (b - a);
    out[link.node] += watts;
    if (!link.to_sink) out[link.other] -= watts;
  }
  for (std::size_t i = 0; i < n; ++i) out[i] /= network.capacities[i];
}

}  // namespace

CvodeReference::CvodeReference(const Network& network, std::vector<double> temperatures, double relative,
                               double absolute)
    : handles_(new Handles), temperatures_(std::move(temperatures)) {
  Handles& h = *handles_;
  h.network = &network;
  must(SUNContext_Create(nullptr, &h.context));
  const auto n = static_cast<sunindextype>(temperatures_.size());
  h.state = N_VMake_Serial(n, temperatures_.data(), h.context);
  h.matrix = SUNDenseMatrix(n, n, h.context);
  h.linear = SUNLinSol_Dense(h.state, h.matrix, h.context);
  h.memory = CVodeCreate(CV_BDF, h.context);
  const CVRhsFn function = [](realtype, N_Vector y, N_Vector out, void* user) {
    const Handles& view = *static_cast<Handles*>(user);
    find_rates(*view.network, *view.drive, N_VGetArrayPointer(y), N_VGetArrayPointer(out));
    return 0;
  };
  must(CVodeInit(h.memory, function, 0, h.state));
  must(CVodeSStolerances(h.memory, relative, absolute));
  must(CVodeSetLinearSolver(h.memory, h.linear, h.matrix));
  must(CVodeSetUserData(h.memory, &h));
  must(CVodeSetMaxNumSteps(h.memory, 1'000'000));
}

CvodeReference::~CvodeReference() {
  CVodeFree(&handles_->memory);
  SUNLinSolFree(handles_->linear);
  SUNMatDestroy(handles_->matrix);
  N_VDestroy(handles_->state);
  SUNContext_Free(&handles_->context);
  delete handles_;
}

void CvodeReference::restart(const Drive& drive, double from, double to) {
  handles_->drive = &drive;
  reached_ = from;
  must(CVodeReInit(handles_->memory, from, handles_->state));
  must(CVodeSetStopTime(handles_->memory, to));
}

std::vector<double> CvodeReference::rates() const {
  std::vector<double> out(temperatures_.size());
  find_rates(*handles_->network, *handles_->drive, temperatures_.data(), out.data());
  return out;
}

void CvodeReference::go_on(double until) {
  must(CVode(handles_->memory, until, handles_->state, &reached_, CV_NORMAL));
}

}  // namespace cairn
