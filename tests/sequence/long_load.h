// A correct load of two hundred lines for the small station: every statement form in it, as a person would
// write it.

#pragma once

#include <string_view>

namespace cairn::test {

inline constexpr std::string_view long_load =
    R"(# The whole of one day at the post, and the rules that were agreed for it.
use "../routines/ping.cairn"

let reading-depth = 0.8 m
let quick-gain = 2
let settle = 90 s
let limit = 6 W
let half-day = 12 h
let far = reading-depth * 2 - 20 cm

rule probe-in-turn "one reading after the other" {
  command probe.sample no more than 40 times in any 2 h
}

rule camera-rests "the head gets warm" {
  camera is imaging lasts no more than 50 min
}

rule cover-first "no picture through a closed cover" {
  command camera.image only after 5 s of camera.cover is open
}

rule cover-moves-seldom "its motor is small" {
  command camera.cover(position=open) apart by 5 min
}

rule quiet "the two disturb each other" {
  never command probe.sample while camera is imaging
}

rule talk-in-windows "nobody listens otherwise" {
  command probe.ping no more than 300 times
}

rule parked-soon "the cover is no roof" {
  end of (camera is imaging) followed by camera.cover is closed within 3 h
}

rule warm-up "it drifts when it is cold" {
  camera is standby or imaging no more than 20 h in any 1 d
}

rule timer "a picture without a reason" {
  time since command probe.ping >= 0 s or camera is not imaging
}

rule outside-windows "the dish must not see the lamp" {
  command mast.raise only outside window west-dish
}

# Reads the probe at one depth, and pings before and after.
routine read-probe(depth: Length = 0.8 m, gain: Count = 3) {
  note "two readings of the same place"
  send probe.ping
  send probe.sample depth=depth gain=gain
  after 20 s send probe.sample depth=depth / 2 gain=gain
  send probe.ping
}

routine look(wait: Duration, twice: Boolean = false) {
  bring camera.cover to open
  bring camera to imaging
  if twice {
    after wait send probe.ping
  } else {
    after wait * 2 send probe.ping
  }
  bring camera to standby
  send camera.cover position=closed
}

load "alder-long-day" for alder {
  span 2031-05-14T00:00:00Z to 2031-05-15T00:00:00Z
  note "Replaces alder-40-noon; agreed at the weekly meeting."

  let step = 30 min
  let names-known = true
  let long = half-day > 10 h and not (settle >= 5 min)
  mark begun = 2031-05-14T06:00:00Z
  mark noon = begun + 6 h
  mark evening = 2031-134T18:30:00Z
  mark pass = window west-dish 1 opens
  mark over = window west-dish closes first after pass
  mark after-look = end of first-look
  mark steep = sun.elevation falls below -30 deg last before evening
  mark before-evening = evening - half-day / 4

  require power.reserve >= limit between noon and evening
  require never camera is imaging while camera.cover is closed
  require table.free > 3
  require sun.elevation < 90 deg

  waive probe-in-turn to 50 from noon to evening
    because "a quicker survey" reference "meeting 12, point 4" until 2031-06-01T00:00:00Z
  waive power/reserve of "bus" to 5 W from begun to noon
    because "the supply was measured again" reference "report 7" until 2031-06-01T00:00:00Z

  at begun as first-look {
    note "the first look of the day"
    require camera is off
    do look(wait=settle)
    expect camera.cover is closed within 2 min
  }

  at after-look + 5 min {
    do read-probe(depth=reading-depth, gain=quick-gain)
    do read-probe(depth=far)
    do read-probe()
    do ping-twice()
  }

  at about noon {
    send probe.ping
    send probe.sample depth=0.5 m
  }

  at about noon + 1 s {
    send probe.ping
  }

  from noon + 1 h to noon + 4 h every step {
    send probe.sample depth=1.2 m gain=5
    after 1 min {
      send probe.ping
      send probe.ping
    }
  }

  from evening to evening + 2 h every 40 min {
    note "the evening series"
    for each depth in [0.2 m, 0.4 m, reading-depth] {
      send probe.sample depth=depth gain=quick-gain
    }
  }

  at before-evening + 20 min {
    bring camera.cover to open
    after settle bring camera to standby
    if long {
      note "only on long days"
      repeat 3 times {
        send probe.ping
      }
    } else if names-known is false or quick-gain > 8 {
      send probe.sample depth=0.1 m
    } else {
      send probe.ping
    }
    bring camera to imaging
    expect camera is imaging within 1 min
    after 10 min bring camera to standby
    bring camera.cover to closed
  }

  at evening + 3 h {
    together {
      send probe.ping
      after 5 s send probe.sample depth=0.3 m gain=1
      after 30 s send probe.ping
    }
    after 2 min send probe.ping
    at evening + 4 h {
      send probe.sample depth=2.0 m gain=16
    }
  }

  for each start-time in [2031-05-14T01:00:00Z, 2031-05-14T02:00:00Z] {
    at start-time {
      send probe.ping
      repeat quick-gain times {
        after 10 s send probe.sample depth=0.6 m
      }
    }
  }

  for each contact in window west-dish opens between 2031-05-14T03:00:00Z and noon {
    at contact + 45 min {
      send now probe.ping
      send now probe.sample depth=reading-depth
    }
  }

  # The last hours: the camera looks once more, and the probe is read a last time.
  at evening + 4 h + 30 min as last-look {
    note "the last look of the day"
    do look(wait=settle * 2, twice=names-known)
    expect camera is standby or off within 5 min
    require camera.cover is not open
  }

  from 2031-05-14T00:10:00Z to 2031-05-14T00:50:00Z every 20 min {
    send probe.sample depth=reading-depth gain=quick-gain + 1
  }

  if station.name is alder and reading-depth <= 1 m {
    at 2031-05-14T03:00:00Z {
      send probe.ping
    }
  }

  # Before the day begins, and after it has ended.
  at 2031-05-14T00:02:00Z {
    send probe.ping
    after 1 min send probe.sample depth=reading-depth / 4 gain=3
    after quick-gain * 15 s send probe.ping
  }
  at evening + 5 h {
    send probe.ping
  }
}
)";

}  // namespace cairn::test
