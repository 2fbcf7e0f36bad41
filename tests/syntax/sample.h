// The text that the syntax tests cut, flip and compare: every statement of the language once or more.

#pragma once

#include <string_view>

namespace cairn {

inline constexpr std::string_view sample = R"(# Evening of the Alder post.
use "routines/park.cairn"
let margin = 2 W
load "alder-41-evening" for alder {
  span 2031-05-14T06:00:00Z to 2031-138T00:00:00.5Z
  note "agreed \"on\" site\nby day"   # kept
  let settle = 90 s
  mark sunset = sun.elevation falls below 0.5 deg number 2
  mark pass = window west-dish 2 opens
  mark last = window west-dish closes
  mark over = end of evening
  mark plain = sunset - 3 h
  at sunset - 3 h as evening { bring camera to parked   after settle send camera.cover position=closed }
  from sunset + 1 h to sunset + 37 h every 6 h {
    send probe.sample depth=0.8 m gain=-(3 + 2 * margin / 1e3) quick=true text="x"
  }
  at about pass + 10 min { do flip-vane(step=180 deg, n=2) }
  together { send vane.stow send probe.stow }
  for each depth in [0.2 m, margin, "x"] { send probe.sample depth=depth }
  for each none in [] { }
  repeat 2 + 1 times { if depth > 1 m and not (margin <= 2 W or quick) { send x.y } else if n is 3 or 4 { send x.z }
    else { note "neither" } }
  if store is not in [first, second] or store is in [] or n is not 3 { after 3 s if n >= n { send x.w } else { } }
  let long = settle < 3 min
  mark early = sun.azimuth falls below 3 deg last before sunset
  mark late = window west-dish opens first after 2031-05-14T06:00:00Z
  require power.reserve >= 6 W between sunset and sunset + 1 d
  require never camera is imaging or (parked) while relay.transmitter is high
  withdraw camera.cover position=open at 2031-05-14T05:00:00Z - margin
  withdraw camera.parked at early expect camera.cover is closed within 2 min
  waive power/reserve of "bus" to 2 W from sunset to sunset + 1 h because "once" reference "N 12" until
    2031-06-01T00:00:00Z
  waive transmitter-rest from sunset to sunset + 1 h because "x" reference "y" until sunset + 1 d
}
rule rest "it gets hot" { relay.transmitter is high no more than 40 min in any 2 h }
rule slow "r" { command vane.turn(axis=x, by=step) and command vane.stow apart by 1 h }
rule order "r" { command release.fire only before window west-dish 2 closes }
rule often "r" { command probe.sample no more than 4 times in any 1 d }
rule never-twice "r" { (command release.fire) no more than once }
rule long "r" { camera is imaging lasts no more than 5 min }
rule short "r" { camera is imaging lasts no less than 5 s }
rule shutter "r" { command dust.charge-plate only after 5 s of dust.shutter is open }
rule armed "r" { command release.fire only after command release.arm }
rule soon "r" { end of (camera is imaging) followed by camera is parked within 1 h }
rule timer "r" { time since command release.arm < 10 min or time until window west-dish opens > 3 h }
rule dark "r" { camera is open only outside window west-dish }
rule bright "r" { start of camera.open only while sun.elevation > 3 deg }
rule in-window "r" { window west-dish only between 2031-05-14T06:00:00Z and 2031-05-15T06:00:00Z }
rule ever "r" { always not camera is moving while relay is high between pass and first.last }
routine flip-vane(step: Angle, n: Count = 2) {
  send vane.turn axis=x by=step rate=3 deg/s
  after 40 s { bring camera.cover to open do flip-vane() }
}
)";

}  // namespace cairn
