// The courses of a plan over time: power and charge, temperatures, command table, Sun.

#pragma once

#include "compiler/plan/assemble.h"
#include "compiler/plan/canonical_json.h"

namespace cairn {

struct PlanCourses {
  Json power;
  Json temperatures;
  Json table;
  Json sun;
};

PlanCourses plan_courses(const PlanInput& input);

// A bound rounded to the third digit the safe way: up where `direction` is above zero.
double rounded_outward(double value, int direction);

}  // namespace cairn
