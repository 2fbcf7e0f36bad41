// The power check: at every instant, source power less what the loads draw from it keeps the reserve floor.
//
// Reads:   the timeline's draws, when each heater was on and what the arrays gave (from heat/), the sources
// with decay
//          to the date, what the storage held at the begin
// Reports: power/reserve, nominal and guaranteed, with the order in which units are shed where the reserve
// falls below
//          zero; where there is a storage, power/storage: its charge never falls below its floor
// Cost:    one sort of the steps and one pass

#pragma once

#include <optional>
#include <vector>

#include "constraints/power/solar.h"
#include "constraints/power/supply.h"
#include "constraints/timeline/timeline.h"
#include "constraints/verdict.h"

namespace cairn {

struct HeaterInterval {
  HeaterId heater;
  Instant begin;
  Instant end;
};

// Values hold from `time` until the next point. Source power is continuous, so every point that begins a
// step is preceded by one that ends the step before.
struct PowerPoint {
  Instant time;
  double source = 0;   // W electrical
  double load = 0;     // W on the bus, heaters included
  double heaters = 0;  // W of the load that is heaters
  double reserve =
      0;  // W left: source, and what the storage can give while above its floor, - load / efficiency
};

// The same for the worst inside the bounds: source low, load high, every heater on that may be.
struct ReservePoint {
  Instant time;
  double source = 0;
  double load = 0;
  double reserve = 0;
};

// Between two points the charge rises, falls or stays.
struct ChargePoint {
  Instant time;
  double charge = 0;  // J
};

struct UnitEnergy {
  UnitId unit;           // invalid: heaters
  std::int64_t day = 0;  // counted from the load's begin, 24 h each
  double energy = 0;     // J on the bus
};

struct ShedStep {
  Instant time;
  UnitId unit;
};

struct PowerResult {
  std::vector<PowerPoint> points;
  std::vector<ReservePoint> guaranteed;  // empty when not computed
  std::vector<UnitEnergy> energy;
  std::vector<ShedStep> shed;  // where the nominal reserve goes below zero
  Finding finding;
  // Where there is a storage:
  std::optional<Finding> storage;
  std::vector<ChargePoint> charge;
  std::vector<ChargePoint> least_charge;  // empty when not computed
  std::optional<HeldCharge> end_charge;
  SolarCourse solar;  // that it was given
};

struct PowerInput {
  const Station* station = nullptr;
  const Timeline* timeline = nullptr;
  const std::vector<HeaterInterval>* heaters = nullptr;
  // When each heater may be on, from the thermal envelope; without it only the nominal reserve is computed.
  const std::vector<HeaterInterval>* may_be_on = nullptr;
  std::optional<HeldCharge> charge = std::nullopt;  // at the begin; none: as the station file says
  SolarCourse solar = {};                           // with bounds where `may_be_on` is given
};

PowerResult check_power(const PowerInput& input);

// The worst inside the bounds, added to the nominal result.
void bound_power(const PowerInput& input, PowerResult& result);

// A station of isotope sources alone. `may_be_on`: when each heater may be on, from the thermal envelope;
// without it only the nominal reserve is computed.
PowerResult check_power(const Station& station, const Timeline& timeline,
                        const std::vector<HeaterInterval>& heaters,
                        const std::vector<HeaterInterval>* may_be_on = nullptr);

}  // namespace cairn
