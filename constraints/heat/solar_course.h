// What the solar arrays give over a load, from the Sun over the site and the temperatures of the heat check.

#pragma once

#include "constraints/heat/heat.h"
#include "constraints/power/solar.h"

namespace cairn {

// Low and High are guaranteed where the heat check has bounds; empty where there are no arrays.
SolarCourse solar_course(const Station& station, const Sky& sky, const Timeline& timeline,
                         const HeatResult& heat);

}  // namespace cairn
