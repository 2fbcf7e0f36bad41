// The two questions, answered from the sensor's bounds.

#include "constraints/heat/may_be.h"

namespace cairn {

namespace {

// An event is located as closely as this, K.
constexpr double hair = 1e-5;
constexpr double left = 3 * hair;
constexpr double least_dwell = 1;  // s

}  // namespace

MayBe::MayBe(const Timeline& timeline, const Heater& heater, bool may_be_on, bool may_be_off)
    : heater_(&heater),
      possible_(timeline, heater.enabled_while, Condition::Reading::Possible),
      sure_(timeline, heater.enabled_while, Condition::Reading::Sure),
      may_be_on_(may_be_on),
      may_be_off_(may_be_off) {}

void MayBe::enter(Instant time) {
  possible_.enter(time);
  sure_.enter(time);
}

void MayBe::set_fastest(double fastest) {
  const double gap = heater_->off_above.low - heater_->on_below.high;
  const double slip = fastest * least_dwell;
  if (gap > slip || slip <= slip_) return;
  // In a few large steps, never back: thresholds that move would be met again and again.
  slip_ = 1.5 * slip;
  upper_holds_ = lower_holds_ = false;
}

void MayBe::settle(double low, double high, double off) {
  const Heater& heater = *heater_;
  if (!possible_.holds()) {
    may_be_on_ = false;
    may_be_off_ = true;
  } else {
    if (low - off <= heater.on_below.high + hair) may_be_on_ = true;
    if (low - off >= heater.off_above.high - hair) may_be_on_ = false;
    if (high + off >= heater.off_above.low - hair) may_be_off_ = true;
    if (sure_.holds() && high + off <= heater.on_below.low + hair) may_be_off_ = false;
    if (!sure_.holds()) may_be_off_ = true;
    if (is_loose()) may_be_on_ = may_be_off_ = true;
    // Bounds that exclude both exclude everything: rounding at a threshold.
    if (!may_be_on_ && !may_be_off_) may_be_off_ = true;
  }
  settle_heating(low, high);
}

// Each regime begins within a hair of its threshold and is left three hairs behind it, always on the safe
// side, so that none is left where it began.
void MayBe::settle_heating(double low, double high) {
  const bool upper_known = upper_holds_;
  upper_holds_ = may_be_on_ && own_sensor();
  if (!may_be_on_) {
    upper_ = Heating::None;
  } else if (!own_sensor()) {
    upper_ = Heating::Full;
  } else {
    const double from = upper_hold();
    const double to = from + hold_width;
    if (!upper_known) {
      upper_ = high < from ? Heating::Full : high < to ? Heating::Held : Heating::None;
    } else if (high >= to - hair) {
      upper_ = Heating::None;
    } else if (upper_ == Heating::Full ? high >= from - hair : high > from - left) {
      if (upper_ != Heating::None || high <= to - left + hair) upper_ = Heating::Held;
    } else {
      upper_ = Heating::Full;
    }
  }
  const bool lower_known = lower_holds_;
  lower_holds_ = may_be_off_ && own_sensor() && sure_.holds();
  if (!may_be_off_) {
    lower_ = Heating::Full;
  } else if (!lower_holds_) {
    lower_ = Heating::None;
  } else {
    const double from = lower_hold();
    const double to = from - hold_width;
    if (!lower_known) {
      lower_ = low > from ? Heating::None : low > to ? Heating::Held : Heating::Full;
    } else if (low <= to + hair) {
      lower_ = Heating::Full;
    } else if (lower_ == Heating::None ? low <= from + hair : low < from + left) {
      if (lower_ != Heating::Full || low >= to + left - hair) lower_ = Heating::Held;
    } else {
      lower_ = Heating::None;
    }
  }
}

MayBe::Levels MayBe::upper_levels(bool upwards, double off) const {
  Levels levels;
  if (!possible_.holds()) return levels;
  if (upwards) {
    if (!may_be_off_) levels.add(heater_->off_above.low - off);
    if (own_sensor() && upper_ == Heating::Full) levels.add(upper_hold());
    if (own_sensor() && upper_ == Heating::Held) levels.add(upper_hold() + hold_width);
  } else {
    if (may_be_off_ && sure_.holds() && !is_loose()) levels.add(heater_->on_below.low - off);
    if (own_sensor() && upper_ == Heating::Held) levels.add(upper_hold() - left);
    if (own_sensor() && upper_ == Heating::None && may_be_on_) levels.add(upper_hold() + hold_width - left);
  }
  return levels;
}

MayBe::Levels MayBe::lower_levels(bool upwards, double off) const {
  Levels levels;
  if (!possible_.holds()) return levels;
  if (upwards) {
    if (may_be_on_ && !is_loose()) levels.add(heater_->off_above.high + off);
    if (lower_ == Heating::Held) levels.add(lower_hold() + left);
    if (lower_holds_ && lower_ == Heating::Full) levels.add(lower_hold() - hold_width + left);
  } else {
    if (!may_be_on_) levels.add(heater_->on_below.high + off);
    if (lower_holds_ && lower_ == Heating::None) levels.add(lower_hold());
    if (lower_ == Heating::Held) levels.add(lower_hold() - hold_width);
  }
  return levels;
}

}  // namespace cairn
