// The reserve and the charge at their worst inside the bounds: sources low, loads high, every heater on that
// may be.

#include <algorithm>

#include "constraints/power/charge_watch.h"
#include "constraints/power/load_steps.h"
#include "constraints/power/power.h"

namespace cairn {

namespace {

class Guarantee {
 public:
  Guarantee(const PowerInput& input, PowerResult& result)
      : input_(input), station_(*input.station), result_(result), source_(station_, input.solar) {
    if (!station_.power.storage) return;
    const double least = input.charge ? input.charge->least : station_.power.storage->initial.low;
    storage_.emplace(*station_.power.storage, Bound::Low, least, station_.clock.rate_error);
  }

  void judge() {
    Finding& finding = result_.finding;
    finding.assurance = Assurance::Guaranteed;
    const std::vector<Instant> cuts = supply_cuts(station_, *input_.timeline, input_.solar);
    for (const LoadStep& step :
         load_steps(station_, *input_.timeline, *input_.may_be_on, Bound::High, cuts)) {
      add(step);
    }
    if (finding.has_guaranteed && finding.guaranteed_margin < 0 && finding.verdict == Verdict::Holds) {
      finding.verdict = Verdict::Unproven;
      finding.interval_begin = first_;
      finding.interval_end = last_;
    }
    if (storage_) judge_storage(*result_.storage);
  }

 private:
  void add(const LoadStep& step) {
    source_.enter(step.begin);
    const double needed = source_draw(station_.power, step.load, Bound::Low);
    if (!storage_) {
      part(step.begin, step.end, step.load, needed, 0);
      return;
    }
    // The chord of an isotope's decay lies above it, by less than this in a day.
    constexpr double below_chord = 1 - 1e-9;
    const double first = below_chord * source_.at(step.begin, Bound::Low) - needed;
    const double last = below_chord * source_.at(step.end, Bound::Low) - needed;
    for (const ChargeWatch::Part& each : storage_->advance(step.begin, step.end, first, last)) {
      part(each.begin, each.end, step.load, needed, each.available);
    }
  }

  void part(Instant begin, Instant end, double load, double needed, double available) {
    Finding& finding = result_.finding;
    for (const Instant time : {begin, end}) {
      const double source = source_.at(time, Bound::Low);
      const double reserve = source + available - needed;
      result_.guaranteed.push_back({time, source, load, reserve});
      const double margin = reserve - station_.power.reserve_floor;
      if (!finding.has_guaranteed || margin < finding.guaranteed_margin) {
        finding.has_guaranteed = true;
        finding.guaranteed_margin = margin;
        finding.guaranteed_value = reserve;
        finding.guaranteed_limit = station_.power.reserve_floor;
        finding.guaranteed_time = time;
      }
      if (margin >= 0) continue;
      if (!crossed_) first_ = begin;
      crossed_ = true;
      last_ = end;
    }
  }

  void judge_storage(Finding& finding) {
    finding.assurance = Assurance::Guaranteed;
    result_.least_charge = storage_->points();
    result_.end_charge->least = std::min(result_.end_charge->nominal, storage_->charge());
    if (!storage_->least()) return;
    finding.has_guaranteed = true;
    finding.guaranteed_margin = storage_->margin();
    finding.guaranteed_value = storage_->least()->charge;
    finding.guaranteed_limit = station_.power.storage->floor;
    finding.guaranteed_time = storage_->least()->time;
    if (finding.guaranteed_margin >= 0 || finding.verdict != Verdict::Holds) return;
    finding.verdict = Verdict::Unproven;
    finding.interval_begin = storage_->first_below();
    finding.interval_end = storage_->last_below();
  }

  const PowerInput& input_;
  const Station& station_;
  PowerResult& result_;
  SourceReader source_;
  std::optional<ChargeWatch> storage_;
  bool crossed_ = false;
  Instant first_;
  Instant last_;
};

}  // namespace

void bound_power(const PowerInput& input, PowerResult& result) { Guarantee(input, result).judge(); }

}  // namespace cairn
