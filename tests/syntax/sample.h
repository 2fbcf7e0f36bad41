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
}
routine flip-vane(step: Angle, n: Count = 2) {
  send vane.turn axis=x by=step rate=3 deg/s
  after 40 s { bring camera.cover to open do flip-vane() }
}
)";

}  // namespace cairn
