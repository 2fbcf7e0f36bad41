// A thermostat whose temperature is known only between two bounds: may it be on, may it be off?
//
// With hysteresis a thermostat may go on once its sensor may be at `on_below`, and surely is off once the
// sensor surely is at `off_above` - and the other way round. Where the sensor sits on the heater's own node
// more is known: a node that is as warm as the upper bound says is at that temperature and no other, so that
// above `off_above` its heater is off; the upper bound cannot be heated past that threshold, nor the lower
// bound fall through `on_below` while the heater is strong enough. There the bound is held on the threshold,
// as if by a short stiff link to it (`Held`), until the heater is too weak or no longer needed.

#pragma once

#include <cstddef>
#include <cstdint>

#include "constraints/heat/limits.h"
#include "constraints/station/station.h"

namespace cairn {

// What heats a bound through its own thermostat.
enum class Heating : std::uint8_t { None, Held, Full };

class MayBe {
 public:
  // A hold reaches this far beyond its threshold, K: at its end the heater gives its full power.
  static constexpr double hold_width = 0.01;

  MayBe(const Timeline& timeline, const Heater& heater, bool may_be_on, bool may_be_off);

  [[nodiscard]] const Heater& heater() const { return *heater_; }
  [[nodiscard]] bool own_sensor() const { return heater_->node == heater_->sensor; }
  [[nodiscard]] bool may_be_on() const { return may_be_on_; }
  [[nodiscard]] bool may_be_off() const { return may_be_off_; }
  [[nodiscard]] Heating upper() const { return upper_; }
  [[nodiscard]] Heating lower() const { return lower_; }
  [[nodiscard]] const Condition& possible() const { return possible_; }
  [[nodiscard]] const Condition& sure() const { return sure_; }

  void enter(Instant time);
  // `fastest`: no more than this, K/s, can the sensor's temperature change. A thermostat stays as it is for a
  // second: where its band can be crossed in that time, thresholds say that much less.
  void set_fastest(double fastest);

  // Brings everything up to date with the sensor's bounds, each less exact by `off`, K.
  void settle(double low, double high, double off);

  // Temperatures at which something changes as the bound goes up (or down) through them; at most two each.
  struct Levels {
    double values[2] = {};
    std::size_t count = 0;
    void add(double value) { values[count++] = value; }
  };
  [[nodiscard]] Levels upper_levels(bool upwards, double off) const;
  [[nodiscard]] Levels lower_levels(bool upwards, double off) const;

  // The upper bound is held between these, as the lower one is.
  [[nodiscard]] double upper_hold() const { return heater_->off_above.high + slip_; }
  [[nodiscard]] double lower_hold() const { return heater_->on_below.low - slip_; }

 private:
  [[nodiscard]] bool is_loose() const { return slip_ > 0; }
  void settle_heating(double low, double high);

  const Heater* heater_;
  Condition possible_;  // it may be enabled
  Condition sure_;      // it surely is
  bool may_be_on_;
  bool may_be_off_;
  double slip_ = 0;
  bool upper_holds_ = false;  // its regimes have been followed until now
  bool lower_holds_ = false;
  Heating upper_ = Heating::None;
  Heating lower_ = Heating::None;
};

}  // namespace cairn
