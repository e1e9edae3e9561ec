# The floor shows that the pad is on although both relays have long been open.
tub 29 floor
hush
run 8h
         1s  raised "unproven"
         1s  alarm "unproven": normal -> suppressed by design
      10m3s  proof of "all off" passed, 28.94 C
      10m4s  first heat
      18m9s  proof of "pairing" passed, 29.00 C
     25m44s  proof of "series relay" passed, 28.94 C
     25m45s  cleared "unproven"
     25m45s  alarm "unproven": suppressed by design -> normal
     45m24s  ready on, 29.38 C
fault pad welded
fault series welded
run 90m
     8h2m1s  raised "unasked rise", 29.44 C
     8h2m1s  latched "unasked rise", 29.44 C
     8h2m1s  alarm "unasked rise": normal -> unacknowledged, 29.44 C
   8h21m35s  raised "both relays welded", 32.94 C
   8h21m35s  latched "both relays welded", 32.94 C
   8h21m35s  alarm "both relays welded": normal -> unacknowledged, 32.94 C
   8h26m24s  raised "over the band", 30.06 C
   8h26m24s  latched "over the band", 30.06 C
   8h26m24s  alarm "over the band": normal -> unacknowledged, 30.06 C
     9h6m0s  raised "floor too hot", 34.00 C
     9h6m0s  alarm "floor too hot": normal -> unacknowledged, 34.00 C
show
  = water 31.47, effective 29.40, stage "proven", waits for nothing, permitted false, reason "over the band", animal may be in
  = over the band: trip, unacknowledged, latched true. Feel the water. Shade the tub, cool the room, look for a stuck relay.
  = floor too hot: heat off, unacknowledged, latched false. Lift the snake off the floor. Look for an air gap or low water over the pad.
  = unasked rise: trip, unacknowledged, latched true. Lift the snake out if the water is warm. Unplug the pad. Change the pad relay.
  = both relays welded: trip, unacknowledged, latched true. PULL THE PLUG. Lift the snake out. Dry box.
