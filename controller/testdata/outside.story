# A room over the set point, and sun on the tub.
tub 29
hush
run 5h
         1s  raised "unproven"
         1s  alarm "unproven": normal -> suppressed by design
      10m3s  proof of "all off" passed, 28.94 C
      10m4s  first heat
      18m9s  proof of "pairing" passed, 29.00 C
     25m44s  proof of "series relay" passed, 28.94 C
     25m45s  cleared "unproven"
     25m45s  alarm "unproven": suppressed by design -> normal
     45m32s  ready on, 29.38 C
sun 2
run 30m
    5h3m11s  raised "unasked rise", 29.56 C
    5h3m11s  alarm "unasked rise": normal -> unacknowledged, 29.56 C
   5h24m34s  raised "over the band", 30.06 C
   5h24m34s  alarm "over the band": normal -> suppressed by design, 30.06 C
show
  = water 30.14, effective 29.40, stage "proven", waits for nothing, permitted false, reason "over the band", animal may be in
  = over the band: heat off, suppressed by design, latched false. Feel the water. Shade the tub, cool the room, look for a stuck relay.
  = unasked rise: warning, unacknowledged, latched false. Lift the snake out if the water is warm. Unplug the pad. Change the pad relay.
sun 0
run 2h
   5h33m40s  raised "heat from outside", 30.12 C
   5h33m40s  alarm "heat from outside": normal -> suppressed by design, 30.12 C
    6h2m40s  cleared "unasked rise", 29.56 C
    6h5m29s  cleared "over the band", 30.06 C
    6h5m29s  alarm "over the band": suppressed by design -> normal, 30.06 C
    6h5m30s  raised "unasked rise", 29.75 C
   6h20m14s  ready on, 29.56 C
   6h35m29s  cleared "heat from outside", 30.12 C
   6h35m29s  alarm "heat from outside": suppressed by design -> normal, 30.12 C
   6h50m20s  cleared "unasked rise", 29.75 C
   7h20m20s  alarm "unasked rise": unacknowledged -> over, nobody answered, 29.75 C
room 36
run 10h
   7h33m51s  raised "unasked rise", 29.38 C
   7h33m51s  alarm "unasked rise": over, nobody answered -> unacknowledged, 29.38 C
    8h43m6s  raised "over the band", 30.06 C
    8h43m6s  alarm "over the band": normal -> suppressed by design, 30.06 C
    8h45m0s  raised "heat from outside", 30.00 C
    8h45m0s  alarm "heat from outside": normal -> suppressed by design, 30.00 C
    9h14m0s  cleared "unasked rise", 29.38 C
   9h50m51s  raised "both relays welded", 30.62 C
   9h50m51s  alarm "both relays welded": normal -> unacknowledged, 30.62 C
  12h11m16s  raised "over the cutoff", 31.62 C
  12h11m16s  latched "over the cutoff", 31.62 C
  12h11m16s  alarm "over the cutoff": normal -> unacknowledged, 31.62 C
show
  = water 33.19, effective 29.40, stage "proven", waits for nothing, permitted false, reason "over the cutoff", animal may be in
  = over the cutoff: trip, unacknowledged, latched true. Lift the snake out. Dry box. Unplug.
  = over the band: heat off, suppressed by design, latched false. Feel the water. Shade the tub, cool the room, look for a stuck relay.
  = unasked rise: none, unacknowledged, latched false. Lift the snake out if the water is warm. Unplug the pad. Change the pad relay.
  = heat from outside: warning, suppressed by design, latched false. Shade the tub or cool the room.
  = both relays welded: warning, unacknowledged, latched false. PULL THE PLUG. Lift the snake out. Dry box.
