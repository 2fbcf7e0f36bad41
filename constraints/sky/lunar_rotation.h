// How the Moon and Mars are turned: IAU/WGCCRE rotation series.
//
// Source: Archinal et al., "Report of the IAU Working Group on Cartographic Coordinates and Rotational
// Elements: 2009", Celestial Mechanics and Dynamical Astronomy 109 (2011), series for the Moon
// (mean-Earth/polar axis).

#pragma once

#include <array>

namespace cairn {

using Vector3 = std::array<double, 3>;
using Matrix3 = std::array<Vector3, 3>;

// Takes a vector of the ICRF to the Moon's mean-Earth/polar axis frame. `days` are TDB days since J2000.0.
Matrix3 lunar_rotation(double days);

// The same to the frame of Mars (planetocentric, east positive), by the rotation elements of that report.
Matrix3 martian_rotation(double days);

}  // namespace cairn
