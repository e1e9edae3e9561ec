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
    5h4m21s  raised "unasked rise", 29.56 C
    5h4m21s  alarm "unasked rise": normal -> unacknowledged, 29.56 C
   5h25m55s  raised "over the band", 30.06 C
   5h25m55s  alarm "over the band": normal -> unacknowledged, 30.06 C
show
  = water 30.11, effective 29.40, stage "proven", waits for nothing, permitted false, reason "over the band", animal may be in
  = over the band: heat off, unacknowledged, latched false. Feel the water. Shade the tub, cool the room, look for a stuck relay.
  = unasked rise: warning, unacknowledged, latched false. Lift the snake out if the water is warm. Unplug the pad. Change the pad relay.
sun 0
run 2h
   5h34m50s  cleared "unasked rise", 29.56 C
   5h34m50s  alarm "unasked rise": unacknowledged -> over, nobody answered, 29.56 C
   5h34m50s  raised "heat from outside", 30.06 C
   5h34m50s  alarm "heat from outside": normal -> unacknowledged, 30.06 C
    6h2m34s  cleared "over the band", 30.06 C
    6h2m34s  alarm "over the band": unacknowledged -> over, nobody answered, 30.06 C
    6h7m52s  raised "unasked rise", 29.69 C
    6h7m52s  alarm "unasked rise": over, nobody answered -> unacknowledged, 29.69 C
   6h16m40s  cleared "unasked rise", 29.69 C
   6h16m40s  alarm "unasked rise": unacknowledged -> over, nobody answered, 29.69 C
   6h17m36s  ready on, 29.56 C
   6h17m51s  cleared "heat from outside", 30.06 C
   6h17m51s  alarm "heat from outside": unacknowledged -> over, nobody answered, 30.06 C
room 36
run 10h
    8h2m51s  raised "unasked rise", 29.81 C
    8h2m51s  alarm "unasked rise": over, nobody answered -> unacknowledged, 29.81 C
   8h30m30s  cleared "unasked rise", 29.81 C
   8h30m30s  alarm "unasked rise": unacknowledged -> over, nobody answered, 29.81 C
   8h30m30s  raised "heat from outside", 30.00 C
   8h30m30s  alarm "heat from outside": over, nobody answered -> unacknowledged, 30.00 C
   8h32m37s  raised "over the band", 30.06 C
   8h32m37s  alarm "over the band": over, nobody answered -> unacknowledged, 30.06 C
   12h0m37s  raised "over the cutoff", 31.62 C
   12h0m37s  latched "over the cutoff", 31.62 C
   12h0m37s  alarm "over the cutoff": normal -> unacknowledged, 31.62 C
show
  = water 33.23, effective 29.40, stage "proven", waits for nothing, permitted false, reason "over the cutoff", animal may be in
  = over the cutoff: trip, unacknowledged, latched true. Lift the snake out. Dry box. Unplug.
  = over the band: heat off, unacknowledged, latched false. Feel the water. Shade the tub, cool the room, look for a stuck relay.
  = unasked rise: none, over, nobody answered, latched false. Lift the snake out if the water is warm. Unplug the pad. Change the pad relay.
  = heat from outside: warning, unacknowledged, latched false. Shade the tub or cool the room.
